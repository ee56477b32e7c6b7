"""Batches: one tag and a count, split and lost from, and never plants that nobody tagged."""

from __future__ import annotations

from datetime import date

import pytest

from photolog.book import StockBook, batches, daybook, plants, tags, varieties
from photolog.book.batches import BatchView
from photolog.book.errors import AlreadyThere, NotEnough, Unknown, WrongEntry, WrongTag
from photolog.terms import CameFrom, EventKind, LossCause

BEGAN = date(2026, 6, 6)
LATER = date(2026, 9, 20)


@pytest.fixture
def tray(book: StockBook) -> BatchView:
    varieties.add(book, "Saltmarsh Linnet", form="decorative")
    return batches.add(
        book, variety="Saltmarsh Linnet", count=40, kind="pot tubers", tag=101, since=BEGAN
    )


def test_forty_pot_tubers_are_one_batch_and_no_plants(book: StockBook, tray: BatchView) -> None:
    assert (tray.count, tray.left) == (40, 40)
    assert tray.came_from is CameFrom.POT_TUBER
    assert plants.every(book) == ()
    assert len(batches.every(book)) == 1
    held = tags.holder(book, 101, on=BEGAN)
    assert held is not None
    assert held.stock == tray.ref


def test_plants_split_off_get_their_own_tags_some_of_them_later(
    book: StockBook, tray: BatchView
) -> None:
    made = batches.split_plants(book, "0101", on=LATER, tags=[201, 202], count=3)

    assert [[one.number for one in plant.tags] for plant in made] == [[201], [202], []]
    assert all(plant.parent == tray.ref and plant.variety == "Saltmarsh Linnet" for plant in made)
    assert batches.get(book, tray.ref).left == 37
    tags.hand_on(book, 203, to=made[2].ref, on=date(2026, 10, 1))
    assert [one.number for one in plants.get(book, made[2].ref).tags] == [203]


def test_a_smaller_batch_split_off_lives_by_itself(book: StockBook, tray: BatchView) -> None:
    smaller = batches.split_batch(book, 101, on=LATER, count=15, new_tag=102)
    again = batches.split_batch(book, 102, on=LATER, count=5)

    assert (smaller.count, smaller.parent, smaller.kind) == (15, tray.ref, tray.kind)
    assert (again.count, again.tags, again.parent) == (5, (), smaller.ref)
    assert batches.get(book, tray.ref).left == 25
    assert batches.get(book, smaller.ref).left == 10


def test_some_are_lost_with_the_cause_in_the_day_book(book: StockBook, tray: BatchView) -> None:
    after = batches.lose(book, 101, on=LATER, count=6, cause="dried out")
    assert after.left == 34
    (entry,) = daybook.entries(book, tag=101)
    assert (entry.kind, entry.count, entry.cause) == (EventKind.LOST, 6, LossCause.DRIED_OUT)
    assert (after.left_on(date(2026, 9, 19)), after.left_on(LATER)) == (40, 34)
    assert after.left_on(date(2026, 6, 5)) == 0


def test_without_a_count_all_that_are_left_are_lost(book: StockBook, tray: BatchView) -> None:
    batches.split_plants(book, 101, on=LATER, count=1)
    assert batches.lose(book, 101, on=LATER).left == 0
    with pytest.raises(NotEnough, match="batch of 40 pot tubers of Saltmarsh Linnet none are left"):
        batches.lose(book, 101, on=LATER, count=1)


def test_more_lost_than_there_are_is_refused_and_nothing_is_entered(
    book: StockBook, tray: BatchView
) -> None:
    batches.lose(book, 101, on=LATER, count=39)
    with pytest.raises(NotEnough, match="only 1 is left, so 2 can't be taken from it"):
        batches.lose(book, 101, on=LATER, count=2)
    assert len(daybook.entries(book, tag=101)) == 1


def test_more_split_off_than_there_are_is_refused_and_nothing_is_made(
    book: StockBook, tray: BatchView
) -> None:
    batches.lose(book, 101, on=LATER, count=38)
    with pytest.raises(NotEnough, match="only 2 are left, so 3 can't be split off"):
        batches.split_plants(book, 101, on=LATER, tags=[201, 202, 203])
    with pytest.raises(NotEnough, match="only 2 are left, so 3 can't be taken from it"):
        batches.split_batch(book, 101, on=LATER, count=3)
    assert plants.every(book) == ()
    assert len(batches.every(book)) == 1
    assert tags.holdings(book, 201) == ()


def test_a_loss_struck_out_never_happened(book: StockBook, tray: BatchView) -> None:
    batches.lose(book, 101, on=LATER, count=30)
    (entry,) = daybook.entries(book, tag=101)
    daybook.strike_out(book, entry.id)
    assert batches.get(book, tray.ref).left == 40
    assert daybook.entries(book, tag=101) == ()
    (kept,) = daybook.entries(book, tag=101, struck_out=True)
    assert kept.struck_out_at is not None
    with pytest.raises(AlreadyThere, match="is struck out already"):
        daybook.strike_out(book, entry.id)


@pytest.mark.parametrize("kind", ["lost", "rogued", "discarded", "given away"])
def test_whatever_ends_some_makes_the_batch_fewer(
    book: StockBook, tray: BatchView, kind: str
) -> None:
    daybook.enter(book, kind, on=LATER, tags=[101], count=4)
    assert batches.get(book, tray.ref).left == 36


def test_nothing_is_taken_before_the_batch_began(book: StockBook, tray: BatchView) -> None:
    with pytest.raises(WrongEntry, match="began on 2026-06-06, so nothing can be taken from it on"):
        daybook.enter(book, "lost", on=date(2026, 6, 5), stock=[tray.ref], count=1)


def test_a_taken_tag_splits_nothing_off(book: StockBook, tray: BatchView) -> None:
    plants.add(book, variety="Saltmarsh Linnet", tag=201, since=BEGAN)
    with pytest.raises(WrongTag, match=r"0201-. has been on Saltmarsh Linnet since 2026-06-06"):
        batches.split_plants(book, 101, on=LATER, tags=[200, 201])
    assert batches.get(book, tray.ref).left == 40
    assert tags.holdings(book, 200) == ()


def test_each_seedling_split_off_gets_its_own_number(book: StockBook) -> None:
    varieties.add(book, seedling_number="T26 cross 3")
    batches.add(book, variety="T26 cross 3", count=60, kind="seedlings", tag=110, since=BEGAN)
    made = batches.split_plants(
        book, 110, on=LATER, tags=[301, 302], seedling_numbers=["T26-01", "T26-02"]
    )
    assert [plant.variety for plant in made] == ["T26-01", "T26-02"]
    assert all(plant.came_from is CameFrom.SEED for plant in made)
    with pytest.raises(WrongEntry, match="2 plants need as many raiser's numbers, got 1"):
        batches.split_plants(book, 110, on=LATER, count=2, seedling_numbers=["T26-03"])


def test_only_seedlings_get_numbers(book: StockBook, tray: BatchView) -> None:
    with pytest.raises(WrongEntry, match="Only seedlings get a raiser's number each"):
        batches.split_plants(book, 101, on=LATER, seedling_numbers=["T26-01"])


def test_a_batch_tagged_later_is_found_by_its_tag(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    made = batches.add(book, variety="Tin Orchard", count=12, kind="cuttings", since=BEGAN)
    tags.hand_on(book, 105, to=made.ref, on=LATER)
    assert batches.of_tag(book, 105, on=LATER).ref == made.ref


@pytest.mark.parametrize(
    ("given", "error", "said"),
    [
        ({"count": 0}, WrongEntry, "has at least 1 in it, got 0"),
        ({"kind": "pot tuber"}, Unknown, "Did you mean pot tubers"),
        ({"came_from": "the moon"}, Unknown, "Stock can't have come from 'the moon'"),
        ({"variety": "Tin Orchid"}, Unknown, "no variety 'Tin Orchid'"),
        ({"parent_tag": 999}, Unknown, "is not in the stock book"),
    ],
)
def test_bad_input_is_said(
    book: StockBook, tray: BatchView, given: dict[str, object], error: type, said: str
) -> None:
    fine = {"variety": "Saltmarsh Linnet", "count": 5, "kind": "cuttings", "since": LATER}
    with pytest.raises(error, match=said):
        batches.add(book, **{**fine, **given})
    assert len(batches.every(book)) == 1


def test_a_plant_is_no_batch_and_a_batch_no_plant(book: StockBook, tray: BatchView) -> None:
    plants.add(book, variety="Saltmarsh Linnet", tag=201, since=BEGAN)
    with pytest.raises(Unknown, match="was on a single plant of Saltmarsh Linnet"):
        batches.of_tag(book, 201, on=LATER)
    with pytest.raises(Unknown, match="was on a batch of Saltmarsh Linnet"):
        plants.of_tag(book, 101, on=LATER)
