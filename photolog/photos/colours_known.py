"""Likeness by colour: how well a bloom's colour fits each plant, by its photos already matched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np

from photolog.photos.facts import Garden, Holder, PhotoFacts

__all__ = ["ColoursKnown"]

# A bloom's measured colour moves by so much from photo to photo, in each of L*, a* and b*, at
# least; and one in so many photos shows a colour that has nothing to do with its plant (a wilted
# bloom, a neighbour's). From week to week a plant's blooms move by the drift, however many photos
# there are, and two plants of one variety differ by as much, so that they are not told apart by
# it. Judgement, no source.
_LEAST_SCATTER = 4.0
_ODD_ONES = 0.05
_DRIFT = 2.0
_FEWEST_BLOOMS = 20

_Array = np.ndarray[tuple[int, ...], np.dtype[np.float64]]


class ColoursKnown:
    """The colours of the blooms whose plants are known.

    How far one plant's blooms scatter, and how far all blooms, is taken from these photos. Of a
    plant with few photos or none, those of its variety say what is to be expected.
    """

    def __init__(self, matched: Iterable[tuple[PhotoFacts, Holder | None]], garden: Garden) -> None:
        seen: dict[Holder, list[tuple[float, float, float]]] = {}
        for photo, holder in matched:
            if holder is not None and photo.colour is not None and photo.shows == "bloom":
                seen.setdefault(holder, []).append(photo.colour)
        every = np.array([colour for colours in seen.values() for colour in colours])
        self._enough = len(every) >= _FEWEST_BLOOMS
        if not self._enough:
            return
        means = {holder: np.mean(colours, axis=0) for holder, colours in seen.items()}
        apart = np.concatenate(
            [np.array(colours) - means[holder] for holder, colours in seen.items()]
        )
        freedom = max(len(every) - len(seen), 1)
        # The middle of the distances, so that a few odd ones widen nothing: for a normal scatter
        # in three directions the median of the squared distance is 2.366 variances (chi-squared).
        squared = np.sort((apart**2).sum(axis=1))
        variance = float(np.median(squared)) / 2.366 * len(every) / freedom
        self._variance = max(variance, _LEAST_SCATTER**2)
        self._centre = every.mean(axis=0)
        self._spread = every.var(axis=0) + self._variance
        self._expect(seen, means, garden)

    def _expect(
        self,
        seen: Mapping[Holder, Sequence[tuple[float, float, float]]],
        means: Mapping[Holder, _Array],
        garden: Garden,
    ) -> None:
        """The colour to be expected of each plant and the variance of its mean."""
        of_variety: dict[int, list[Holder]] = {}
        for holder, fact in garden.holders.items():
            if fact.variety is not None:
                of_variety.setdefault(fact.variety, []).append(holder)
        varieties: dict[int, tuple[_Array, float]] = {}
        for number, holders in of_variety.items():
            known = [holder for holder in holders if holder in means]
            if known:
                # Each plant's mean, by how well it is known, about the variety's.
                weights = np.array(
                    [1.0 / (_DRIFT**2 + self._variance / len(seen[holder])) for holder in known]
                )
                middle = np.average([means[holder] for holder in known], axis=0, weights=weights)
                varieties[number] = middle, float(1.0 / weights.sum())
        expected: dict[Holder, tuple[_Array, float]] = {}
        for holder in {*seen, *garden.holders}:
            known_of = garden.holders.get(holder)
            of = known_of.variety if known_of is not None else None
            variety = varieties.get(of) if of is not None else None
            own = means.get(holder)
            if own is None:
                if variety is not None:
                    expected[holder] = variety[0], variety[1] + _DRIFT**2
                continue
            of_own = self._variance / len(seen[holder])
            of_mates = variety[1] + _DRIFT**2 if variety is not None else np.inf
            middle = variety[0] if variety is not None else own
            share = 1.0 if np.isinf(of_mates) else of_mates / (of_mates + of_own)
            expected[holder] = share * own + (1.0 - share) * middle, share * of_own
        self._holders = list(expected)
        self._mean = np.array([mean for mean, _ in expected.values()])
        self._of_mean = np.array([of_mean for _, of_mean in expected.values()])

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
        variance = self._variance / len(colours) + self._of_mean + _DRIFT**2
        apart = ((mean - self._mean) ** 2).sum(axis=1)
        fits = np.exp(-0.5 * apart / variance) / variance**1.5
        ratio = (1.0 - _ODD_ONES) * fits / any_bloom + _ODD_ONES
        return dict(zip(self._holders, ratio.tolist(), strict=True))
