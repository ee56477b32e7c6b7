"""A day's photos laid along an order of plants: what was lifted, or how they stand in the bed.

Between two visits that are sure, those whose tag could not be read must lie somewhere along the
order. Forward and backward sums over a hidden Markov model (Rabiner, Proceedings of the IEEE 77,
1989, section III) give each plant's probability, with plants left out, plants that the order does
not list, plants taken out of turn and plants shown twice allowed for. How often these happen is
learnt from the day's sure visits, so that an order which the grower did not follow says nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from photolog.photos.facts import Holder

__all__ = ["Aligned", "Visit", "align"]

# What is expected before the day has shown anything (judgement, no source): how much a plant left
# out or a step backwards costs, and how many visits' worth these expectations weigh.
_NEXT_SHARE = 0.6
_PRIOR_STEPS = 3.0
_PRIOR_UNLISTED = (1.0, 8.0)
_ANYWHERE = 0.02
_OUT_OF_TURN = 0.12
_SEEN_ALREADY = 0.005
_LONGEST_STEP = 40

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """Photos in a row that are evidently of one plant.

    ``sure`` is the plant where it is known. Else ``likelihood`` says how well what is seen (colour,
    half a tag) fits a plant, relative to any plant whatever; a plant it doesn't name fits as well
    as any. ``again`` is the probability that it is of the same plant as the visit before it, from
    the time between them and how alike they look.
    """

    sure: Holder | None = None
    likelihood: Mapping[Holder, float] | None = None
    again: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Aligned:
    """Each visit's plants with their probability, the most probable first; how well all fits.

    What is missing to 1 is the probability that the plant is not in the order. ``log_fit`` is the
    natural logarithm of the likelihood of the sure visits by this order; the larger the better.
    """

    plants: Sequence[Sequence[tuple[Holder, float]]]
    log_fit: float


def align(
    visits: Sequence[Visit], order: Sequence[Holder], *, seen_already: frozenset[Holder]
) -> Aligned:
    """Lay visits, in the order of their photos, along an order of plants, each in it once.

    ``seen_already`` are plants that have a sure visit of their own that day: another visit to
    one of them is improbable.
    """
    at = {holder: n for n, holder in enumerate(order)}
    size = len(order)
    steps, unlisted = _learnt(visits, at)
    seen = np.array([_SEEN_ALREADY if holder in seen_already else 1.0 for holder in order])
    # A plant that has its photos comes up once more only while it is still before the camera.
    move = _moves(steps, size) * seen
    # The state is a place in the order, and whether the plant is the one there (first half) or one
    # that the order doesn't list, met on the way from there (second half).
    emitted = np.array([_emitted(visit, order, at) for visit in visits])
    forward = np.empty((len(visits), 2 * size))
    log_fit = 0.0
    now: _Array = np.concatenate([(1 - unlisted) * seen, np.full(size, unlisted)]) / size
    for n in range(len(visits)):
        if n:
            now = _step(forward[n - 1], move, unlisted, visits[n].again)
        now = now * emitted[n]
        total = float(now.sum())
        if visits[n].sure is not None:
            log_fit += float(np.log(total))
        forward[n] = now / total
    backward: _Array = np.ones(2 * size)
    plants: list[Sequence[tuple[Holder, float]]] = [()] * len(visits)
    for n in range(len(visits) - 1, -1, -1):
        both = forward[n] * backward
        both /= both.sum()
        if visits[n].sure is None:
            best = np.argsort(-both[:size], kind="stable")[:8]
            plants[n] = [(order[place], float(both[place])) for place in best]
        backward = _step_back(backward * emitted[n], move, unlisted, visits[n].again)
        backward /= backward.sum()
    return Aligned(plants=plants, log_fit=log_fit)


def _learnt(visits: Sequence[Visit], at: Mapping[Holder, int]) -> tuple[_Array, float]:
    """How likely each step along the order is (index 0: the longest backwards), and to leave it."""
    width = _LONGEST_STEP
    apart = np.abs(np.arange(-width, width + 1))
    prior = np.where(apart > 0, (1 - _NEXT_SHARE) ** (apart - 1.0), 0.0)
    prior /= prior.sum()
    counted = np.zeros(2 * width + 1)
    sure = [visit for visit in visits if visit.sure is not None]
    for one, other in pairwise(visits):
        if one.sure is not None and other.sure is not None and {one.sure, other.sure} <= at.keys():
            step = at[other.sure] - at[one.sure]
            if 0 < abs(step) <= width:
                counted[width + step] += 1.0
    # A step of three was met where one of four may be: neighbouring lengths share their counts,
    # and which way the grower went counts for all lengths alike.
    ahead, back = counted[width + 1 :].sum(), counted[:width].sum()
    way = np.array([back + 0.5, ahead + 0.5]) / (back + ahead + 1.0)
    way = np.clip(way, _OUT_OF_TURN, 1.0 - _OUT_OF_TURN)
    lengths = counted[width + 1 :] + counted[:width][::-1]
    prior_length = prior[width + 1 :] / prior[width + 1 :].sum()
    length = lengths + _PRIOR_STEPS * prior_length
    length[1:-1] = 0.8 * length[1:-1] + 0.1 * (length[:-2] + length[2:])
    length /= length.sum()
    steps = np.concatenate([way[0] * length[::-1], [0.0], way[1] * length])
    listed = sum(visit.sure in at for visit in sure)
    unlisted = (len(sure) - listed + _PRIOR_UNLISTED[0]) / (len(sure) + sum(_PRIOR_UNLISTED))
    return steps, unlisted


def _moves(steps: _Array, size: int) -> _Array:
    """(size, size) probabilities to go from one place to another, rows summing to 1."""
    place = np.arange(size)
    step = place[None, :] - place[:, None]
    near = np.abs(step) <= _LONGEST_STEP
    move = np.where(near, steps[np.clip(step, -_LONGEST_STEP, _LONGEST_STEP) + _LONGEST_STEP], 0.0)
    move = (1.0 - _ANYWHERE) * move + _ANYWHERE / size
    normed: _Array = move / move.sum(axis=1, keepdims=True)
    return normed


def _emitted(visit: Visit, order: Sequence[Holder], at: Mapping[Holder, int]) -> _Array:
    size = len(order)
    if visit.sure is not None:
        place = at.get(visit.sure)
        found = np.zeros(2 * size)
        if place is None:
            found[size:] = 1.0
        else:
            found[place] = 1.0
        return found
    fits = visit.likelihood or {}
    return np.concatenate([np.array([fits.get(holder, 1.0) for holder in order]), np.ones(size)])


def _step(state: _Array, move: _Array, unlisted: float, again: float) -> _Array:
    size = len(move)
    place = state[:size] + state[size:]
    moved = np.concatenate([(1.0 - unlisted) * (place @ move), unlisted * place])
    return again * state + (1.0 - again) * moved


def _step_back(state: _Array, move: _Array, unlisted: float, again: float) -> _Array:
    size = len(move)
    place = (1.0 - unlisted) * (move @ state[:size]) + unlisted * state[size:]
    return again * state + (1.0 - again) * np.concatenate([place, place])
