"""The invented garden's own dates are entered, whatever the machine's clock says."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from photolog.book import StockBook, ahead, daybook
from photolog.demo import garden, showing


def test_the_garden_is_entered_where_the_clock_is_behind(
    book: StockBook, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ahead, "clock", lambda: datetime(2024, 1, 1, tzinfo=UTC))
    showing.fill_garden(book)
    assert len(daybook.entries(book)) == len(garden.DAY_BOOK) + 1
