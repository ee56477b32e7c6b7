"""The day book: many plants in one entry, the whole garden, striking out, and bad input."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest

from photolog.book import StockBook, StockRef, batches, daybook, plants, tags, varieties
from photolog.book.errors import NotEnough, Unknown, WrongEntry
from photolog.book.happenings import happenings
from photolog.book.plant_seasons import season_of, seasons_of
from photolog.terms import EventKind, LossCause

PLANTED = date(2025, 11, 8)
LIFTED = date(2026, 5, 16)


@pytest.fixture
def row(book: StockBook) -> tuple[StockRef, ...]:
    """Three plants under tags 11 to 13, planted out in one entry."""
    varieties.add(book, "Tin Orchard")
    made = tuple(
        plants.add(book, variety="Tin Orchard", tag=tag, since=PLANTED).ref for tag in (11, 12, 13)
    )
    daybook.enter(book, "planted out", on=PLANTED, tags=[11, 12, 13])
    return made


def test_one_entry_for_many_plants(book: StockBook, row: tuple[StockRef, ...]) -> None:
    entry = daybook.enter(
        book, "lifted", on=LIFTED, at=time(14, 30), tags=["0011", 12, "13"], note="dry soil"
    )
    assert entry.stock == row
    assert entry.tags == (11, 12, 13)
    assert (entry.kind, entry.at, entry.note) == (EventKind.LIFTED, time(14, 30), "dry soil")
    assert daybook.entries(book, kinds=[EventKind.LIFTED]) == (entry,)


def test_a_plant_named_twice_is_in_it_once(book: StockBook, row: tuple[StockRef, ...]) -> None:
    entry = daybook.enter(book, "stopped", on=PLANTED, tags=[11, "0011"], stock=[row[0]])
    assert entry.stock == (row[0],)


def test_the_whole_garden_is_everybodys(book: StockBook, row: tuple[StockRef, ...]) -> None:
    frost = daybook.enter(book, "first frost", on=date(2026, 5, 11), garden_wide=True)
    assert frost in daybook.entries(book, tag=11)
    assert frost not in daybook.entries(book, tag=11, garden_wide=False)
    assert all(
        EventKind.FIRST_FROST in [one.kind for one in happened]
        for happened in happenings(book).values()
    )


def test_what_happened_to_the_garden_before_a_plant_came_is_not_its(
    book: StockBook, row: tuple[StockRef, ...]
) -> None:
    daybook.enter(book, "first frost", on=date(2025, 5, 9), garden_wide=True)
    assert EventKind.FIRST_FROST not in [one.kind for one in happenings(book)[row[0]]]


def test_what_happens_to_the_garden_after_a_plant_is_lost_is_not_its(
    book: StockBook, row: tuple[StockRef, ...]
) -> None:
    daybook.enter(book, "lost", on=LIFTED, tags=[11], cause="frosted")
    daybook.enter(book, "planted out", on=date(2026, 11, 7), garden_wide=True)
    assert plants.get(book, row[0]).ended_on == LIFTED
    assert [one.year for one in plants.get(book, row[0]).seasons] == [2025]
    assert [one.year for one in plants.get(book, row[1]).seasons] == [2025, 2026]
    assert [one.kind.value for one in daybook.entries(book, tag=11)] == ["planted out", "lost"]
    assert [one.kind.value for one in daybook.entries(book, stock=row[:2])] == [
        "planted out",
        "lost",
        "planted out",
    ]


def test_a_whole_garden_planted_out_and_lifted_gives_everything_its_season(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    one = plants.add(book, variety="Tin Orchard", since=PLANTED).ref
    daybook.enter(book, "planted out", on=PLANTED, garden_wide=True)
    daybook.enter(book, "lifted", on=LIFTED, garden_wide=True)
    (season,) = seasons_of(happenings(book)[one])
    assert (season.year, season.lifted_on) == (2025, LIFTED)


def test_entries_by_day_and_time(book: StockBook, row: tuple[StockRef, ...]) -> None:
    daybook.enter(book, "washed", on=LIFTED, tags=[11])
    daybook.enter(book, "cut down", on=date(2026, 5, 14), tags=[11])
    daybook.enter(book, "lifted", on=LIFTED, at=time(9), tags=[11])
    kinds = [one.kind.value for one in daybook.entries(book, tag=11)]
    assert kinds == ["planted out", "cut down", "lifted", "washed"]
    some = daybook.entries(book, first=date(2026, 5, 14), last=date(2026, 5, 15))
    assert [one.kind.value for one in some] == ["cut down"]


def test_a_tag_shows_the_entries_of_what_holds_it_now(
    book: StockBook, row: tuple[StockRef, ...]
) -> None:
    daybook.enter(book, "lost", on=LIFTED, tags=[11], cause="rotted")
    heir = plants.add(book, variety="Tin Orchard", since=date(2026, 10, 30))
    tags.hand_on(book, 11, to=heir.ref, on=date(2026, 10, 30))
    assert daybook.entries(book, tag=11) == ()
    assert len(daybook.entries(book, stock=[row[0]])) == 2


def test_an_entry_before_a_handing_on_is_the_former_holders(
    book: StockBook, row: tuple[StockRef, ...]
) -> None:
    heir = plants.add(book, variety="Tin Orchard", since=date(2026, 10, 30))
    tags.hand_on(book, 11, to=heir.ref, on=date(2026, 10, 30))
    entry = daybook.enter(book, "lifted", on=LIFTED, tags=[11])
    assert entry.stock == (row[0],)


def test_a_bed_a_variety_and_another_variety(book: StockBook, row: tuple[StockRef, ...]) -> None:
    varieties.add(book, "Wherry Lamp")
    bed = daybook.enter(book, "treated", on=PLANTED, place="long bed", note="slug pellets")
    shown = daybook.enter(book, "shown", on=LIFTED, variety="tin orchard", note="class 4, second")
    same = daybook.enter(
        book, "found to be the same as", on=LIFTED, tags=[11], other_variety="Wherry Lamp"
    )
    assert bed.place == "long bed"
    assert shown.varieties == ("Tin Orchard",)
    assert same.other_variety == "Wherry Lamp"


def test_weighed(book: StockBook, row: tuple[StockRef, ...]) -> None:
    assert daybook.enter(book, "weighed", on=LIFTED, tags=[11], weight_g=640.0).weight_g == 640.0


@pytest.mark.parametrize("typed", ["planted out", "Planted_Out", "PLANTED OUT"])
def test_kinds_as_typed(typed: str) -> None:
    assert daybook.kind_named(typed) is EventKind.PLANTED_OUT


@pytest.mark.parametrize(
    ("kind", "given", "error", "said"),
    [
        ("lift", {"tags": [11]}, Unknown, "no entry 'lift'.* Did you mean lifted"),
        ("lifted", {}, WrongEntry, "needs to say what it happened to: tags, a bed or box, or"),
        ("lifted", {"tags": [99]}, Unknown, "0099-. is not in the stock book.* Did you mean 00"),
        ("lifted", {"stock": [StockRef("plant", 99)]}, Unknown, "There is no plant 99"),
        ("lost", {"garden_wide": True}, WrongEntry, "'lost' needs the tags of what it happened"),
        ("lifted", {"tags": [11], "garden_wide": True}, WrongEntry, "either of the whole garden"),
        ("lost", {"tags": [11], "count": 2}, WrongEntry, "count belongs to an entry about one ba"),
        ("lost", {"tags": [11], "cause": "rot"}, Unknown, "no cause .* Did you mean rotted"),
        ("lifted", {"tags": [11], "cause": "rotted"}, WrongEntry, "only lost and rogued have one"),
        ("weighed", {"tags": [11]}, WrongEntry, "needs the weight in grams"),
        ("weighed", {"tags": [11], "weight_g": -3.0}, WrongEntry, "is above 0, got -3"),
        ("renamed", {"variety": "Tin Orchard"}, WrongEntry, "by itself: rename the variety"),
        ("split off", {"tags": [11]}, WrongEntry, "by itself: split the batch"),
    ],
)
@pytest.mark.usefixtures("row")
def test_bad_input_is_said_and_nothing_is_entered(
    book: StockBook,
    kind: str,
    given: dict[str, object],
    error: type,
    said: str,
) -> None:
    with pytest.raises(error, match=said):
        daybook.enter(book, kind, on=LIFTED, **given)
    assert len(daybook.entries(book)) == 1


def test_one_bad_tag_leaves_the_whole_entry_out(book: StockBook, row: tuple[StockRef, ...]) -> None:
    with pytest.raises(Unknown, match=r"0099-. is not in the stock book"):
        daybook.enter(book, "lifted", on=LIFTED, tags=[11, 12, 99])
    assert len(daybook.entries(book)) == 1


def test_what_is_still_to_come_is_not_entered(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    tray = batches.add(book, variety="Tin Orchard", count=9, kind="cuttings", tag=20, since=PLANTED)
    clump = plants.add(book, variety="Tin Orchard", tag=30, since=PLANTED)
    now = datetime.combine(LIFTED, time(12), UTC)
    ahead = LIFTED + timedelta(days=2)
    said = r"2026-05-18 is still to come \(today is 2026-05-16\)\. Enter what happened once"
    with pytest.raises(WrongEntry, match=said):
        daybook.enter(book, "lost", on=ahead, tags=[20], count=3, cause="rotted", now=now)
    with pytest.raises(WrongEntry, match=said):
        batches.lose(book, 20, on=ahead, count=3, now=now)
    with pytest.raises(WrongEntry, match=said):
        batches.split_plants(book, 20, on=ahead, tags=[21], now=now)
    with pytest.raises(WrongEntry, match=said):
        batches.split_batch(book, 20, on=ahead, count=2, now=now)
    with pytest.raises(WrongEntry, match=said):
        plants.divide(book, 30, on=ahead, tags=[31], now=now)
    assert batches.get(book, tray.ref).left == 9
    assert plants.get(book, clump.ref).ended_on is None
    assert daybook.entries(book) == ()
    # Tomorrow may have begun where the grower is.
    daybook.enter(book, "lost", on=LIFTED + timedelta(days=1), tags=[20], count=3, now=now)
    assert batches.get(book, tray.ref).left == 6


def test_by_the_clock_where_no_moment_is_given(book: StockBook) -> None:
    with pytest.raises(WrongEntry, match="2031-01-05 is still to come"):
        daybook.enter(book, "first frost", on=date(2031, 1, 5), garden_wide=True)


def test_an_empty_batch_loses_nothing_more(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    batches.add(book, variety="Tin Orchard", count=3, kind="cuttings", tag=20, since=PLANTED)
    daybook.enter(book, "rogued", on=PLANTED, tags=[20], cause=LossCause.VIRUS)
    with pytest.raises(NotEnough, match="none are left"):
        daybook.enter(book, "lost", on=LIFTED, tags=[20])
    assert len(daybook.entries(book)) == 1


def test_what_is_undone_elsewhere_is_not_struck_out(book: StockBook) -> None:
    varieties.add(book, seedling_number="T24-07")
    varieties.rename(book, "T24-07", to="Lantern Keeper", on=PLANTED)
    (entry,) = daybook.entries(book)
    with pytest.raises(WrongEntry, match="rename the variety again instead"):
        daybook.strike_out(book, entry.id)
    with pytest.raises(Unknown, match="There is no entry 99 in the day book"):
        daybook.strike_out(book, 99)


def test_what_was_split_off_a_batch_shares_its_past_but_not_its_end(book: StockBook) -> None:
    varieties.add(book, "Tin Orchard")
    split = date(2026, 1, 10)
    batches.add(
        book, variety="Tin Orchard", count=10, kind="cuttings", tag=20, since=date(2025, 9, 1)
    )
    daybook.enter(book, "planted out", on=PLANTED, tags=[20])
    (one,) = batches.split_plants(book, 20, on=split, tags=[21])
    smaller = batches.split_batch(book, 20, on=split, count=4, new_tag=22)
    daybook.enter(book, "discarded", on=split, tags=[20])
    daybook.enter(book, "lifted", on=LIFTED, tags=[21])

    happened = happenings(book)
    assert season_of(happened[one.ref], split) == 2025
    assert seasons_of(happened[one.ref])[0].lifted_on == LIFTED
    assert seasons_of(happened[smaller.ref])[0].lifted_on is None
    assert plants.get(book, one.ref).ended_on is None


def test_what_came_as_stayed_in_the_ground_has_its_season_from_its_first_day(
    book: StockBook,
) -> None:
    varieties.add(book, "Tin Orchard")
    old = plants.add(
        book, variety="Tin Orchard", since=date(2026, 10, 1), came_from="stayed in the ground"
    )
    assert [one.year for one in old.seasons] == [2026]
