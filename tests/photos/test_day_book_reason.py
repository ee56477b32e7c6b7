"""Reason three, the day book, and what it speaks against."""

from datetime import date, datetime, time

import pytest

from photolog.photos.garden import DayFact, HolderFact
from photolog.terms import EventKind, LossCause
from tests.photos.garden import NOON, TRAY, Shoot, found, garden, matched, plant, tag


def test_the_only_plant_lifted_that_day_gets_the_clump():
    shoot = Shoot()
    clump = shoot.subject()
    match = matched(shoot, garden=garden(lifted=[13]))[clump]
    assert found(match) == (plant(13), "day book")
    assert match.found.because == "By the day book Aunt Petronel was lifted that day."


def test_several_lifted_that_day_are_candidates():
    shoot = Shoot()
    clump = shoot.subject()
    match = matched(shoot, garden=garden())[clump]
    assert found(match) is None
    assert {one.holder for one in match.candidates} == {plant(n) for n in (11, 12, 13, 14)}
    assert sum(one.probability for one in match.candidates) <= 1.0


def test_two_clumps_for_one_entry_both_wait():
    shoot = Shoot()
    clumps = [shoot.subject(), shoot.wait(minutes=30).subject()]
    matches = matched(shoot, garden=garden(lifted=[13]))
    assert [found(matches[clump]) for clump in clumps] == [None, None]


def test_one_entry_does_not_decide_where_the_day_book_forgot_others():
    shoot = Shoot()
    shoot.subject(tags=(tag(11, pegged=True),))
    clump = shoot.wait(minutes=30).subject()
    own = garden(
        lifted=[13], events=[DayFact(kind=EventKind.LIFTED, on=date(2026, 5, 15), holder=plant(11))]
    )
    match = matched(shoot, garden=own)[clump]
    assert found(match) is None
    assert match.candidates[0].holder == plant(13)


def test_another_hour_is_less_sure():
    entry = DayFact(kind=EventKind.WASHED, on=date(2026, 5, 20), holder=plant(12), at=time(9, 0))
    for hour, expected in ((10, (plant(12), "day book")), (16, None)):
        shoot = Shoot(at=datetime(2026, 5, 20, hour))
        clump = shoot.subject()
        assert found(matched(shoot, garden=garden(events=[entry]))[clump]) == expected


def test_a_first_bloom_entry_matches_the_bloom():
    entry = DayFact(kind=EventKind.FIRST_BLOOM, on=date(2026, 1, 18), holder=plant(12))
    shoot = Shoot(at=datetime(2026, 1, 18, 9))
    bloom = shoot.subject("bloom")
    clump = shoot.wait(minutes=30).subject("clump")
    matches = matched(shoot, garden=garden(events=[entry]))
    assert found(matches[bloom]) == (plant(12), "day book")
    assert found(matches[clump]) is None


def test_nothing_to_go_by():
    shoot = Shoot(at=datetime(2026, 7, 1, 9))
    photo = shoot.photo()
    match = matched(shoot, garden=garden())[photo]
    assert match.waiting_because == "Neither a tag, nor a run, nor the day book says whose it is."
    assert match.candidates == ()


@pytest.mark.parametrize(
    ("shows", "taken_at", "events", "says"),
    [
        (
            "clump",
            datetime(2026, 5, 14, 12),
            [],
            "was in the ground on 2026-05-14: planted out on 2025-11-08, lifted only on 2026-05-16",
        ),
        (
            "bloom",
            datetime(2026, 6, 20, 12),
            [],
            "had been lifted on 2026-05-16 and was not planted out again by 2026-06-20",
        ),
        (
            "bloom",
            datetime(2025, 11, 1, 12),
            [],
            "was planted out only on 2025-11-08",
        ),
        (
            "bloom",
            datetime(2026, 2, 1, 12),
            [
                DayFact(
                    kind=EventKind.LOST,
                    on=date(2026, 1, 20),
                    holder=plant(11),
                    cause=LossCause.ROTTED,
                )
            ],
            "was lost (rotted) on 2026-01-20, before this photo",
        ),
        ("clump", datetime(2024, 11, 20, 12), [], None),
        ("clump", NOON, [], None),
        ("bloom", NOON, [], None),
        ("bloom", datetime(2025, 12, 24, 12), [], None),
        (
            "bloom",
            datetime(2026, 2, 1, 12),
            [
                DayFact(
                    kind=EventKind.LOST,
                    on=date(2026, 1, 20),
                    holder=plant(11),
                    cause=LossCause.LABEL_LOST,
                )
            ],
            None,
        ),
    ],
)
def test_what_the_day_book_speaks_against(shows, taken_at, events, says):
    shoot = Shoot(at=taken_at)
    photo = shoot.subject(shows, tags=(tag(11, pegged=True),))
    match = matched(shoot, garden=garden(events=events))[photo]
    if says is None:
        assert found(match) == (plant(11), "tag")
        return
    assert found(match) is None
    assert match.contradiction
    assert says in match.waiting_because
    assert match.candidates[0].holder == plant(11)
    assert match.candidates[0].probability < 0.5


def test_a_contradiction_stops_a_run_too():
    own = garden(lifted=[11], events=[])
    shoot = Shoot()
    shoot.tag_shot(12)
    clump = shoot.wait(seconds=15).subject()
    match = matched(shoot, garden=own)[clump]
    assert found(match) is None
    assert match.contradiction


def test_a_photo_from_before_the_plant_came():
    own = garden()
    own.holders[plant(11)] = HolderFact(name="Tin Orchard", since=date(2026, 6, 1))
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, pegged=True),))
    match = matched(shoot, garden=own)[photo]
    assert "came only on 2026-06-01" in match.waiting_because


def test_losing_some_of_a_batch_ends_nothing():
    lost = DayFact(kind=EventKind.LOST, on=date(2026, 6, 3), holder=TRAY, count=3)
    shoot = Shoot(at=datetime(2026, 6, 6, 11))
    photo = shoot.photo(tags=(tag(101, side_px=60.0),))
    assert found(matched(shoot, garden=garden(events=[lost]))[photo]) == (TRAY, "tag")


def test_planting_and_lifting_the_whole_garden_counts_for_each_plant():
    wide = [
        DayFact(kind=EventKind.PLANTED_OUT, on=date(2026, 11, 7), holder=None),
        DayFact(kind=EventKind.LIFTED, on=date(2027, 5, 20), holder=None),
    ]
    own = garden(events=wide)
    for day, is_against in ((date(2027, 1, 5), True), (date(2027, 5, 20), False)):
        shoot = Shoot(at=datetime.combine(day, time(12)))
        photo = shoot.subject("clump", tags=(tag(11, pegged=True),))
        assert matched(shoot, garden=own)[photo].contradiction is is_against
