"""A day's photos laid along an order of plants: what was lifted, or how they stand in the bed.

Between two visits that are sure, those whose tag could not be read must lie somewhere along the
order. Forward and backward sums over a hidden Markov model (Rabiner, Proceedings of the IEEE 77,
1989, section III) give each plant's probability. Every plant along the way is shown or passed by
with a probability of its own; two in a row may be taken the other way round; the grower may begin
anew elsewhere; and what the order does not list may stand anywhere beside it. How often these
happen is learnt from the day's sure visits, so that an order which the grower did not follow says
nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from photolog.photos.along import Aligned, Place, Visit, Walkers, likeliest_places
from photolog.photos.garden import Holder
from photolog.photos.habits import Steps

__all__ = ["align"]

# Two are taken the other way round that are no more than so many places or visits apart (judgement,
# no source). What lies more than so many visits before the first sure one or after the last is left
# out.
_SWAPPED_WITHIN, _PASSED_AT_MOST = 24, 5.0
_BEYOND = 12.0
_UNLISTED_WEIGHT = 20.0
# A plant that has sure photos of its own that day comes up once more in so many visits; one of
# which the book knows nothing stands for so many of those that no place is known for.
_SEEN_ALREADY = 0.005
_UNKNOWN = 0.002
# What the order doesn't list is at most so large a share of the visits, before they show more.
_FORGOTTEN = 0.08
_SHOWN = 0.6

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


def align(visits: Sequence[Visit], order: Sequence[Place], walkers: Walkers) -> Aligned:
    """Lay visits, in the order of their photos, along an order of plants, whichever way it goes."""
    ahead, back = _directions(visits, order)
    if ahead > back + 2:
        return _Chain(order, walkers, visits).laid()
    if back > ahead + 2:
        return _Chain(order[::-1], walkers, visits).laid()
    both = [_Chain(way, walkers, visits).laid() for way in (order, order[::-1])]
    return _mixed(both)


def _mixed(ways: Sequence[Aligned]) -> Aligned:
    """Both ways along the order, each with the weight that the sure visits give it."""
    best = max(way.log_fit for way in ways)
    weights = [float(np.exp(way.log_fit - best)) for way in ways]
    plants = []
    for each in zip(*(way.plants for way in ways), strict=True):
        shares: dict[Holder, float] = {}
        for weight, some in zip(weights, each, strict=True):
            for holder, share in some:
                shares[holder] = shares.get(holder, 0.0) + share * weight / sum(weights)
        plants.append(sorted(shares.items(), key=lambda one: -one[1]))
    return Aligned(
        plants=plants,
        log_fit=best + float(np.log(sum(weights) / len(weights))),
        followed=all(way.followed for way in ways),
    )


def _directions(visits: Sequence[Visit], order: Sequence[Place]) -> tuple[int, int]:
    """How many steps between sure visits go ahead and how many back."""
    at = likeliest_places(order)
    places = [at[one] for one in _sure(visits) if one in at]
    steps = np.diff(places)
    return int((steps > 0).sum()), int((steps < 0).sum())


def _sure(visits: Sequence[Visit]) -> list[Holder]:
    return [one.sure for one in visits if one.sure is not None]


def _near(order: Sequence[Place], visits: Sequence[Visit], walkers: Walkers) -> Sequence[Place]:
    """The part of an order that lies about the sure visits, all of it where there are none.

    Before the first and after the last it goes on for as many places as several visits take.
    """
    at = likeliest_places(order)
    places = [at[one] for one in _sure(visits) if one in at]
    if not places:
        return order
    shown = np.cumsum([place.share * walkers.shown.get(place.holder, _SHOWN) for place in order])
    first, last = min(places), max(places)
    begin = int(np.searchsorted(shown, shown[first] - _BEYOND))
    end = int(np.searchsorted(shown, shown[last] + _BEYOND)) + 1
    return order[min(begin, first) : max(end, last + 1)]


class _State(NamedTuple):
    """How probable each state is: by place, and for two taken the other way round by both places.

    ``there``: at the plant of the place. ``unlisted``: at one that the order doesn't list, met on
    the way on from the place. ``pending``: at the plant of the place, with the one so many places
    back left out and coming next. ``behind``: at that one.
    """

    there: _Array
    unlisted: _Array
    pending: _Array
    behind: _Array

    def scaled(self, divisor: float) -> _State:
        return _State(*(part / divisor for part in self))


class _Chain:
    """The chain of states for one round that goes ahead along an order; place 0 is before it."""

    def __init__(self, order: Sequence[Place], walkers: Walkers, visits: Sequence[Visit]) -> None:
        self.order, self.walkers, self.visits = _near(order, visits, walkers), walkers, visits
        size = len(self.order) + 1
        self.size = size
        shown = np.zeros(size)
        passed = np.ones(size)
        for n, place in enumerate(self.order, 1):
            shown[n] = place.share * walkers.shown.get(place.holder, _SHOWN)
            # What has its sure photos is not passed by: its visit comes before or after.
            passed[n] = 1.0 if place.holder in walkers.seen_already else 1.0 - shown[n]
        self.shown = shown
        self.places_of: dict[Holder, list[int]] = {}
        for n, place in enumerate(self.order, 1):
            self.places_of.setdefault(place.holder, []).append(n)
        self.as_any, self.seen = np.ones(size), np.ones(size)
        for holder in walkers.seen_already & self.places_of.keys():
            self.seen[self.places_of[holder]] = _SEEN_ALREADY
        log_passed = np.concatenate([[0.0], np.cumsum(np.log(np.maximum(passed, 1e-6)))])
        here, there = np.arange(size)[:, None], np.arange(size)[None, :]
        # Passing all that lies between: from the place after ``here`` to the one before ``there``.
        between = np.where(there > here, log_passed[there] - log_passed[here + 1], -np.inf)
        self.walk = shown[None, :] * np.exp(between)
        self.leap = shown / max(float(shown.sum()), 1e-9)
        # Two that are shown one after the other are rarely further apart than this.
        typical = float(np.median(shown[1:])) if size > 1 else 1.0
        back = min(_SWAPPED_WITHIN, size - 1, int(np.ceil(_PASSED_AT_MOST / max(typical, 0.01))))
        self.reached = np.arange(size)[:, None]
        self.left = self.reached - np.arange(1, back + 1)[None, :]
        self.inside = self.left >= 1
        self.left = np.maximum(self.left, 0)
        self.pair = np.where(self.inside, self.walk[self.left, self.reached], 0.0)
        # For each number of places on: the probability to walk from a place to so many further.
        self.on = [(step, np.diagonal(self.walk, step)) for step in range(1, back)]
        ahead = np.arange(size)[:, None] + np.arange(1, back + 1)[None, :]
        self.ahead_in = (ahead < size) & (np.arange(size)[:, None] >= 1)
        self.ahead = np.minimum(ahead, size - 1)
        self.column = np.broadcast_to(np.arange(back)[None, :], ahead.shape)
        at = likeliest_places(self.order)
        steps = Steps.between([at[one] for one in _sure(visits) if one in at])
        self.habits, self.followed = walkers.habits.on(steps), steps.followed
        self.unlisted, self.by_unlisted = self._unlisted()

    def laid(self) -> Aligned:
        """Every visit's plants."""
        emitted = [self._emitted(visit) for visit in self.visits]
        log_fit = 0.0
        states = []
        now = self._all(0.0)._replace(there=np.full(self.size, 1.0 / self.size))
        for n, visit in enumerate(self.visits):
            now = self._step(now, n, *emitted[n])
            total = max(sum(float(part.sum()) for part in now), 1e-300)
            if visit.sure is not None:
                log_fit += float(np.log(total))
            now = now.scaled(total)
            states.append(now)
        plants: list[Sequence[tuple[Holder, float]]] = [()] * len(self.visits)
        later = self._all(1.0)
        for n in range(len(self.visits) - 1, -1, -1):
            if self.visits[n].sure is None:
                plants[n] = self._plants(n, states[n], later)
            later = self._step_back(later, n, *emitted[n])
            later = later.scaled(max(float(part.max()) for part in later))
        return Aligned(plants=plants, log_fit=log_fit, followed=self.followed)

    def _all(self, value: float) -> _State:
        one, two = np.full(self.size, value), np.full(self.pair.shape, value)
        return _State(one, one, two, two)

    def _step(self, state: _State, n: int, fits: _Array, fits_unlisted: float) -> _State:
        there, unlisted, pending, behind = state
        again = self.visits[n].again if n else 0.0
        anew = self._anew(n)
        leaving = there + unlisted + behind.sum(axis=1)
        listed = (1.0 - again) * (1.0 - self.unlisted)
        walked = listed * (1.0 - self.habits.leapt) * (leaving @ self.walk)
        leapt = listed * self.habits.leapt * float(leaving.sum()) * self.leap
        new_there = again * there + ((1.0 - self.habits.swapped) * walked + leapt) * anew
        new_unlisted = again * unlisted + (1.0 - again) * self.unlisted * leaving
        ahead = self.habits.swapped * walked[self.left] * self.pair
        new = (1.0 - again) * pending
        new_pending = (
            again * pending + (ahead + self.habits.later * self._walked_on(new)) * anew[:, None]
        )
        new_behind = again * behind + (1.0 - self.habits.later) * new * anew[self.left]
        return _State(
            new_there * fits,
            new_unlisted * fits_unlisted,
            new_pending * fits[:, None],
            new_behind * fits[self.left],
        )

    def _step_back(self, later: _State, n: int, fits: _Array, fits_unlisted: float) -> _State:
        there = later.there * fits
        unlisted = later.unlisted * fits_unlisted
        pending = later.pending * fits[:, None]
        behind = later.behind * fits[self.left]
        again = self.visits[n].again if n else 0.0
        anew = self._anew(n)
        arrived = pending * anew[:, None]
        swap = self.pair * arrived
        first_left = np.where(self.ahead_in, swap[self.ahead, self.column], 0.0).sum(axis=1)
        going_on = self.walk @ (
            (1.0 - self.habits.swapped) * there * anew + self.habits.swapped * first_left
        )
        leaving = (1.0 - self.unlisted) * (
            (1.0 - self.habits.leapt) * going_on
            + self.habits.leapt * float(self.leap @ (there * anew))
        ) + self.unlisted * unlisted
        leaving = (1.0 - again) * leaving
        return _State(
            again * there + leaving,
            again * unlisted + leaving,
            again * pending
            + (1.0 - again)
            * (
                (1.0 - self.habits.later) * behind * anew[self.left]
                + self.habits.later * self._walked_on_back(arrived)
            ),
            again * behind + leaving[:, None],
        )

    def _walked_on(self, pending: _Array) -> _Array:
        """One left out still waits while the grower walks on to a further place."""
        found = np.zeros_like(pending)
        for step, walked in self.on:
            found[step:, step:] += pending[:-step, :-step] * walked[:, None]
        return found

    def _walked_on_back(self, arrived: _Array) -> _Array:
        found = np.zeros_like(arrived)
        for step, walked in self.on:
            found[:-step, :-step] += arrived[step:, step:] * walked[:, None]
        return found

    def _anew(self, n: int) -> _Array:
        """How improbable it is that a visit comes to a place whose plant has its photos.

        Not where it still is there from the visit before, nor where its sure visit comes next.
        """
        if self.visits[n].sure is not None:
            return self.as_any
        after = next((one.sure for one in self.visits[n + 1 :] if one.sure is not None), None)
        if after is None or after not in self.places_of:
            return self.seen
        anew = self.seen.copy()
        anew[self.places_of[after]] = 1.0
        return anew

    def _plants(self, n: int, state: _State, later: _State) -> list[tuple[Holder, float]]:
        there, unlisted, pending, behind = (
            one * other for one, other in zip(state, later, strict=True)
        )
        at = there + pending.sum(axis=1)
        np.add.at(at, self.left[self.inside], behind[self.inside])
        beside = float(unlisted.sum())
        total = float(at.sum()) + beside
        shares: dict[Holder, float] = {}
        for place in np.argsort(-at, kind="stable")[:12]:
            if place > 0:
                holder = self.order[place - 1].holder
                shares[holder] = shares.get(holder, 0.0) + float(at[place]) / total
        for holder, share in self._who_unlisted(self.visits[n]):
            shares[holder] = shares.get(holder, 0.0) + beside / total * share
        return sorted(shares.items(), key=lambda one: -one[1])[:8]

    def _emitted(self, visit: Visit) -> tuple[_Array, float]:
        """How well a visit fits each place, and a plant that the order doesn't list."""
        if visit.sure is not None:
            found = np.zeros(self.size)
            found[self.places_of.get(visit.sure, [])] = 1.0
            return found, float(visit.sure not in self.places_of)
        found = np.ones(self.size)
        fits = visit.likelihood or {}
        for holder, share in fits.items():
            for n in self.places_of.get(holder, ()):
                found[n] *= share
        return found, sum(part for _, part in self._fitting(visit))

    def _who_unlisted(self, visit: Visit) -> list[tuple[Holder, float]]:
        parts = self._fitting(visit)
        total = sum(part for _, part in parts)
        return [(holder, part / total) for holder, part in parts if holder is not None]

    def _fitting(self, visit: Visit) -> list[tuple[Holder | None, float]]:
        """What the order doesn't list, by how often it comes and how well the visit fits."""
        fits = visit.likelihood or {}
        return [
            (holder, share * fits.get(holder, 1.0) if holder is not None else share)
            for holder, share in self.by_unlisted
        ]

    def _unlisted(self) -> tuple[float, list[tuple[Holder | None, float]]]:
        """How often a visit is of what the order doesn't list, and whose share in it is how much.

        None: a plant that nothing is known of.
        """
        elsewhere = {
            holder: share
            for holder, share in self.walkers.elsewhere.items()
            if holder not in self.walkers.seen_already
        }
        sure = _sure(self.visits)
        n_unlisted = sum(holder not in self.places_of for holder in sure)
        every = max(float(self.shown.sum()), 1.0)
        expected = min(sum(elsewhere.values()) / every, _FORGOTTEN) + _UNKNOWN
        often = (n_unlisted + _UNLISTED_WEIGHT * expected) / (len(sure) + _UNLISTED_WEIGHT)
        shares: dict[Holder | None, float] = {None: _UNKNOWN * every}
        shares.update(elsewhere.items())
        total = sum(shares.values())
        return min(often, 0.9), [(holder, share / total) for holder, share in shares.items()]
