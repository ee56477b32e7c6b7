"""What many tests need: an empty stock book, and counting its queries."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import event

from photolog.book import StockBook, ahead

NOW = datetime(2027, 7, 1, 12, tzinfo=UTC)


@pytest.fixture(scope="session")
def _begun(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A stock book begun once: copying it is quicker than making the tables each time."""
    folder = tmp_path_factory.mktemp("begun") / "book"
    StockBook.start(folder).close()
    return folder


@pytest.fixture(autouse=True)
def _now() -> Iterator[None]:
    """The day book's clock stands after every day that a test enters, whatever the machine's."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(ahead, "clock", lambda: NOW)
        yield


@pytest.fixture
def book(_begun: Path, tmp_path: Path) -> Iterator[StockBook]:
    """An empty stock book of the test's own."""
    folder = tmp_path / "stock book"
    shutil.copytree(_begun, folder)
    with StockBook.open(folder) as opened:
        yield opened


@pytest.fixture
def queries_of(book: StockBook) -> Callable[[], AbstractContextManager[list[str]]]:
    """``with queries_of() as seen:`` gathers the statements that the block sends to the book."""

    @contextmanager
    def gather() -> Iterator[list[str]]:
        seen: list[str] = []

        def note(_connection: object, _cursor: object, sql: str, *_: object) -> None:
            seen.append(sql)

        for engine in book.engines:
            event.listen(engine, "before_cursor_execute", note)
        try:
            yield seen
        finally:
            for engine in book.engines:
                event.remove(engine, "before_cursor_execute", note)

    return gather
