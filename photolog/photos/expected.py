"""How probable it is that a plant is photographed by a grower who walks past it on a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Literal

from photolog.photos.along import Place
from photolog.photos.contradictions import spoken_against
from photolog.photos.facts import Shows
from photolog.photos.garden import Garden, Holder
from photolog.photos.orders import day_order
from photolog.photos.visits import Round
from photolog.terms import EventKind

__all__ = ["Expected"]

_Standing = Literal["entered", "open", "unknown", "later", "ruled out"]

# How probable it is that a plant is photographed, and how many plants' worth that expectation
# weighs before the day's sure photos have shown how it is (judgement, no source). Entered: the day
# book has its first bloom, or its lifting, on that day. Open: it was in bloom before. Later: the
# day book has its first bloom, or its lifting, on another day.
_PRIOR: Mapping[Shows, Mapping[_Standing, float]] = {
    "bloom": {"entered": 0.9, "open": 0.65, "unknown": 0.3, "later": 0.05, "ruled out": 0.01},
    "clump": {"entered": 0.9, "open": 0.5, "unknown": 0.5, "later": 0.01, "ruled out": 0.01},
}
_PRIOR_PLANTS = 6.0
_LEAST, _MOST = 0.005, 0.97

_A_SEASON = timedelta(days=200)
_SAME_LIFTING = timedelta(days=40)
_DAY = timedelta(days=1)
# Places between two sure visits that are further apart were perhaps not walked past.
_WALKED_PAST = 40


class Expected:
    """What is expected of a garden's plants on each day, learnt from that day's sure visits."""

    def __init__(self, every: Sequence[Round], garden: Garden) -> None:
        self._garden = garden
        self._standings: dict[tuple[date, Shows], dict[Holder, _Standing]] = {}
        self._sure: dict[Shows, dict[Holder, list[date]]] = {"bloom": {}, "clump": {}}
        self._rounds: dict[tuple[date, Shows], list[Round]] = {}
        for one in every:
            if one.shows is None:
                continue
            self._rounds.setdefault((one.day, one.shows), []).append(one)
            for holder in one.sure:
                self._sure[one.shows].setdefault(holder, []).append(one.day)

    def on(
        self, day: date, shows: Shows, order: Sequence[Place], others: Iterable[Holder]
    ) -> dict[Holder, float]:
        """The probabilities for the plants of an order, and for others that may be shown too."""
        standings = self._standings.get((day, shows))
        if standings is None:
            entered = frozenset(day_order(day, shows, self._garden))
            every = dict.fromkeys((*self._garden.holders, *(place.holder for place in order)))
            standings = {one: self._standing(one, day, shows, entered) for one in every}
            self._standings[day, shows] = standings
        shares = self._learnt(day, shows, order, standings)
        asked = (*(place.holder for place in order), *others)
        return {holder: shares[standings.get(holder, "unknown")] for holder in asked}

    def _standing(
        self, holder: Holder, day: date, shows: Shows, entered: frozenset[Holder]
    ) -> _Standing:
        against = spoken_against(
            holder, shows=shows, taken_at=datetime.combine(day, time(12)), garden=self._garden
        )
        if against is not None and not against.missing:
            return "ruled out"
        if shows == "clump":
            return self._lifted(holder, day, entered)
        return self._in_bloom(holder, day)

    def _lifted(self, holder: Holder, day: date, entered: frozenset[Holder]) -> _Standing:
        if holder in entered:
            return "entered"
        entries = self._garden.events_of(holder)
        lifted = [abs(one.on - day) for one in entries if one.kind is EventKind.LIFTED]
        return "later" if lifted and _DAY < min(lifted) < _SAME_LIFTING else "unknown"

    def _in_bloom(self, holder: Holder, day: date) -> _Standing:
        entries = self._garden.events_of(holder)
        first = [
            one.on
            for one in entries
            if one.kind is EventKind.FIRST_BLOOM and abs(one.on - day) < _A_SEASON
        ]
        if day in first:
            return "entered"
        seen = self._sure["bloom"].get(holder, ())
        if any(day - _A_SEASON < on < day for on in (*seen, *first)):
            return "open"
        return "later" if first else "unknown"

    def _learnt(
        self,
        day: date,
        shows: Shows,
        order: Sequence[Place],
        standings: Mapping[Holder, _Standing],
    ) -> dict[_Standing, float]:
        """The share of each standing that was photographed, of those walked past that day."""
        at = {place.holder: n for n, place in enumerate(order) if place.share > 0.5}
        past: dict[_Standing, float] = {}
        shown: dict[_Standing, float] = {}
        sure_all: set[Holder] = set()
        n_sure = n_visits = 0
        for one in self._rounds.get((day, shows), ()):
            sure_all.update(one.sure)
            n_sure += len(one.sure)
            n_visits += len(one.groups)
        counted: set[Holder] = set()
        for one in self._rounds.get((day, shows), ()):
            places = [at[holder] for holder in one.sure if holder in at]
            for here, there in pairwise(places):
                if not 0 < abs(there - here) <= _WALKED_PAST:
                    continue
                low, high = min(here, there), max(here, there)
                for place in order[low : high + 1]:
                    if place.holder in counted or place.share <= 0.5:
                        continue
                    counted.add(place.holder)
                    standing = standings.get(place.holder, "unknown")
                    past[standing] = past.get(standing, 0.0) + 1.0
                    if place.holder in sure_all:
                        shown[standing] = shown.get(standing, 0.0) + 1.0
        share_sure = max(n_sure, 1) / max(n_visits, 1)
        found: dict[_Standing, float] = {}
        for standing, prior in _PRIOR[shows].items():
            seen = shown.get(standing, 0.0) / share_sure + prior * _PRIOR_PLANTS
            share = seen / (past.get(standing, 0.0) + _PRIOR_PLANTS)
            found[standing] = min(max(share, _LEAST), _MOST)
        return found
