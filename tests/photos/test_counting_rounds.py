"""Counting past 9999: sound dates are believed, and clocks that fell back are still told."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from photolog.photos.dates_doubted import doubted_blocks, doubted_dates
from photolog.photos.facts import PhotoFacts
from photolog.photos.file_numbers import CountedSpan, file_number

JUNE = datetime(2026, 6, 1, 10)
CYCLE = 9999


def photo(count: int, at: datetime, *, prefix: str = "LF", before: str = "") -> PhotoFacts:
    """The photo that a camera took as its ``count``-th: after 9999 comes 0001."""
    counter = (count - 1) % CYCLE + 1
    return PhotoFacts(
        photo_id=count,
        name=f"{prefix}{before}{counter:04d}.JPG",
        taken_at=at,
        camera=1,
        longest_px=4000,
        shows=None,
        has_card=False,
    )


def day(first: int, n: int, at: datetime, **how: str) -> list[PhotoFacts]:
    return [photo(first + k, at + timedelta(minutes=k), **how) for k in range(n)]


@pytest.mark.parametrize("before", ["", "35"])
def test_passing_9999_on_one_day_doubts_nothing(before):
    shots = [*day(9990, 25, JUNE, before=before), *day(10040, 5, JUNE + timedelta(days=3))]
    assert doubted_dates(shots[:25]) == {}
    assert doubted_dates(shots[:25][::-1]) == {}


def test_passing_9999_between_two_days_doubts_neither():
    shots = [*day(9800, 20, JUNE), *day(10_050, 60, JUNE + timedelta(days=40))]
    assert doubted_dates(shots) == {}


def test_a_long_counter_passes_9999_without_beginning_anew():
    shots = [photo(1, JUNE), photo(2, JUNE + timedelta(days=3))]
    names = ["P79999.JPG", "P80000.JPG"]
    assert doubted_dates([_named(p, n) for p, n in zip(shots, names, strict=True)]) == {}
    assert len(doubted_dates([_named(p, n) for p, n in zip(shots, names[::-1], strict=True)])) == 1


def _named(one: PhotoFacts, name: str) -> PhotoFacts:
    fields = {field: getattr(one, field) for field in one.__dataclass_fields__}
    return PhotoFacts(**{**fields, "name": name})


@pytest.mark.parametrize("seed", range(20))
def test_sound_dates_over_many_rounds_are_never_doubted(seed):
    rng = np.random.default_rng(seed)
    count, at, shots = int(rng.integers(1, 9999)), datetime(2019, 3, 1, 9), []
    while at.year < 2026:
        n = int(rng.integers(1, 60))
        shots += day(count, n, at)
        # Not every photo of a camera is of a plant; fewer than half a round between two days.
        count += n + int(rng.integers(0, 2500))
        at = datetime.combine(at.date(), JUNE.time()) + timedelta(days=int(rng.integers(1, 60)))
    assert count > 2 * CYCLE
    assert doubted_dates(shots) == {}


@pytest.mark.parametrize("first_day", [datetime(2020, 1, 1), datetime(2026, 1, 1)])
def test_a_clock_that_fell_back_right_after_passing_9999_is_told(first_day):
    before = [shot for n in range(10) for shot in day(9700 + 20 * n, 15, JUNE + timedelta(days=n))]
    fallen = day(10_005, 12, first_day)
    after = day(10_030, 30, JUNE + timedelta(days=30))
    assert {one.photo_id for one in fallen} == set(doubted_dates([*before, *fallen, *after]))
    (block,) = doubted_blocks([*before, *fallen, *after])
    assert block.span == CountedSpan(counted_as="LF", first=6, last=17)
    assert (block.before, block.after) == (before[-1], after[0])
    assert {one.earliest.date() for one in block.dates} == {date(2026, 6, 11)}
    assert {one.latest.date() for one in block.dates} == {date(2026, 6, 30)}
    # Without any photo afterwards it is told as well, though nothing says when.
    assert {one.photo_id for one in fallen} == set(doubted_dates([*before, *fallen]))


def test_a_clock_that_fell_back_while_passing_9999_is_told():
    before = [shot for n in range(10) for shot in day(9700 + 20 * n, 15, JUNE + timedelta(days=n))]
    fallen = day(9990, 30, datetime(2020, 1, 1))
    after = day(10_030, 30, JUNE + timedelta(days=30))
    (block,) = doubted_blocks([*before, *fallen, *after])
    assert {one.photo_id for one in block.photos} == {one.photo_id for one in fallen}
    assert block.span == CountedSpan(counted_as="LF", first=9990, last=20)


def test_what_may_be_of_two_rounds_is_doubted_without_a_day():
    days = [shot for n in range(14) for shot in day(1 + 2000 * n, 5, JUNE + timedelta(days=30 * n))]
    fallen = day(CYCLE + 3001, 4, datetime(2020, 1, 1))
    doubted = doubted_dates([*days, *fallen])
    assert set(doubted) == {one.photo_id for one in fallen}
    assert {(one.earliest, one.latest) for one in doubted.values()} == {(None, None)}
    assert "may be of more than one year" in doubted[fallen[0].photo_id].because


@pytest.mark.parametrize(
    ("name", "inside"),
    [
        ("LF9995.JPG", True),
        ("lf9995.JPG", False),
        ("LF0007.JPG", True),
        ("LF0021.JPG", False),
        ("LF9989.JPG", False),
        ("IMG_20260516_120000.jpg", False),
        ("garden.jpg", False),
    ],
)
def test_a_span_past_9999_holds_what_was_counted_in_it(name, inside):
    assert (name in CountedSpan(counted_as="LF", first=9990, last=20)) is inside


def test_what_no_camera_counted_has_no_number():
    assert file_number("IMG_20260516_120000.jpg") is None
    assert file_number("20260516.jpg") is None
    assert file_number("LF350394-edited.JPG").number == 350394
