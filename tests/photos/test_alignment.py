"""Visits laid along an order of plants, against all ways to lay them counted out by hand."""

import pytest

from photolog.photos.alignment import align
from photolog.photos.along import Place, Visit, Walkers
from photolog.photos.garden import Holder

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


# The probabilities below are written out from what the module says of itself, path by path.
SWAPPED, LEAPT, LATER, UNKNOWN = 1.0 / (30 + 3), 0.5 / (25 + 3), 0.1, 0.002


def every_path(visits, shown, seen, *, elsewhere):
    """Sums over all ways to walk ahead along places 1 to N, each way followed to its end.

    A state is (where the grower has got to, whom the camera is at, who was left out and comes
    later); at 0 the camera is at a plant beside the order.
    """
    size = len(shown)
    passed = [1.0] + [1.0 if n in seen else 1.0 - shown[n - 1] for n in range(1, size + 1)]
    every = sum(shown)
    total_elsewhere = elsewhere + UNKNOWN * every
    beside = 20 * (min(elsewhere / every, 0.08) + UNKNOWN) / (20 + 4)

    def walk(here, there):
        between = 1.0
        for n in range(here + 1, there):
            between *= passed[n]
        return shown[there - 1] * between if there > here else 0.0

    def steps(state):
        """Each state that may follow, and its probability; whether its plant came up anew."""
        reached, _, left = state
        if left:
            yield (reached, left, None), 1.0 - LATER
            for there in range(reached + 1, size + 1):
                yield (there, there, left), LATER * walk(reached, there)
            return
        yield (reached, 0, None), beside
        listed = 1.0 - beside
        for there in range(1, size + 1):
            yield (
                (there, there, None),
                listed
                * (
                    (1.0 - LEAPT) * (1.0 - SWAPPED) * walk(reached, there)
                    + LEAPT * shown[there - 1] / every
                ),
            )
            for left_out in range(reached + 1, there):
                yield (
                    (there, there, left_out),
                    listed
                    * (1.0 - LEAPT)
                    * SWAPPED
                    * walk(reached, left_out)
                    * walk(left_out, there),
                )

    found = [{} for _ in visits]

    def follow(n, state, probability, at):
        if n == len(visits):
            for visit, place in zip(found, at, strict=True):
                visit[place] = visit.get(place, 0.0) + probability
            return
        sure, fits, again, next_sure = visits[n]

        def fit(place):
            if sure:
                return float(place == sure)
            if place == 0:
                return (elsewhere * fits.get("elsewhere", 1.0) + UNKNOWN * every) / total_elsewhere
            return fits.get(place, 1.0)

        for following, share in steps(state):
            place = following[1]
            anew = 0.005 if not sure and place in seen and place != next_sure else 1.0
            now = probability * share * (1.0 - again) * anew * fit(place)
            if now > 0.0:
                follow(n + 1, following, now, [*at, place])
        if again and n:
            now = probability * again * fit(state[1])
            if now > 0.0:
                follow(n + 1, state, now, [*at, state[1]])

    for begin in range(size + 1):
        follow(0, (begin, 0, None), 1.0 / (size + 1), [])
    return [
        {place: share / sum(visit.values()) for place, share in visit.items()} for visit in found
    ]


def test_shares_agree_with_every_path_followed_by_itself():
    shown = [0.6, 0.7, 0.5, 0.8, 0.3, 0.6, 0.9]
    order = ORDER[: len(shown)]
    stranger = Holder("plant", 99)
    visits = [
        Visit(sure=order[0]),
        Visit(sure=order[1]),
        Visit(likelihood={order[2]: 3.0, order[3]: 2.0, order[1]: 5.0, stranger: 8.0}),
        Visit(sure=order[4], again=0.1),
        Visit(likelihood={order[4]: 2.0, order[5]: 0.5}, again=0.3),
        Visit(sure=order[6]),
    ]
    seen = {1, 2, 5, 7}
    walkers = Walkers(
        shown=dict(zip(order, shown, strict=True)),
        elsewhere={stranger: 0.3},
        seen_already=frozenset(order[n - 1] for n in seen),
    )
    aligned = align(visits, [Place(holder=holder) for holder in order], walkers)
    by_hand = every_path(
        [
            (1, {}, 0.0, None),
            (2, {}, 0.0, None),
            (None, {2: 5.0, 3: 3.0, 4: 2.0, "elsewhere": 8.0}, 0.0, 5),
            (5, {}, 0.1, None),
            (None, {5: 2.0, 6: 0.5}, 0.3, 7),
            (7, {}, 0.0, None),
        ],
        shown,
        seen,
        elsewhere=0.3,
    )
    for n in (2, 4):
        shares = dict(aligned.plants[n])
        for place, holder in enumerate(order, 1):
            assert shares.get(holder, 0.0) == pytest.approx(by_hand[n].get(place, 0.0), abs=1e-9)
        of_stranger = shares.get(stranger, 0.0)
        assert 0.0 < of_stranger < by_hand[n][0] + 1e-12
