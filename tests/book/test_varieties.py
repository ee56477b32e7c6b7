"""Varieties: named, under a raiser's number, renamed; found however they are typed."""

from __future__ import annotations

from datetime import date

import pytest

from photolog.book import StockBook, daybook, varieties
from photolog.book.errors import AlreadyThere, Unknown, WrongEntry
from photolog.book.nearest import fold
from photolog.terms import EventKind, VarietyKind


@pytest.mark.parametrize(
    "typed", ["Tía Farola", "tia farola", "TÍA  FAROLA", "Ti\u0301a Farola", " tía farola "]
)
def test_found_however_it_is_typed(book: StockBook, typed: str) -> None:
    varieties.add(book, "Tía Farola", form="cactus")
    found = varieties.find(book, typed)
    assert found.name == "Tía Farola"
    assert found.form == "cactus"


def test_a_curly_apostrophe_is_an_apostrophe(book: StockBook) -> None:
    varieties.add(book, "Imke’s Lantern")
    assert varieties.find(book, "imke's lantern").name == "Imke’s Lantern"


def test_letters_that_are_no_accents_stay_apart() -> None:
    assert fold("かき") != fold("がき")  # kaki and gaki: the mark makes another word
    assert fold("Strøm") != fold("Strom")


def test_no_two_differ_in_accents_alone(book: StockBook) -> None:
    varieties.add(book, "Tía Farola")
    with pytest.raises(AlreadyThere, match="tia farola is in the stock book already, as Tía"):
        varieties.add(book, "tia farola")


def test_a_mistyped_name_offers_what_was_meant(book: StockBook) -> None:
    for name in ("Tin Orchard", "Wherry Lamp", "Saltmarsh Linnet"):
        varieties.add(book, name)
    with pytest.raises(
        Unknown, match=r"no variety 'Wery Lamp' .*\. Did you mean Wherry Lamp\? If not, enter"
    ):
        varieties.find(book, "Wery Lamp")
    with pytest.raises(
        Unknown, match=r"no variety 'Zzz' in the stock book\. Enter the variety first\.$"
    ):
        varieties.find(book, "Zzz")


def test_an_unknown_form_lists_the_known(book: StockBook) -> None:
    with pytest.raises(WrongEntry, match=r"Did you mean cactus.* Known are single, anemone"):
        varieties.add(book, "Tin Orchard", form="cactuss")
    assert varieties.every(book) == ()


@pytest.mark.parametrize("name", ["", "   "])
def test_a_blank_name_is_refused(book: StockBook, name: str) -> None:
    with pytest.raises(WrongEntry, match="can't be blank"):
        varieties.add(book, name)


def test_a_variety_needs_a_name_or_a_number(book: StockBook) -> None:
    with pytest.raises(WrongEntry, match="needs its name, or a seedling its raiser's number"):
        varieties.add(book)


def test_a_seedling_goes_under_its_number_until_it_is_named(book: StockBook) -> None:
    seedling = varieties.add(book, seedling_number="T24-07", form="decorative")
    assert (seedling.name, seedling.kind) == ("T24-07", VarietyKind.SEEDLING)

    named = varieties.rename(book, "t24-07", to="Lantern Keeper", on=date(2027, 2, 1))

    assert (named.name, named.kind) == ("Lantern Keeper", VarietyKind.NAMED)
    assert named.raiser_number == "T24-07"
    assert named.name_on(date(2027, 1, 31)) == "T24-07"
    assert named.name_on(date(2027, 2, 1)) == "Lantern Keeper"
    assert varieties.find(book, "T24-07") == named
    (entry,) = daybook.entries(book)
    assert entry.kind is EventKind.RENAMED
    assert entry.varieties == ("Lantern Keeper",)
    assert entry.note == "T24-07 is called Lantern Keeper"


def test_a_named_variety_raised_here_keeps_its_number(book: StockBook) -> None:
    one = varieties.add(book, "Lantern Keeper", seedling_number="T19-02")
    assert one.kind is VarietyKind.NAMED
    assert varieties.find(book, "T19-02").name == "Lantern Keeper"


def test_a_name_of_another_or_a_former_one_is_taken(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    varieties.add(book, seedling_number="T24-07")
    varieties.rename(book, "T24-07", to="Lantern Keeper", on=date(2027, 2, 1))
    with pytest.raises(AlreadyThere, match="as Tin Orchard"):
        varieties.rename(book, "Lantern Keeper", to="tin orchard", on=date(2028, 2, 1))
    with pytest.raises(AlreadyThere, match="as Lantern Keeper"):
        varieties.add(book, "T24-07")


def test_renaming_runs_forward(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    varieties.rename(book, "Tin Orchard", to="Tin Garden", on=date(2026, 1, 1))
    with pytest.raises(WrongEntry, match="got that name after 2025-01-01"):
        varieties.rename(book, "Tin Garden", to="Tin Meadow", on=date(2025, 1, 1))


def test_the_form_can_be_told_later(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    assert varieties.set_form(book, "tin orchard", "ball").form == "ball"


def test_listed_by_name_whatever_the_capitals(book: StockBook) -> None:
    for name in ("wherry Lamp", "Árbol", "Tin Orchard"):
        varieties.add(book, name)
    assert [one.name for one in varieties.every(book)] == ["Árbol", "Tin Orchard", "wherry Lamp"]
