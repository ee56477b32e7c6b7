"""Printings: a ruler's reading, kept with its date, and the one that a photo gets."""

from __future__ import annotations

import math
from datetime import date

import pytest

from photolog.book import StockBook, printings
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.printings import RULER_U_PERCENT

READ = date(2025, 5, 1)


def test_the_newest_in_use_on_the_photos_day_applies(book: StockBook) -> None:
    first = printings.enter(book, "bench-1", across_mm=99.5, along_mm=100.0, on=READ)
    second = printings.enter(book, "bench-1", across_mm=100.5, along_mm=100.5, on=date(2026, 4, 30))
    other = printings.enter(book, "bloom-1", across_mm=98.0, along_mm=98.0, on=READ)
    readings = printings.every(book)

    def on(day: date, design: str = "bench-1") -> object:
        return printings.applying(readings, design, on=day)

    assert on(date(2025, 4, 30)) is None
    assert on(READ) == first
    assert on(date(2026, 4, 29)) == first
    assert on(date(2026, 4, 30)) == second
    assert on(date(2030, 1, 1)) == second
    assert on(date(2030, 1, 1), "bloom-1") == other
    assert on(date(2030, 1, 1), "pocket-1") is None


def test_a_card_in_use_before_it_was_read_is_dated_back(book: StockBook) -> None:
    read = printings.enter(
        book, "bench-1", across_mm=99.5, along_mm=100, on=READ, in_use_since=date(2025, 1, 1)
    )
    assert printings.applying(printings.every(book), "bench-1", on=date(2025, 1, 1)) == read


def test_read_again_the_later_reading_applies_and_the_first_is_kept(book: StockBook) -> None:
    printings.enter(book, "bench-1", across_mm=95.0, along_mm=100.0, on=READ)
    again = printings.enter(book, "bench-1", across_mm=99.5, along_mm=100.0, on=READ)
    readings = printings.every(book)
    assert len(readings) == 2
    assert printings.applying(readings, "bench-1", on=READ) == again


def test_it_goes_to_measuring_with_the_rulers_own_uncertainty(book: StockBook) -> None:
    read = printings.enter(book, "bench-1", across_mm=99.5, along_mm=101.0, on=READ)
    given = read.for_measuring()
    assert (given.across_mm, given.along_mm, given.u_percent) == (99.5, 101.0, RULER_U_PERCENT)


def test_the_rulers_uncertainty_is_that_of_a_half_millimetre_step() -> None:
    """A step of 0.5 mm read as a rectangular distribution: 0.5 / sqrt(12) (JCGM 100, 4.3.7)."""
    assert pytest.approx(0.5 / math.sqrt(12), abs=0.01) == RULER_U_PERCENT


@pytest.mark.parametrize("read", [10.0, 1000.0, 0.0, -100.0, math.nan, math.inf])
def test_what_no_ruler_reads_is_refused(book: StockBook, read: float) -> None:
    with pytest.raises(WrongEntry, match=r"bar across is drawn 100 mm long, so .* can't be right"):
        printings.enter(book, "bench-1", across_mm=read, along_mm=100.0, on=READ)
    with pytest.raises(WrongEntry, match="bar along is drawn 100 mm long"):
        printings.enter(book, "bench-1", across_mm=100.0, along_mm=read, on=READ)
    assert printings.every(book) == ()


def test_an_unknown_card_lists_the_known(book: StockBook) -> None:
    with pytest.raises(Unknown, match=r"no scale card 'bench'\. Did you mean bench-1\?"):
        printings.enter(book, "bench", across_mm=100.0, along_mm=100.0, on=READ)


def test_a_card_is_in_use_by_the_day_it_is_read(book: StockBook) -> None:
    with pytest.raises(WrongEntry, match="can't be in use only since 2025-06-01"):
        printings.enter(
            book, "bench-1", across_mm=100, along_mm=100, on=READ, in_use_since=date(2025, 6, 1)
        )
