"""Likeness to photos already matched: how well what was measured in a photo fits each plant.

A bloom by its main colour and its size; a clump by its spread and how round it is, beside the same
clump's other photos of that winter.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import log

import numpy as np

from photolog.photos.bed import planting_days
from photolog.photos.facts import PhotoFacts
from photolog.photos.garden import Garden, Holder

__all__ = ["LikenessKnown"]

_FEWEST = 20

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
_Figures = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measured:
    """Something measured that plants are told apart by.

    ``scale`` is by how much it moves from photo to photo, at least; ``drift``, in the same, by how
    much a plant moves from week to week and how far two plants of one variety are apart, so that
    these are not told apart by it (None: plants of one variety are no more alike than others).
    One in so many photos (``odd``) has nothing to do with its plant: a wilted bloom, a neighbour's.
    """

    figures: Callable[[PhotoFacts], _Figures | None]
    scale: _Figures
    drift: float | None
    odd: float
    seasonal: bool = False


def _colour(photo: PhotoFacts) -> _Figures | None:
    return photo.colour if photo.shows == "bloom" else None


def _bloom_size(photo: PhotoFacts) -> _Figures | None:
    if photo.shows != "bloom" or photo.size_mm is None:
        return None
    return (log(photo.size_mm[0]),)


def _clump(photo: PhotoFacts) -> _Figures | None:
    if photo.shows != "clump" or photo.size_mm is None or photo.roundness is None:
        return None
    return log(photo.size_mm[0]), photo.roundness


# Judgement, no source. Blooms of one plant differ far more in size than they are measured apart.
_MEASURED = (
    _Measured(figures=_colour, scale=(4.0, 4.0, 4.0), drift=0.5, odd=0.05),
    _Measured(figures=_bloom_size, scale=(0.1,), drift=0.7, odd=0.1),
    _Measured(figures=_clump, scale=(0.05, 0.05), drift=None, odd=0.1, seasonal=True),
)
# Half of all squared distances from the mean, in so many directions, are below so many variances
# (chi-squared distribution).
_MEDIAN = {1: 0.455, 2: 1.386, 3: 2.366}


class LikenessKnown:
    """What is known of the plants by their photos already matched."""

    def __init__(self, matched: Iterable[tuple[PhotoFacts, Holder | None]], garden: Garden) -> None:
        self._garden = garden
        known = [(photo, holder) for photo, holder in matched if holder is not None]
        self._kinds = [(kind, self._of_kind(kind, known)) for kind in _MEASURED]

    def likelihood(self, photos: Sequence[PhotoFacts]) -> Mapping[Holder, float]:
        """How well the photos of one plant fit each plant, relative to any plant whatever.

        Plants of which nothing is known are left out, and everything is where nothing was measured
        or too little is known to compare with.
        """
        found: dict[Holder, float] = {}
        for kind, known in self._kinds:
            seen = [
                (np.array(figures) / kind.scale, photo)
                for photo in photos
                if (figures := kind.figures(photo)) is not None
            ]
            if not seen:
                continue
            of_season = known.get(_season(kind, seen[0][1], self._garden))
            if of_season is None:
                continue
            # Each by itself, so that an odd one doesn't move the others; but shots of one bloom are
            # alike in what is wrong with them too, so that several count for less than so many.
            counts = 2.0 / (len(seen) + 1.0)
            logs = sum(of_season.log_fits(one, _unsure(kind, photo), kind) for one, photo in seen)
            for holder, share in of_season.by_holder(np.exp(counts * logs)):
                found[holder] = found.get(holder, 1.0) * share
        return found

    def _of_kind(
        self, kind: _Measured, known: Sequence[tuple[PhotoFacts, Holder]]
    ) -> Mapping[Hashable, _Known]:
        seen: dict[Hashable, dict[Holder, list[_Array]]] = {}
        for photo, holder in known:
            figures = kind.figures(photo)
            if figures is not None:
                of_season = seen.setdefault(_season(kind, photo, self._garden), {})
                of_season.setdefault(holder, []).append(np.array(figures) / kind.scale)
        return {
            season: _Known(kind, by_holder, self._garden)
            for season, by_holder in seen.items()
            if sum(len(some) for some in by_holder.values()) >= _FEWEST
        }


class _Known:
    """One thing measured, of all plants that have it; in units of its scale."""

    def __init__(
        self, kind: _Measured, seen: Mapping[Holder, Sequence[_Array]], garden: Garden
    ) -> None:
        every = np.concatenate([np.array(some) for some in seen.values()])
        means = {holder: np.mean(some, axis=0) for holder, some in seen.items()}
        apart = np.concatenate([np.array(some) - means[holder] for holder, some in seen.items()])
        freedom = max(len(every) - len(seen), 1)
        # The middle of the distances, so that a few odd ones widen nothing.
        squared = float(np.median((apart**2).sum(axis=1)))
        self._variance = max(squared / _MEDIAN[every.shape[1]] * len(every) / freedom, 1.0)
        self._centre = every.mean(axis=0)
        self._spread = every.var(axis=0) + self._variance
        expected = self._without_odd(kind, seen, garden)
        if kind.drift is not None:
            expected = _with_varieties(expected, garden, apart=kind.drift**2)
        self._holders = list(expected)
        self._mean = np.array([mean for mean, _ in expected.values()])
        self._of_mean = np.array([of_mean for _, of_mean in expected.values()])

    def _without_odd(
        self, kind: _Measured, seen: Mapping[Holder, Sequence[_Array]], garden: Garden
    ) -> dict[Holder, tuple[_Array, float]]:
        """Each plant's mean and its variance; a photo counts by how little odd it looks.

        Beside the plant's other photos, or its variety's where there are less than three.
        """
        of_variety: dict[int, list[_Array]] = {}
        for holder, some in seen.items():
            fact = garden.holders.get(holder)
            if kind.drift is not None and fact is not None and fact.variety is not None:
                of_variety.setdefault(fact.variety, []).extend(some)
        expected = {}
        for holder, some in seen.items():
            fact = garden.holders.get(holder)
            variety = fact.variety if fact is not None else None
            beside = some if len(some) > 2 or variety not in of_variety else of_variety[variety]
            middle = np.median(np.array(beside), axis=0)
            every = np.array(some)
            width = 2.0 * self._variance
            near = np.exp(-0.5 * ((every - middle) ** 2).sum(axis=1) / width)
            near /= width ** (0.5 * every.shape[1])
            any_plant = np.exp(-0.5 * ((every - self._centre) ** 2 / self._spread).sum(axis=1))
            any_plant /= np.sqrt(np.prod(self._spread))
            counts = (1.0 - kind.odd) * near / ((1.0 - kind.odd) * near + kind.odd * any_plant)
            counts = np.maximum(counts, 1e-3)
            mean = np.average(every, axis=0, weights=counts)
            expected[holder] = mean, self._variance / float(counts.sum())
        return expected

    def log_fits(self, figures: _Array, unsure: float, kind: _Measured) -> _Array:
        """How well a photo fits each plant, relative to any plant; natural logarithms."""
        spread = self._spread + unsure
        any_plant = np.exp(-0.5 * ((figures - self._centre) ** 2 / spread).sum())
        any_plant = max(any_plant / np.sqrt(np.prod(spread)), 1e-12)
        drift = kind.drift if kind.drift is not None else 0.0
        variance = self._variance + self._of_mean + drift**2 + unsure
        apart = ((figures - self._mean) ** 2).sum(axis=1)
        fits = np.exp(-0.5 * apart / variance) / variance ** (0.5 * len(figures))
        logs: _Array = np.log((1.0 - kind.odd) * fits / any_plant + kind.odd)
        return logs

    def by_holder(self, shares: _Array) -> Iterator[tuple[Holder, float]]:
        """Shares in the order of ``log_fits`` with their plants."""
        return zip(self._holders, shares.tolist(), strict=True)


def _with_varieties(
    own: Mapping[Holder, tuple[_Array, float]], garden: Garden, *, apart: float
) -> dict[Holder, tuple[_Array, float]]:
    """Each plant's mean and its variance, with what the others of its variety add to it.

    ``apart`` is the variance between two plants of one variety.
    """
    of_variety: dict[int, list[Holder]] = {}
    for holder, fact in garden.holders.items():
        if fact.variety is not None:
            of_variety.setdefault(fact.variety, []).append(holder)
    found = dict(own)
    for holders in of_variety.values():
        known = [holder for holder in holders if holder in own]
        if not known:
            continue
        weights = np.array([1.0 / (apart + own[holder][1]) for holder in known])
        middle = np.average([own[holder][0] for holder in known], axis=0, weights=weights)
        of_middle = float(1.0 / weights.sum()) + apart
        for holder in holders:
            if holder not in own:
                found[holder] = middle, of_middle
                continue
            mean, of_mean = own[holder]
            share = of_middle / (of_middle + of_mean)
            found[holder] = share * mean + (1.0 - share) * middle, share * of_mean
    return found


def _season(kind: _Measured, photo: PhotoFacts, garden: Garden) -> Hashable:
    """What photos of one thing have in common: a clump is the same from lifting to planting."""
    if not kind.seasonal or photo.taken_at is None:
        return None
    return planting_days(photo.taken_at.date(), garden)


def _unsure(kind: _Measured, photo: PhotoFacts) -> float:
    """The variance of a size by its own standard uncertainty, in units of the scale."""
    if kind.figures is _colour or photo.size_mm is None:
        return 0.0
    value, u = photo.size_mm
    return (u / value / kind.scale[0]) ** 2
