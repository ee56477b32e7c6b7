"""The data model's page says of every table what the tables say."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from photolog.book.plant_seasons import _MOVED_WITHIN, _NOT_MOVED_AFTER
from photolog.records import Base
from photolog.records.database import BUSY_TIMEOUT_MS

PAGE = (Path(__file__).parents[2] / "docs" / "data-model.md").read_text(encoding="utf-8")
ROWS = {
    match[1]: match[2]
    for match in re.finditer(r"^\| `(\w+)` \|[^|]*\|([^|]*)\|$", PAGE, flags=re.MULTILINE)
}


def test_every_table_is_on_the_page() -> None:
    assert set(ROWS) == set(Base.metadata.tables)


@pytest.mark.parametrize("name", sorted(Base.metadata.tables))
def test_what_a_table_points_at_and_what_happens_on_delete(name: str) -> None:
    said: set[tuple[str, str]] = set()
    for tables, rule in re.findall(r"((?:`\w+`(?:, )?)+) \(([\w ]+)\)", ROWS[name]):
        said |= {(table, rule.upper()) for table in re.findall(r"\w+", tables)}
    real = {
        (key.column.table.name, key.ondelete) for key in Base.metadata.tables[name].foreign_keys
    }
    assert said == real


def test_the_figures_on_the_page_are_those_of_the_code() -> None:
    assert f"`busy_timeout = {BUSY_TIMEOUT_MS}`" in PAGE
    assert f"within {_MOVED_WITHIN.days} days of a lifting" in PAGE
    assert f"within {_NOT_MOVED_AFTER.days} days without one" in PAGE
