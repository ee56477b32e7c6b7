"""Visits laid along an order of plants, against all ways to lay them counted out by hand."""

import pytest

from photolog.photos.alignment import align
from photolog.photos.along import Place, Visit, Walkers
from photolog.photos.facts import Holder

ORDER = [Holder("plant", number) for number in range(1, 21)]
PLACES = [Place(holder=holder) for holder in ORDER]


def laid(*numbers, seen=(), unlikely=None):
    """Visits in a row; None: its tag failed."""
    visits = [
        Visit(sure=ORDER[number - 1])
        if number
        else Visit(likelihood={ORDER[n - 1]: p for n, p in (unlikely or {}).items()})
        for number in numbers
    ]
    return align(visits, PLACES, Walkers(seen_already=frozenset(ORDER[n - 1] for n in seen)))


def best(aligned, n):
    holder, share = aligned.plants[n][0]
    return holder.id, share


def test_the_one_left_out_between_two_is_found():
    walk = [1, 2, 3, 4, 5, 6, 7, 8, None, 10, 11, 12, 13, 14]
    number, share = best(laid(*walk, seen=[n for n in walk if n]), 8)
    assert number == 9
    assert share > 0.95


def test_few_sure_visits_leave_it_open():
    number, share = best(laid(1, None, 3), 1)
    assert number == 2
    assert share < 0.95


def test_a_walk_the_other_way_is_understood():
    walk = [14, 13, 12, 11, 10, None, 8, 7, 6, 5, 4]
    number, share = best(laid(*walk, seen=[n for n in walk if n]), 5)
    assert number == 9
    assert share > 0.9


def test_two_left_out_and_one_photographed_is_a_choice():
    walk = [1, 2, 3, 4, 5, 6, 7, None, 10, 11, 12, 13, 14]
    plants = dict(laid(*walk, seen=[n for n in walk if n]).plants[7])
    assert plants[ORDER[7]] == pytest.approx(plants[ORDER[8]], rel=0.05)
    assert max(plants.values()) < 0.6


def test_what_is_seen_decides_between_two():
    walk = [1, 2, 3, 4, 5, 6, 7, None, 10, 11, 12, 13, 14]
    number, share = best(laid(*walk, seen=[n for n in walk if n], unlikely={8: 0.01, 9: 20.0}), 7)
    assert number == 9
    assert share > 0.95


def test_an_order_that_was_not_followed_says_nothing():
    walk = [5, 17, 2, 11, 8, 19, None, 3, 14, 9, 20, 1]
    followed = [1, 2, 3, 4, 5, 6, None, 8, 9, 10, 11, 12]
    lost = laid(*walk, seen=[n for n in walk if n])
    found = laid(*followed, seen=[n for n in followed if n])
    assert best(lost, 6)[1] < 0.5
    assert lost.log_fit < found.log_fit - 10.0


def test_plants_not_in_the_order_take_their_share():
    """A third of the sure visits are of plants that are not listed: the next may be one more."""
    other = [Holder("plant", 100 + number) for number in range(6)]
    visits = []
    for n in range(6):
        visits += [Visit(sure=ORDER[2 * n]), Visit(sure=ORDER[2 * n + 1]), Visit(sure=other[n])]
    visits += [Visit(), Visit(sure=ORDER[13])]
    known, all_listed = (
        align(some, PLACES, Walkers())
        for some in (visits, [one for one in visits if one.sure not in other])
    )
    unlisted, with_all_listed = (
        1.0 - sum(share for _, share in one.plants[-2]) for one in (known, all_listed)
    )
    assert unlisted > 2.0 * with_all_listed > 0.0


def test_a_further_shot_of_the_same_plant_stays_with_it():
    visits = [Visit(sure=ORDER[n]) for n in range(10)] + [Visit(again=0.99)]
    aligned = align(visits, PLACES, Walkers(seen_already=frozenset(ORDER[:10])))
    assert aligned.plants[-1][0] == (ORDER[9], pytest.approx(0.99, abs=0.01))
