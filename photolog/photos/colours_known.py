"""Likeness by colour: how well a bloom's colour fits each plant, by its photos already matched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from photolog.photos.facts import Holder, PhotoFacts

__all__ = ["ColoursKnown"]

# A bloom's measured colour moves by so much from photo to photo, in each of L*, a* and b*, at
# least; and one in so many photos shows a colour that has nothing to do with its plant (a wilted
# bloom, a neighbour's). From week to week a plant's blooms move by the drift, however many photos
# there are, so that two plants of one variety are not told apart by it. Judgement, no source.
_LEAST_SCATTER = 4.0
_ODD_ONES = 0.05
_DRIFT = 2.0
_FEWEST_BLOOMS = 20


class ColoursKnown:
    """The colours of the blooms whose plants are known.

    How far one plant's blooms scatter, and how far all blooms, is taken from these photos.
    """

    def __init__(self, matched: Iterable[tuple[PhotoFacts, Holder]]) -> None:
        seen: dict[Holder, list[tuple[float, float, float]]] = {}
        for photo, holder in matched:
            if photo.colour is not None and photo.shows == "bloom":
                seen.setdefault(holder, []).append(photo.colour)
        self._holders = list(seen)
        self._number = np.array([len(colours) for colours in seen.values()], dtype=np.float64)
        self._mean = np.array([np.mean(colours, axis=0) for colours in seen.values()])
        every = np.array([colour for colours in seen.values() for colour in colours])
        self._enough = len(every) >= _FEWEST_BLOOMS
        if not self._enough:
            return
        apart = np.concatenate(
            [
                np.array(colours) - mean
                for mean, colours in zip(self._mean, seen.values(), strict=True)
            ]
        )
        freedom = max(len(every) - len(seen), 1)
        # The middle of the distances, so that a few odd ones widen nothing: for a normal scatter
        # in three directions the median of the squared distance is 2.366 variances (chi-squared).
        squared = np.sort((apart**2).sum(axis=1))
        variance = float(np.median(squared)) / 2.366 * len(every) / freedom
        self._variance = max(variance, _LEAST_SCATTER**2)
        self._centre = every.mean(axis=0)
        self._spread = every.var(axis=0) + self._variance

    def likelihood(self, photos: Sequence[PhotoFacts]) -> Mapping[Holder, float]:
        """How well the photos' mean colour fits each plant, relative to any bloom whatever.

        Plants whose colour isn't known are left out, and everything is where no colour was
        measured or too few blooms are known to compare with.
        """
        colours = [photo.colour for photo in photos if photo.colour is not None]
        if not colours or not self._enough:
            return {}
        mean = np.mean(colours, axis=0)
        any_bloom = np.exp(-0.5 * ((mean - self._centre) ** 2 / self._spread).sum())
        any_bloom = max(any_bloom / np.sqrt(np.prod(self._spread)), 1e-12)
        variance = self._variance * (1.0 / len(colours) + 1.0 / self._number) + _DRIFT**2
        apart = ((mean - self._mean) ** 2).sum(axis=1)
        fits = np.exp(-0.5 * apart / variance) / variance**1.5
        ratio = (1.0 - _ODD_ONES) * fits / any_bloom + _ODD_ONES
        return dict(zip(self._holders, ratio.tolist(), strict=True))
