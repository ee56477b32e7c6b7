"""Plants: where they came from, what became of them, and dividing a clump."""

from __future__ import annotations

from datetime import date

import pytest

from photolog.book import StockBook, StockRef, daybook, plants, tags, varieties
from photolog.book.errors import Unknown, WrongEntry, WrongTag
from photolog.book.plants import PlantView
from photolog.terms import CameFrom, EventKind

PLANTED = date(2024, 11, 2)
LIFTED = date(2025, 5, 17)
DIVIDED = date(2025, 10, 12)


@pytest.fixture
def clump(book: StockBook) -> PlantView:
    varieties.add(book, "Tin Orchard", form="ball")
    plant = plants.add(book, variety="tin orchard", tag=11, since=PLANTED)
    daybook.enter(book, "planted out", on=PLANTED, tags=[11])
    daybook.enter(book, "lifted", on=LIFTED, tags=[11])
    return plant


def test_a_plant_with_its_tag_its_variety_and_its_season(book: StockBook, clump: PlantView) -> None:
    view = plants.of_tag(book, "0011", on=LIFTED)
    assert (view.variety, view.form, view.came_from) == ("Tin Orchard", "ball", CameFrom.BOUGHT)
    assert [one.number for one in view.tags] == [11]
    assert [(s.year, s.planted_on, s.lifted_on) for s in view.seasons] == [(2024, PLANTED, LIFTED)]
    assert view.ended_on is None


def test_a_divided_clump_ends_and_its_pieces_begin(book: StockBook, clump: PlantView) -> None:
    pieces = plants.divide(book, 11, on=DIVIDED, tags=[11, 61, 62])

    assert len(pieces) == 3
    assert all(
        (one.parent, one.came_from, one.since, one.variety)
        == (clump.ref, CameFrom.DIVISION, DIVIDED, "Tin Orchard")
        for one in pieces
    )
    ended = plants.get(book, clump.ref)
    assert (ended.ended_by, ended.ended_on) == (EventKind.DIVIDED, DIVIDED)
    assert ended.tags[0].until == DIVIDED
    held = tags.resolve(book, 11, on=DIVIDED)
    assert held.stock != clump.ref
    assert all(one.seasons == () for one in pieces)


def test_dividing_takes_no_other_plants_tag(book: StockBook, clump: PlantView) -> None:
    plants.add(book, variety="Tin Orchard", tag=61, since=PLANTED)
    with pytest.raises(WrongTag, match="0061-V has been on Tin Orchard since 2024-11-02"):
        plants.divide(book, 11, on=DIVIDED, tags=[11, 61])
    assert plants.get(book, clump.ref).ended_on is None
    assert tags.resolve(book, 11, on=DIVIDED).stock == clump.ref


def test_dividing_needs_tags_for_the_pieces(book: StockBook, clump: PlantView) -> None:
    with pytest.raises(WrongEntry, match="Give the tags of the pieces"):
        plants.divide(book, 11, on=DIVIDED, tags=[])


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("cutting of", CameFrom.CUTTING),
        ("cutting", CameFrom.CUTTING),
        ("Division", CameFrom.DIVISION),
        ("stayed in the ground", CameFrom.STAYED),
        (CameFrom.SEED, CameFrom.SEED),
    ],
)
def test_where_it_came_from(book: StockBook, clump: PlantView, typed: str, kept: CameFrom) -> None:
    view = plants.add(
        book, variety="Tin Orchard", since=DIVIDED, came_from=typed, parent_tag="0011"
    )
    assert view.came_from is kept
    assert view.parent == clump.ref


def test_a_child_is_not_older_than_its_parent(book: StockBook, clump: PlantView) -> None:
    with pytest.raises(WrongEntry, match="can't be older than it: it is there since 2024-11-02"):
        plants.add(
            book,
            variety="Tin Orchard",
            since=date(2024, 1, 1),
            came_from="cutting",
            parent=clump.ref,
        )


def test_a_parent_that_is_not_there_is_said(book: StockBook, clump: PlantView) -> None:
    for parent in (StockRef("plant", 99), StockRef("batch", 99)):
        with pytest.raises(Unknown, match=f"There is no {parent.kind} 99 in the stock book"):
            plants.add(book, variety="Tin Orchard", since=DIVIDED, parent=parent)
    with pytest.raises(WrongEntry, match="Say the parent once"):
        plants.add(book, variety="Tin Orchard", since=DIVIDED, parent=clump.ref, parent_tag=11)


def test_what_ended_a_plant_and_that_struck_out(book: StockBook, clump: PlantView) -> None:
    entry = daybook.enter(book, "lost", on=DIVIDED, tags=[11], cause="rotted")
    assert plants.get(book, clump.ref).ended_by is EventKind.LOST
    daybook.strike_out(book, entry.id)
    assert plants.get(book, clump.ref).ended_by is None


def test_a_division_struck_out_never_was(book: StockBook, clump: PlantView) -> None:
    before = plants.get(book, clump.ref)
    plants.divide(book, 11, on=DIVIDED, tags=[11, 61])
    (entry,) = daybook.entries(book, kinds=[EventKind.DIVIDED])
    assert daybook.strike_out(book, entry.id).tags == (11,)
    assert plants.every(book) == (before,)
    assert tags.resolve(book, 11, on=DIVIDED).stock == clump.ref
    assert tags.holder(book, 61, on=DIVIDED) is None
    again = plants.divide(book, 11, on=DIVIDED, tags=[61, 62])
    assert [one.tags[0].number for one in again] == [61, 62]


@pytest.mark.parametrize("known", ["an entry", "a division", "a handing on"])
def test_a_division_of_which_more_is_known_is_not_struck_out(
    book: StockBook, clump: PlantView, known: str
) -> None:
    other = plants.add(book, variety="Tin Orchard", since=PLANTED)
    plants.divide(book, 11, on=DIVIDED, tags=[11, 61])
    (entry,) = daybook.entries(book, kinds=[EventKind.DIVIDED])
    if known == "an entry":
        daybook.enter(book, "planted out", on=date(2025, 11, 8), tags=[61])
    elif known == "a division":
        plants.divide(book, 61, on=date(2026, 10, 9), tags=[63])
    else:
        tags.hand_on(book, 61, to=other.ref, on=date(2026, 10, 9))
    before = plants.every(book)
    with pytest.raises(WrongEntry, match=r"while more is known of its pieces: 0061-V.*Strike out"):
        daybook.strike_out(book, entry.id)
    assert plants.every(book) == before
    assert entry in daybook.entries(book)


def test_what_was_known_of_a_piece_struck_out_frees_its_division(
    book: StockBook, clump: PlantView
) -> None:
    plants.divide(book, 11, on=DIVIDED, tags=[61, 62])
    (entry,) = daybook.entries(book, kinds=[EventKind.DIVIDED])
    planted = daybook.enter(book, "planted out", on=date(2025, 11, 8), tags=[61, 62])
    daybook.strike_out(book, planted.id)
    daybook.strike_out(book, entry.id)
    assert [one.ref for one in plants.every(book)] == [clump.ref]


def test_a_clump_entered_as_divided_twice_keeps_its_pieces(
    book: StockBook, clump: PlantView
) -> None:
    plants.divide(book, 11, on=DIVIDED, tags=[61, 62])
    twice = daybook.enter(book, "divided", on=DIVIDED, tags=[11])
    daybook.strike_out(book, twice.id)
    assert len(plants.every(book)) == 3
    assert plants.get(book, clump.ref).ended_on == DIVIDED


def test_a_clump_divided_on_its_tags_first_day_stays_divided(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    plants.add(book, variety="Tin Orchard", tag=11, since=DIVIDED)
    plants.divide(book, 11, on=DIVIDED, tags=[11, 61])
    (entry,) = daybook.entries(book)
    before = plants.every(book)
    with pytest.raises(WrongEntry, match="wore its tag from that same day only"):
        daybook.strike_out(book, entry.id)
    assert plants.every(book) == before
    assert tags.holder(book, 61, on=DIVIDED) is not None


def test_unknown_plants_are_said(book: StockBook) -> None:
    with pytest.raises(Unknown, match="There is no plant 1 in the stock book"):
        plants.get(book, StockRef("plant", 1))
