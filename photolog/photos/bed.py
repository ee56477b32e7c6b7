"""How the plants of a season stand in the bed, from planting entries and from who was met where."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

import numpy as np

from photolog.photos.along import Place
from photolog.photos.garden import Garden, Holder
from photolog.photos.walked import walked_order
from photolog.terms import EventKind

__all__ = ["Bed", "Walk", "bed_order", "planting_days"]

Walk = tuple[date, Sequence[Holder]]
"""A day, and the plants of its photos or entries in their order, as far as they are sure."""

_SEASON = timedelta(days=330)
# Neighbours in a walk that are further apart in the bed say nothing of what stands between them.
_NEIGHBOURS = 12
# A walk follows the bed if so many of its steps go one way; in so many of those that do, two were
# taken the other way round (judgement, no source).
_FOLLOWED, _OTHER_WAY_ROUND, _ELSEWHERE = 0.75, 0.04, 0.0005
# Of what was met before the first or after the last that has a place, how much less likely each
# further place is.
_PASSED_BY = 0.5
# Where a plant most probably stands is taken for its place from the first share on; others of its
# places count down to the second, relative to the likeliest, and so many at most.
_PLACED, _LEAST, _MOST_PLACES = 0.9, 0.01, 10
_PASSES = 12
# Entries are in order but for few, and walks too: two walks more that met two plants the other way
# round than their entries have it change them over; one more leaves both ways open.
_CHANGED_OVER = 2
# Walks with fewer sure visits say nothing of whether the entries are in order.
_LONG_WALK = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """The plants of a season as they stand; ``entered``: by planting entries, not walks alone."""

    places: Sequence[Place] = ()
    entered: bool = True


def planting_days(day: date, garden: Garden) -> tuple[date, ...]:
    """The days on which the plants of a day's season were planted out: its bed is told by them."""
    return tuple(
        on
        for on in sorted(on for on in garden.events_by_day if day - _SEASON <= on <= day)
        if any(entry.kind is EventKind.PLANTED_OUT for entry in garden.events_by_day[on])
    )


def bed_order(day: date, garden: Garden, walks: Sequence[Walk]) -> Bed:
    """The plants of the season that a day is in, as they stand.

    They stand in the order in which they were planted out. What was not entered is put between
    those that it was met between in the season's walks: where these don't say it to the place,
    it has several, each with its probability. What was never met has none. Where most walks don't
    follow the entries, as in rows walked to and fro, the walks alone give the order.
    """
    planted: dict[Holder, tuple[date, int]] = {}
    for on in planting_days(day, garden):
        for nth, entry in enumerate(garden.events_by_day[on]):
            if entry.kind is EventKind.PLANTED_OUT and entry.holder is not None:
                planted[entry.holder] = (on, nth)
    if not planted:
        return Bed()
    order = sorted(planted, key=lambda one: planted[one])
    first = min(on for on, _ in planted.values())
    season = [walk for on, walk in walks if first <= on <= first + _SEASON]
    entered = _mostly_followed(order, season)
    if not entered:
        order = walked_order(season)
    order = _put_right(order, _Met(order, season))
    shares: dict[Holder, list[tuple[int, float]]] = {}
    for _ in range(_PASSES):
        shares = _places_of_others(order, season)
        sure = {
            max(places, key=lambda one: one[1])[0]: holder
            for holder, places in shares.items()
            if max(share for _, share in places) >= _PLACED
        }
        if not sure:
            break
        # One at each place at a time: the next pass says on which side of it another stands.
        for slot, holder in sorted(sure.items(), reverse=True):
            order.insert(slot, holder)
        order = _put_right(order, _Met(order, season))
    found = _with_doubtful(order, _Met(order, season))
    for holder, places in shares.items():
        if holder not in order:
            found += [(float(slot), Place(holder=holder, share=share)) for slot, share in places]
    found.sort(key=lambda one: one[0])
    return Bed(places=[place for _, place in found], entered=entered)


def _mostly_followed(order: Sequence[Holder], walks: Sequence[Sequence[Holder]]) -> bool:
    place = {holder: n for n, holder in enumerate(order)}
    long = [walk for walk in walks if len(walk) >= _LONG_WALK]
    return 2 * sum(bool(_along(walk, place)) for walk in long) >= len(long)


def _along(walk: Sequence[Holder], place: Mapping[Holder, int]) -> Sequence[Holder]:
    """The walk in the direction of the order; empty where it did not follow it."""
    places = [place[one] for one in walk if one in place]
    ahead = sum(one < other for one, other in pairwise(places))
    steps = max(len(places) - 1, 1)
    if max(ahead, steps - ahead) < _FOLLOWED * steps:
        return ()
    return walk if 2 * ahead >= steps else walk[::-1]


def _places_of_others(
    order: Sequence[Holder], walks: Sequence[Sequence[Holder]]
) -> dict[Holder, list[tuple[int, float]]]:
    """Where those that are not in the order stand: before which place, and how probably."""
    place = {holder: n for n, holder in enumerate(order)}
    size = len(order) + 1
    log_share: dict[Holder, np.ndarray[tuple[int, ...], np.dtype[np.float64]]] = {}
    slots = np.arange(size)
    for walk in walks:
        if all(one in place for one in walk):
            continue
        along = _along(walk, place)
        for n, one in enumerate(along):
            if one in place:
                continue
            before = next((place[other] for other in along[n - 1 :: -1] if other in place), None)
            before = before if n else None
            after = next((place[other] for other in along[n + 1 :] if other in place), None)
            fits = np.full(size, _ELSEWHERE)
            if before is not None and after is not None:
                if not 0 < after - before <= _NEIGHBOURS:
                    continue
                fits[max(before, 0) : after + 2] = _OTHER_WAY_ROUND
                fits[before + 1 : after + 1] = 1.0
            elif after is not None:
                fits[after + 1 : after + 2] = _OTHER_WAY_ROUND
                back = after - slots[: after + 1]
                fits[: after + 1] = np.maximum(_PASSED_BY**back, _ELSEWHERE)
            elif before is not None:
                fits[before : before + 1] = _OTHER_WAY_ROUND
                on = slots[before + 1 :] - before - 1
                fits[before + 1 :] = np.maximum(_PASSED_BY**on, _ELSEWHERE)
            else:
                continue
            log_share[one] = log_share.get(one, np.zeros(size)) + np.log(fits)
    found = {}
    for holder, logs in log_share.items():
        share = np.exp(logs - logs.max())
        best = [int(slot) for slot in np.argsort(-share, kind="stable")[:_MOST_PLACES]]
        kept = [slot for slot in best if share[slot] >= _LEAST]
        total = float(share[kept].sum())
        found[holder] = [(slot, float(share[slot]) / total) for slot in kept]
    return found


class _Met:
    """In how many walks one plant came before another, each walk in the direction of the order."""

    def __init__(self, order: Sequence[Holder], walks: Sequence[Sequence[Holder]]) -> None:
        place = {holder: n for n, holder in enumerate(order)}
        self._at: dict[Holder, dict[int, int]] = {}
        for number, walk in enumerate(walks):
            for n, one in enumerate(_along(walk, place)):
                self._at.setdefault(one, {}).setdefault(number, n)

    def more_often_before(self, one: Holder, other: Holder) -> int:
        """In how many more walks ``one`` came before ``other`` than after it."""
        mine, others = self._at.get(one, {}), self._at.get(other, {})
        return sum(1 if mine[n] < others[n] else -1 for n in mine.keys() & others.keys())


def _put_right(order: Sequence[Holder], met: _Met) -> list[Holder]:
    """The order with neighbours changed over where most walks met them the other way round."""
    order = list(order)
    for _ in range(_PASSES):
        changed = False
        for n in range(len(order) - 1):
            if met.more_often_before(order[n + 1], order[n]) >= _CHANGED_OVER:
                order[n], order[n + 1] = order[n + 1], order[n]
                changed = True
        if not changed:
            break
    return order


def _with_doubtful(order: Sequence[Holder], met: _Met) -> list[tuple[float, Place]]:
    """Places at whole numbers and a half; a plant that one walk more met the other way has two."""
    found: list[tuple[float, Place]] = []
    for n, one in enumerate(order):
        after = order[n + 1] if n + 1 < len(order) else None
        if after is not None and met.more_often_before(after, one) > 0:
            found.append((n + 0.5, Place(holder=one, share=0.5)))
            found.append((n + 1.75, Place(holder=one, share=0.5)))
        else:
            found.append((n + 0.5, Place(holder=one)))
    return found
