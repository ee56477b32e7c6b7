"""How probable it is that a plant is photographed on a day, by its entries and its photos."""

from datetime import date, datetime, timedelta

import pytest

from photolog.photos.along import Place
from photolog.photos.expected import Expected
from photolog.photos.facts import PhotoFacts
from photolog.photos.garden import DayFact, Garden, Holder, HolderFact
from photolog.photos.visits import PhotoGroup, Round
from photolog.terms import EventKind, LossCause

PLANTS = [Holder("plant", n) for n in range(1, 41)]
BED = [Place(holder=one) for one in PLANTS]
DAY = date(2026, 8, 20)


def garden(*events):
    return Garden(
        holdings=[],
        holders={one: HolderFact(name="", since=date(2024, 1, 1)) for one in PLANTS},
        events=[
            *(
                DayFact(kind=EventKind.PLANTED_OUT, on=date(2026, 5, 14), holder=one)
                for one in PLANTS
            ),
            *events,
        ],
    )


def walk(day, *numbers, shows="bloom"):
    """A round whose visits are all sure."""
    groups = [
        PhotoGroup(
            sure=PLANTS[number - 1],
            photos=[
                PhotoFacts(
                    photo_id=number,
                    name=f"LF{number:06d}",
                    taken_at=datetime.combine(day, datetime.min.time()),
                    camera=1,
                    longest_px=4000,
                    shows=shows,
                    has_card=True,
                )
            ],
        )
        for number in numbers
    ]
    return Round(day=day, side="before", groups=groups)


def entry(kind, number, on=DAY, **more):
    return DayFact(kind=kind, on=on, holder=PLANTS[number - 1], **more)


def expected(events, *rounds, shows="bloom"):
    found = Expected(rounds, garden(*events)).on(DAY, shows, BED, ())
    return lambda number: found[PLANTS[number - 1]]


def test_first_bloom_entered_that_day_and_later_are_told_apart():
    of = expected(
        [
            entry(EventKind.FIRST_BLOOM, 3),
            entry(EventKind.FIRST_BLOOM, 4, DAY + timedelta(days=9)),
        ],
        walk(DAY, 1, 6, 11),
    )
    assert of(3) > of(7) > of(4)


def test_one_that_was_in_bloom_before_is_more_probable_than_one_never_seen():
    of = expected([], walk(DAY - timedelta(days=5), 2, 3, 4, 5, 6), walk(DAY, 1, 8, 20))
    assert of(4) > of(30)


def test_how_many_are_shown_is_learnt_from_the_day():
    before = walk(DAY - timedelta(days=5), *range(1, 41))
    of_many = expected([], before, walk(DAY, *range(1, 41)))
    of_few = expected([], before, walk(DAY, *range(1, 41, 8)))
    assert of_many(9) > 0.9
    # Six plants' worth of what is expected, 0.65, weigh against five of 34 seen.
    assert of_few(10) == pytest.approx((0.65 * 6 + 5) / (6 + 33), abs=0.02)


def test_what_was_lost_is_hardly_expected():
    rotted = entry(EventKind.LOST, 5, DAY - timedelta(days=30), cause=LossCause.ROTTED)
    of = expected([rotted], walk(DAY, 1, 6, 11))
    assert of(5) < 0.05


def test_clumps_are_expected_on_the_day_of_their_entry():
    of = expected(
        [
            *(entry(EventKind.LIFTED, number) for number in (1, 2, 3, 4)),
            entry(EventKind.LIFTED, 6, DAY + timedelta(days=4)),
        ],
        walk(DAY, 1, 3, shows="clump"),
        shows="clump",
    )
    assert of(2) > of(5) > of(6)
