"""Two orders laid along each other: the visits of an afternoon, and the entries of its day.

Global alignment by forward and backward sums over a pair hidden Markov model (Durbin, Eddy, Krogh
and Mitchison, Biological Sequence Analysis, 1998, chapter 4): entries without a photo and photos
without an entry are its gaps, a plant shot again stays where it is. Both orders are taken whole,
from the first entry to the last, so that it says something even where hardly a tag was read.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

import numpy as np

from photolog.photos.garden import DayFact, Holder

__all__ = ["Habits", "Laid", "lay_along"]

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]

# How often untimed entries are in the order opposite to the photos (judgement, no source).
_OPPOSITE = 0.04
# An entry whose plant another camera has, or that has its own sure photo, mostly has no other.
_SEEN_ELSEWHERE = 0.9
_MOST_GAPS = 0.95
# How many visits what is expected of a grower weighs against those that are sure.
_EXPECTED_VISITS = 40.0
# An entry's hour is of when it was done, give or take so much.
_HOUR_WITHIN_S, _HOUR_MEANS_NOTHING = 240.0, 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """How a grower's photos follow the entries: shares of what goes otherwise.

    A plant entered has no photo that day; a photo's plant has no entry; two neighbours are taken
    the other way round; one is taken out of turn altogether. What is expected before a garden has
    shown anything is judgement (no source).
    """

    no_photo: float = 0.03
    no_entry: float = 0.03
    other_way_round: float = 0.015
    out_of_turn: float = 0.01

    @classmethod
    def learnt(cls, days: Iterable[tuple[Sequence[Holder], Sequence[Holder]]]) -> Habits:
        """What the sure visits of some days show, weighed with what is expected.

        Each day has the plants entered in order, and the plants of its visits one after the other
        as far as they are sure.
        """
        passed = unlisted = swapped = astray = steps = visits = 0.0
        for entered, seen in days:
            place = {holder: n for n, holder in enumerate(entered)}
            visits += len(seen)
            unlisted += sum(holder not in place for holder in seen)
            places = [place[holder] for holder in seen if holder in place]
            if sum(after < before for before, after in pairwise(places)) > len(places) / 2:
                places.reverse()
            met = set(places)
            for before, after in pairwise(places):
                steps += 1.0
                if after == before - 1:
                    swapped += 1.0
                elif after < before:
                    astray += 1.0
                else:
                    passed += sum(n not in met for n in range(before + 1, after))
        expected = cls()
        return cls(
            no_photo=_weighed(expected.no_photo, passed, steps + passed),
            no_entry=_weighed(expected.no_entry, unlisted, visits),
            other_way_round=_weighed(expected.other_way_round, swapped, steps),
            out_of_turn=_weighed(expected.out_of_turn, astray, steps),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Laid:
    """One visit for ``lay_along``: whose it surely is (None: unknown), when it was, what fits it.

    ``fits`` is how well what is seen fits a plant, relative to any; unnamed ones fit as any.
    ``again``: the probability that it is of the same plant as the visit before it.
    """

    at: datetime | None = None
    sure: Holder | None = None
    fits: Mapping[Holder, float] | None = None
    again: float = 0.0


def lay_along(
    visits: Sequence[Laid],
    entries: Sequence[DayFact],
    *,
    elsewhere: frozenset[Holder] = frozenset(),
    habits: Habits | None = None,
) -> list[dict[Holder, float]]:
    """Each visit's plants with their probability, the visits in the order of their photos.

    ``entries`` are one day's, each of one plant or batch, in the order of lifting as entered;
    ``elsewhere`` are plants that other photos are surely of. What is missing to 1 is the
    probability that the plant has no entry.
    """
    habits = _on_that_day(habits or Habits(), visits, entries, elsewhere)
    timed = all(entry.at is not None for entry in entries)
    ways = [(entries, 1.0)] if timed else [(entries, 1.0 - _OPPOSITE), (entries[::-1], _OPPOSITE)]
    laid = [
        (weight, *_Lattice(visits, order, elsewhere, habits, timed=timed).posterior())
        for order, weight in ways
    ]
    best = max(log_fit for _, log_fit, _ in laid)
    weights = [weight * float(np.exp(log_fit - best)) for weight, log_fit, _ in laid]
    total = sum(weights)
    found: list[dict[Holder, float]] = [{} for _ in visits]
    for weight, (_, _, shares) in zip(weights, laid, strict=True):
        for mixed, share in zip(found, shares, strict=True):
            for holder, value in share.items():
                mixed[holder] = mixed.get(holder, 0.0) + weight / total * value
    return found


def _on_that_day(
    habits: Habits,
    visits: Sequence[Laid],
    entries: Sequence[DayFact],
    elsewhere: frozenset[Holder],
) -> Habits:
    """The habits, with as many gaps at least as the day's two counts say that there are."""
    plants = sum(1.0 - (visit.again if nth else 0.0) for nth, visit in enumerate(visits))
    entered = sum(entry.holder not in elsewhere for entry in entries)
    return replace(
        habits,
        no_photo=min(max(habits.no_photo, 1.0 - plants / max(entered, 1)), _MOST_GAPS),
        no_entry=min(max(habits.no_entry, 1.0 - entered / plants), _MOST_GAPS),
    )


class _Lattice:
    """The model's states, four for each place in the order; place 0 is before the first entry.

    At a place (its plant); after a place, at a plant without an entry; at the plant after the
    place, taken before its neighbour; and at the neighbour, taken then. A state vector has these
    one after the other, as (4, places).
    """

    def __init__(
        self,
        visits: Sequence[Laid],
        order: Sequence[DayFact],
        elsewhere: frozenset[Holder],
        habits: Habits,
        *,
        timed: bool,
    ) -> None:
        self.visits = visits
        self.habits = habits
        self.holders = [entry.holder for entry in order]
        self.hours = [
            datetime.combine(entry.on, entry.at) if timed and entry.at is not None else None
            for entry in order
        ]
        self.size = len(order) + 1
        sure = {visit.sure for visit in visits if visit.sure is not None}
        self.elsewhere = elsewhere - sure
        passed = np.array(
            [_SEEN_ELSEWHERE if one in self.elsewhere else habits.no_photo for one in self.holders]
        )
        # passed_from[i, j]: every entry between the places i and j is without a photo.
        logs = np.concatenate([[0.0], np.cumsum(np.log(passed))])
        here = np.arange(self.size)
        between = logs[np.maximum(here - 1, 0)][None, :] - logs[here][:, None]
        ahead = here[None, :] > here[:, None]
        taken = np.concatenate([[0.0], 1.0 - passed])
        step = np.where(ahead, np.exp(np.minimum(between, 0.0)) * taken[None, :], 0.0)
        anywhere = np.zeros((self.size, self.size))
        anywhere[:, 1:] = 1.0 / max(self.size - 1, 1)
        anywhere[here, here] = 0.0
        self.move: _Array = (1.0 - habits.out_of_turn) * step + habits.out_of_turn * anywhere
        ends = np.exp(logs[-1] - logs[here])
        # One taken before its neighbour can't be the last; after the two, the place is the next.
        self.ends: _Array = np.stack([ends, ends, np.zeros(self.size), _earlier(ends)])

    def posterior(self) -> tuple[float, list[dict[Holder, float]]]:
        """How well all fits (natural logarithm), and each visit's plants."""
        emitted = [self._emitted(visit) for visit in self.visits]
        state: _Array = np.zeros((4, self.size))
        state[0, 0] = 1.0
        log_fit = 0.0
        forward: list[_Array] = []
        for visit, seen in zip(self.visits, emitted, strict=True):
            again = visit.again if forward else 0.0
            state = (again * state + (1.0 - again) * self._step(state)) * seen
            total = float(state.sum())
            if total <= 0.0:
                return -np.inf, [{} for _ in self.visits]
            log_fit += float(np.log(total))
            state = state / total
            forward.append(state)
        log_fit += float(np.log(max(float((state * self.ends).sum()), 1e-300)))
        backward = self.ends
        shares: list[dict[Holder, float]] = []
        for nth in range(len(self.visits) - 1, -1, -1):
            both = forward[nth] * backward
            both = both / both.sum()
            at = both[0] + _later(both[2]) + both[3]
            shares.append(
                {
                    holder: float(share)
                    for holder, share in zip(self.holders, at[1:], strict=True)
                    if holder is not None and share > 0.001
                }
            )
            weighed = backward * emitted[nth]
            again = self.visits[nth].again if nth else 0.0
            backward = again * weighed + (1.0 - again) * self._step_back(weighed)
            backward = backward / backward.max()
        return log_fit, shares[::-1]

    def _step(self, state: _Array) -> _Array:
        last = state[0] + state[1] + _later(state[3])
        on = (1.0 - self.habits.no_entry) * (last @ self.move)
        before = self.habits.other_way_round * on
        before[-1] = 0.0
        before[0] = 0.0
        return np.stack([on - before, self.habits.no_entry * last, before, state[2]])

    def _step_back(self, weighed: _Array) -> _Array:
        on = (1.0 - self.habits.other_way_round) * weighed[
            0
        ] + self.habits.other_way_round * weighed[2]
        on[-1] = weighed[0, -1]
        on[0] = weighed[0, 0]
        last = (1.0 - self.habits.no_entry) * (self.move @ on) + self.habits.no_entry * weighed[1]
        return np.stack([last, last, weighed[3], _earlier(last)])

    def _emitted(self, visit: Laid) -> _Array:
        fits = np.ones(self.size)
        # Nobody is before the first entry.
        fits[0] = 0.0
        for place, holder in enumerate(self.holders, 1):
            if visit.sure is not None:
                fits[place] = float(holder == visit.sure)
                continue
            if holder in self.elsewhere:
                fits[place] *= 1.0 - _SEEN_ELSEWHERE
            if visit.fits is not None and holder is not None:
                fits[place] *= visit.fits.get(holder, 1.0)
            hour = self.hours[place - 1]
            if hour is not None and visit.at is not None:
                apart_s = abs((visit.at - hour).total_seconds())
                fits[place] *= max(float(np.exp(-apart_s / _HOUR_WITHIN_S)), _HOUR_MEANS_NOTHING)
        unlisted = np.full(
            self.size, 1.0 if visit.sure is None else float(visit.sure not in self.holders)
        )
        return np.stack([fits, unlisted, _earlier(fits), fits])


def _weighed(expected: float, counted: float, of: float) -> float:
    return (expected * _EXPECTED_VISITS + counted) / (_EXPECTED_VISITS + of)


def _later(values: _Array) -> _Array:
    """Each value one place later."""
    return np.concatenate([[0.0], values[:-1]])


def _earlier(values: _Array) -> _Array:
    """Each value one place earlier."""
    return np.concatenate([values[1:], [0.0]])
