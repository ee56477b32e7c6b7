"""How the plants stand in the bed: entries, walks that put entries right, and what none lists."""

from datetime import date, timedelta

import pytest

from photolog.photos.bed import bed_order, planting_days
from photolog.photos.garden import DayFact, Garden, Holder, HolderFact
from photolog.terms import EventKind

PLANTED = date(2025, 5, 14)
DAY = date(2025, 8, 20)
PLANTS = [Holder("plant", number) for number in range(21)]


def garden(*numbers: int, on: date = PLANTED) -> Garden:
    """A garden whose plants were entered as planted out in this order."""
    return Garden(
        holdings=[],
        holders={
            one: HolderFact(name=f"No. {one.id}", since=date(2024, 1, 1)) for one in PLANTS[1:]
        },
        events=[
            DayFact(kind=EventKind.PLANTED_OUT, on=on, holder=PLANTS[number]) for number in numbers
        ],
    )


def walks(*each: list[int]) -> list[tuple[date, list[Holder]]]:
    return [
        (DAY + timedelta(days=nth), [PLANTS[number] for number in walk])
        for nth, walk in enumerate(each)
    ]


def stands(own: Garden, some: list[tuple[date, list[Holder]]]) -> list[tuple[int, float]]:
    return [(place.holder.id, round(place.share, 3)) for place in bed_order(DAY, own, some).places]


def test_plants_stand_as_they_were_entered():
    assert stands(garden(1, 2, 3, 4), []) == [(1, 1.0), (2, 1.0), (3, 1.0), (4, 1.0)]


def test_one_that_was_not_entered_stands_between_those_that_it_was_met_between():
    assert stands(garden(1, 2, 3, 5, 6, 7), walks([2, 3, 4, 5, 6])) == [
        (number, 1.0) for number in range(1, 8)
    ]


def test_a_walk_the_other_way_says_the_same():
    assert stands(garden(1, 2, 3, 5, 6, 7), walks([6, 5, 4, 3, 2])) == [
        (number, 1.0) for number in range(1, 8)
    ]


def test_two_side_by_side_that_were_not_entered_are_put_in_one_after_the_other():
    own = garden(1, 2, 3, 6, 7, 8)
    assert [number for number, _ in stands(own, walks([2, 3, 4, 5, 6, 7], [1, 2, 4, 6, 8]))] == [
        *range(1, 9)
    ]


def test_where_walks_leave_it_open_it_has_several_places():
    """Met between 3 and 6, with 5 passed by: before or after 5."""
    found = stands(garden(1, 2, 3, 5, 6, 7), walks([2, 3, 4, 6, 7]))
    likely = [(number, share) for number, share in found if share > 0.1]
    assert [number for number, _ in likely] == [1, 2, 3, 4, 5, 4, 6, 7]
    assert [share for number, share in likely if number == 4] == pytest.approx([0.5] * 2, abs=0.1)
    assert sum(share for number, share in found if number == 4) == pytest.approx(1.0, abs=0.01)


def test_one_before_the_first_is_put_before_it():
    found = stands(garden(2, 3, 4, 5, 6), walks([1, 2, 3, 4], [1, 3, 4, 5], [1, 2, 4, 5]))
    assert found[0][0] == 1
    assert found[0][1] > 0.5


def test_what_was_never_met_has_no_place():
    assert 4 not in dict(stands(garden(1, 2, 3, 5, 6), walks([1, 2, 3, 5, 6])))


def test_entries_changed_over_are_put_right_where_several_walks_say_so():
    own = garden(1, 2, 4, 3, 5, 6)
    found = stands(own, walks([1, 2, 3, 4, 5, 6], [1, 2, 3, 4, 5, 6]))
    assert found == [(number, 1.0) for number in range(1, 7)]


def test_one_walk_against_the_entries_leaves_both_ways_open():
    found = stands(garden(1, 2, 3, 4, 5, 6), walks([1, 2, 4, 3, 5, 6]))
    assert found == [(1, 1.0), (2, 1.0), (3, 0.5), (4, 1.0), (3, 0.5), (5, 1.0), (6, 1.0)]


def test_a_walk_that_did_not_follow_the_bed_says_nothing():
    own = garden(1, 2, 3, 5, 6, 7)
    assert 4 not in dict(stands(own, walks([6, 1, 4, 3, 7, 2, 5])))


def test_last_years_bed_is_another():
    own = garden(1, 2, 3, on=date(2024, 5, 14))
    assert stands(own, []) == []
    assert planting_days(DAY, own) == ()


def test_where_walks_don_t_follow_the_entries_they_alone_give_the_order():
    """Entered by their tags' numbers, but they stand otherwise: each walk passes three in four."""
    stand = [7, 2, 9, 4, 1, 11, 5, 12, 3, 8, 10, 6]
    own = garden(*range(1, 13))
    some = walks(*([one for n, one in enumerate(stand) if (n + nth) % 4] for nth in range(8)))
    bed = bed_order(DAY, own, some)
    assert not bed.entered
    found = [place.holder.id for place in bed.places]
    assert found in (stand, stand[::-1])


def test_walks_that_follow_the_entries_leave_them_their_order():
    bed = bed_order(DAY, garden(*range(1, 13)), walks([1, 2, 4, 5, 6, 8, 9, 10, 11, 12]))
    assert bed.entered
