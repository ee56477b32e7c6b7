"""How much clumps scatter beyond measuring: laid again, beside one another, from year to year."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from photolog.comparing.clumps import ClumpSize
from photolog.comparing.words import NUMBER_WORDS, SIZE_WORDS, Words

__all__ = [
    "PRIOR_WEIGHT",
    "SIZE_KINDS",
    "SizeKind",
    "Spread",
    "between_clumps",
    "change_scatter",
    "lay_scatter",
]

PRIOR_WEIGHT = 4.0
"""Our judgement of a scatter counts as much as this many observed differences."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeKind:
    """A quantity that seasons are compared by, with what we judge of it where no data say.

    The three figures are judgement, not taken from any source: ``lay_prior``, by how much (as a
    share, one standard deviation) the same clump reads differently when it is laid again, or the
    same bloom when it is photographed again; ``between_prior``, by how much clumps or blooms of one
    variety differ in one season; ``floor_u``, the least standard uncertainty of one reading, in its
    own unit. A photo's own uncertainty holds none of them.
    """

    name: str
    label: str
    unit: str
    lay_prior: float
    between_prior: float
    floor_u: float
    words: Words


SIZE_KINDS = MappingProxyType(
    {
        kind.name: kind
        for kind in (
            SizeKind(
                name="spread_mm",
                label="spread",
                unit="mm",
                lay_prior=0.03,
                between_prior=0.20,
                floor_u=0.0,
                words=SIZE_WORDS,
            ),
            SizeKind(
                name="widest_mm",
                label="widest measure",
                unit="mm",
                lay_prior=0.01,
                between_prior=0.10,
                floor_u=0.0,
                words=SIZE_WORDS,
            ),
            SizeKind(
                name="tubers",
                label="tubers",
                unit="",
                lay_prior=0.05,
                between_prior=0.30,
                floor_u=0.5,
                words=NUMBER_WORDS,
            ),
        )
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A scatter on the log scale (0.03 is about 3 per cent) and what it rests on.

    ``observed`` counts the independent differences seen in the data; ``prior`` is our judgement,
    None where none went in. ``degrees`` is what the t quantile should use.
    """

    sd: float
    observed: int
    prior: float | None

    @property
    def degrees(self) -> float:
        """Degrees of freedom: those observed, and those that our judgement stands for."""
        return self.observed + (PRIOR_WEIGHT if self.prior is not None else 0.0)


def lay_scatter(clumps: Sequence[ClumpSize], *, prior: float) -> Spread:
    """Scatter of one clump laid again, from clumps laid at least twice, drawn towards the prior."""
    groups = [[(laying.log_value, laying.variance) for laying in clump.layings] for clump in clumps]
    return _drawn_to(prior, groups)


def between_clumps(clumps: Sequence[ClumpSize], *, lay_sd: float, prior: float) -> Spread:
    """Scatter between clumps of one variety in one season, beyond measuring and laying."""
    groups: dict[tuple[str, int, str | None], list[tuple[float, float]]] = defaultdict(list)
    for clump in clumps:
        groups[clump.variety, clump.season, clump.stage].append(
            (clump.log_value, clump.variance(lay_sd=lay_sd))
        )
    return _drawn_to(prior, groups.values())


def change_scatter(groups: Iterable[Sequence[tuple[float, float]]]) -> Spread | None:
    """Scatter between the changes of several clumps of one variety, beyond their uncertainties.

    ``groups`` holds, for each variety, (log change, variance) of each clump measured in both
    seasons. None when no variety has two of them: then each change speaks of its own clump only.
    The moment estimate over all varieties at once; no judgement goes in.
    """
    q = spare = 0.0
    observed = 0
    for group in groups:
        if len(group) < 2:
            continue
        weights = [1 / variance for _, variance in group]
        total = math.fsum(weights)
        mean = math.fsum(w * y for w, (y, _) in zip(weights, group, strict=True)) / total
        q += math.fsum(w * (y - mean) ** 2 for w, (y, _) in zip(weights, group, strict=True))
        spare += total - math.fsum(w * w for w in weights) / total
        observed += len(group) - 1
    if observed == 0:
        return None
    return Spread(sd=math.sqrt(max(0.0, (q - observed) / spare)), observed=observed, prior=None)


def _drawn_to(prior: float, groups: Iterable[Sequence[tuple[float, float]]]) -> Spread:
    """Pooled scatter within groups less the members' own variances, averaged with the prior."""
    squares = own = 0.0
    observed = 0
    for group in groups:
        n = len(group)
        if n < 2:
            continue
        mean = math.fsum(y for y, _ in group) / n
        squares += math.fsum((y - mean) ** 2 for y, _ in group)
        own += (n - 1) * math.fsum(v for _, v in group) / n
        observed += n - 1
    excess = max(0.0, squares - own)
    variance = (PRIOR_WEIGHT * prior**2 + excess) / (PRIOR_WEIGHT + observed)
    return Spread(sd=math.sqrt(variance), observed=observed, prior=prior)
