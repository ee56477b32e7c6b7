"""Pragmas, the two engines, threads, and what SQLite says turned into sentences."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from contextlib import closing
from pathlib import Path
from types import SimpleNamespace

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError, OperationalError
from sqlalchemy.orm import Session

from photolog.book import StockBook
from photolog.book.errors import (
    BookDamaged,
    BookFull,
    BookLocked,
    BookMissing,
    BookReadOnly,
    DiskFailed,
    NotAStockBook,
)
from photolog.records.database import engine_for
from photolog.records.trouble import said_plainly
from tests.records import factories


def pragma(session: Session, name: str) -> object:
    return session.execute(text(f"PRAGMA {name}")).scalar_one()


def execute_all(session: Session, *queries: str) -> None:
    for query in queries:
        session.execute(text(query))


def fill(session: Session) -> None:
    for _ in range(2_000):
        factories.variety(session, note="x" * 500)


def test_whoever_writes_has_foreign_keys_a_log_and_every_commit_synced(book: StockBook) -> None:
    with book.writing() as session:
        assert pragma(session, "foreign_keys") == 1
        assert pragma(session, "journal_mode") == "wal"
        assert pragma(session, "synchronous") == 2  # FULL, https://sqlite.org/pragma.html
        assert pragma(session, "busy_timeout") == 5_000


def test_whoever_reads_cant_write(book: StockBook) -> None:
    with pytest.raises(BookReadOnly, match="can't be written to"), book.reading() as session:
        factories.variety(session)


def test_foreign_keys_are_really_on(book: StockBook) -> None:
    with (
        pytest.raises(IntegrityError, match="FOREIGN KEY constraint failed"),
        book.writing() as session,
    ):
        factories.plant(session, variety_id=999)


def test_a_table_made_in_a_transaction_goes_with_it(book: StockBook) -> None:
    with (
        pytest.raises(OperationalError, match="no such column"),
        book.writing() as session,
    ):
        execute_all(session, "CREATE TABLE half_made (id INTEGER)", "SELECT unheard_of")
    with book.reading() as session:
        tables = session.execute(text("SELECT name FROM sqlite_master")).scalars().all()
    assert "half_made" not in tables


def test_threads_that_read_and_then_write_wait_for_each_other(book: StockBook) -> None:
    with book.writing() as session:
        plant_id = factories.plant(session, note="0").id
    failures: list[BaseException] = []

    def count_up() -> None:
        try:
            for _ in range(25):
                with book.writing() as session:
                    seen = session.execute(text("SELECT note FROM plant")).scalar_one()
                    session.execute(
                        text("UPDATE plant SET note = :note WHERE id = :id"),
                        {"note": str(int(seen) + 1), "id": plant_id},
                    )
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=count_up) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    with book.reading() as session:
        assert session.execute(text("SELECT note FROM plant")).scalar_one() == "100"


def test_a_plain_begin_would_fail_where_ours_waits(book: StockBook) -> None:
    """Why BEGIN IMMEDIATE: with plain BEGIN the second to write is locked out at once."""
    deferred = engine_for(book.file, begin="BEGIN", busy_timeout_ms=5_000)
    with deferred.connect() as late:
        late.exec_driver_sql("PRAGMA query_only = OFF")
        late.exec_driver_sql("SELECT count(*) FROM variety")
        with book.writing() as session:
            factories.variety(session)
        with pytest.raises(OperationalError, match="database is locked"):
            late.exec_driver_sql("DELETE FROM variety")
    deferred.dispose()


def test_a_reader_neither_waits_nor_sees_half_of_it(book: StockBook) -> None:
    with book.writing() as session:
        factories.variety(session)
    others_view: list[int] = []

    def look() -> None:
        with book.reading() as session:
            others_view.append(session.execute(text("SELECT count(*) FROM variety")).scalar_one())

    with book.writing() as session:
        factories.variety(session)
        reader = threading.Thread(target=look)
        reader.start()
        reader.join(timeout=2)
    assert others_view == [1]


def test_a_book_in_use_by_another_program_is_said_so(book: StockBook) -> None:
    with closing(sqlite3.connect(book.file, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        impatient = StockBook.open(book.folder, busy_timeout_ms=50)
        with (
            pytest.raises(BookLocked, match=r"in use by another program\. Close the other one"),
            impatient.writing(),
        ):
            pass
        impatient.close()


def test_a_full_disk_is_said_so_and_what_was_there_stays(book: StockBook) -> None:
    with book.writing() as session:
        factories.variety(session)
    with book.writing() as session:
        pages = pragma(session, "page_count")
        # SQLite then answers as it does when the disk has no room (SQLITE_FULL).
        session.execute(text(f"PRAGMA max_page_count = {pages}"))
    with (
        pytest.raises(BookFull, match=r"is full\. What was not finished was left out"),
        book.writing() as session,
    ):
        fill(session)
    with book.reading() as session:
        assert session.execute(text("SELECT count(*) FROM variety")).scalar_one() == 1


def test_a_disk_error_is_a_full_disk_where_no_room_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite says "disk I/O error" when its log's index can't grow (seen on a full tmpfs)."""
    for free, error, said in (
        (10_000, BookFull, r"is full\. What was not finished was left out"),
        (10_000_000, DiskFailed, r"can't be read or written just now\. Look whether it is still"),
    ):
        usage = SimpleNamespace(free=free)
        monkeypatch.setattr(shutil, "disk_usage", lambda _, usage=usage: usage)
        with pytest.raises(error, match=said), said_plainly(tmp_path / "book.sqlite3"):
            raise sqlite3.OperationalError("disk I/O error")


def test_a_file_that_cant_be_written_is_said_so(book: StockBook) -> None:
    book.close()
    with (
        pytest.raises(BookReadOnly, match=r"can't be written to\. Give yourself the right"),
        said_plainly(book.file),
        closing(sqlite3.connect(f"file:{book.file}?mode=ro", uri=True)) as connection,
    ):
        connection.execute("DELETE FROM variety")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_folder_that_cant_be_written_is_said_so(book: StockBook) -> None:
    book.close()
    book.folder.chmod(0o500)
    try:
        with pytest.raises(BookReadOnly, match="can't be written to"):
            StockBook.open(book.folder)
    finally:
        book.folder.chmod(0o700)


def test_a_file_that_went_away_is_said_so(book: StockBook) -> None:
    book.close()
    book.file.rename(book.folder / "hidden")
    with pytest.raises(BookMissing, match="There is no stock book in"), book.reading() as session:
        session.execute(text("SELECT 1"))


def test_a_damaged_file_is_said_so(book: StockBook) -> None:
    with book.writing() as session:
        for _ in range(200):
            factories.variety(session, note="x" * 200)
    book.close()
    whole = book.file.read_bytes()
    # The header stays, so that it still looks like a book; the pages behind it are overwritten.
    book.file.write_bytes(whole[:4096] + b"\xa5" * (len(whole) - 4096))
    with (
        pytest.raises(BookDamaged, match=r"is damaged .* Bring it back from a backup"),
        StockBook.open(book.folder) as damaged,
        damaged.reading() as session,
    ):
        session.execute(text("SELECT count(*) FROM variety")).scalar_one()


@pytest.mark.parametrize("content", [b"", b"some notes about dahlias\n" * 50])
def test_a_file_that_is_something_else_is_said_so(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "book.sqlite3").write_bytes(content)
    with pytest.raises(NotAStockBook, match="is not a stock book of photolog"):
        StockBook.open(tmp_path)


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    with closing(sqlite3.connect(tmp_path / "book.sqlite3")) as connection:
        connection.execute("CREATE TABLE alembic_version (version_num TEXT)")
        connection.execute("INSERT INTO alembic_version VALUES ('0001')")
        connection.commit()
    before = (tmp_path / "book.sqlite3").read_bytes()
    with pytest.raises(NotAStockBook, match="is not a stock book of photolog"):
        StockBook.open(tmp_path)
    assert (tmp_path / "book.sqlite3").read_bytes() == before


_WRITES_AND_IS_KILLED = """
import os, signal, sys
from photolog.book import StockBook, varieties
book = StockBook.open(sys.argv[1])
varieties.add(book, "Tin Orchard")
with book.writing() as session:
    varieties.add(book, "Wherry Lamp")
    session.flush()
    os.kill(os.getpid(), signal.SIGKILL)
"""


def test_killed_while_writing_it_opens_clean_and_what_was_committed_is_there(
    book: StockBook,
) -> None:
    book.close()
    killed = subprocess.run(
        [sys.executable, "-c", _WRITES_AND_IS_KILLED, str(book.folder)],
        cwd=Path(__file__).parents[2],
        check=False,
    )
    assert killed.returncode == -signal.SIGKILL
    with StockBook.open(book.folder) as again, again.reading() as session:
        assert session.execute(text("PRAGMA integrity_check")).scalar_one() == "ok"
        assert session.execute(text("PRAGMA foreign_key_check")).all() == []
        names = session.execute(text("SELECT name FROM variety")).scalars().all()
    assert names == ["Tin Orchard"]
