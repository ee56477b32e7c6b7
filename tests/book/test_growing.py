"""How grown: told by the grower, or read from the day book; silence is not a no."""

from __future__ import annotations

from datetime import date

import pytest

from photolog.book import StockBook, daybook, growing, plants, varieties
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.growing import HowGrown
from photolog.book.plants import PlantView
from photolog.terms import GrownFrom


@pytest.fixture
def plant(book: StockBook) -> PlantView:
    varieties.add(book, "Tin Orchard")
    one = plants.add(
        book, variety="Tin Orchard", tag=11, since=date(2024, 9, 1), came_from="cutting"
    )
    daybook.enter(book, "planted out", on=date(2024, 11, 2), tags=[11])
    daybook.enter(book, "lifted", on=date(2025, 5, 17), tags=[11])
    daybook.enter(book, "planted out", on=date(2025, 11, 8), tags=[11])
    return one


def test_nobody_said_is_none_and_never_no(book: StockBook, plant: PlantView) -> None:
    assert growing.of(book, plant.ref, season=2024) == HowGrown(grown_from=GrownFrom.CUTTING)
    assert growing.of(book, plant.ref, season=2025) == HowGrown(grown_from=GrownFrom.CLUMP)
    assert growing.of(book, plant.ref, season=1999) == HowGrown()


def test_the_day_book_says_it_for_its_season_only(book: StockBook, plant: PlantView) -> None:
    daybook.enter(book, "stopped", on=date(2024, 12, 1), tags=[11])
    daybook.enter(book, "stopped", on=date(2024, 12, 20), tags=[11])
    daybook.enter(book, "disbudded", on=date(2026, 1, 20), tags=[11])
    first = growing.of(book, plant.ref, season=2024)
    second = growing.of(book, plant.ref, season=2025)
    assert (first.stopped_on, first.disbudded) == (date(2024, 12, 1), None)
    assert (second.stopped_on, second.disbudded) == (None, True)


def test_what_is_told_goes_before_the_day_book(book: StockBook, plant: PlantView) -> None:
    daybook.enter(book, "disbudded", on=date(2026, 1, 20), tags=[11])
    growing.tell(book, plant.ref, season=2025, disbudded=False, stems=4)
    told = growing.tell(book, plant.ref, season=2025, grown_from="division")
    assert told == HowGrown(disbudded=False, stems=4, grown_from=GrownFrom.DIVISION)
    assert growing.of(book, plant.ref, season=2024).stems is None


def test_bad_input_is_said(book: StockBook, plant: PlantView) -> None:
    with pytest.raises(Unknown, match=r"has no season 2023\. Its seasons are: 2024, 2025"):
        growing.tell(book, plant.ref, season=2023, stems=3)
    with pytest.raises(WrongEntry, match="at least 1 stem, got 0"):
        growing.tell(book, plant.ref, season=2025, stems=0)
    with pytest.raises(Unknown, match=r"can't be grown from 'cuting'\. Did you mean a cutting\?"):
        growing.tell(book, plant.ref, season=2025, grown_from="cuting")
