"""From photos to clumps: what one clump measured in one season, with what is shared kept apart."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from types import MappingProxyType

from photolog.comparing.occasions import by_burst, mean_of_burst

__all__ = ["LAYING_GAP", "ClumpSize", "Laying", "Shot", "clump_sizes", "scale_sds"]

LAYING_GAP = timedelta(minutes=10)
"""Photos of one clump no further apart than this are taken to show it lying the same way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One quantity of one clump, measured in one photo.

    Attributes
    ----------
    plant, variety : str
        Which clump it is (the same name in every season), and of which variety.
    season : int
        Named by the year in which it was planted.
    stage : str or None
        As lifted, washed, trimmed, dried; None when nobody told.
    taken_at : datetime
        The photo's wall clock.
    value, u : float
        The value, above zero, and its standard uncertainty without the scale of the printing.
    scale_u : float
        Standard uncertainty from the scale of the card's printing, in the unit of ``value``.
    printing : str
        Which printing of the card; shots with the same one share its scale error.
    burst : str
        Shots with the same one are of one burst and count as one; '' for a shot alone.
    set_apart : bool
        The grower said that it is an occasion of its own, however soon after another.
    """

    plant: str
    variety: str
    season: int
    stage: str | None
    taken_at: datetime
    value: float
    u: float
    scale_u: float = 0.0
    printing: str = ""
    burst: str = ""
    set_apart: bool = False

    def __post_init__(self) -> None:
        if not (math.isfinite(self.value) and self.value > 0):
            msg = f"a size must be above zero, got {self.value} for {self.plant}"
            raise ValueError(msg)
        for u in (self.u, self.scale_u):
            if not (math.isfinite(u) and u >= 0):
                msg = f"an uncertainty must be zero or more, got {u} for {self.plant}"
                raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True)
class Laying:
    """A clump laid once, with one or several photos: mean of the logs and its variance.

    The photos of one laying are taken to err together (the height of the clump above the card,
    the largest error, is the same in all of them), so several of them count no more than one. In
    the mean a burst counts as one photo: ten shots in a row say no more than the one before them.
    """

    log_value: float
    variance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ClumpSize:
    """One clump in one season and stage, on the log scale.

    ``scale`` says how much of each printing's scale error is in ``log_value``; the shares sum to 1.
    """

    plant: str
    variety: str
    season: int
    stage: str | None
    layings: tuple[Laying, ...]
    n_photos: int
    scale: Mapping[str, float]

    @property
    def log_value(self) -> float:
        """Mean of the layings."""
        return math.fsum(laying.log_value for laying in self.layings) / len(self.layings)

    def variance(self, *, lay_sd: float) -> float:
        """Variance of ``log_value`` from measuring and laying, without the printing's scale."""
        n = len(self.layings)
        return math.fsum(laying.variance + lay_sd**2 for laying in self.layings) / n**2


def clump_sizes(shots: Sequence[Shot], *, floor_u: float = 0.0) -> tuple[ClumpSize, ...]:
    """Gather shots by clump, season and stage; ordered by variety, plant, season and stage.

    ``floor_u`` is the least standard uncertainty that a single shot is believed to have.
    """

    def clump(shot: Shot) -> tuple[str, str, int, str]:
        return shot.variety, shot.plant, shot.season, shot.stage or ""

    found = []
    for _, group in groupby(sorted(shots, key=lambda s: (*clump(s), s.taken_at)), key=clump):
        members = list(group)
        laid = [by_burst(part, lambda shot: shot.burst or None) for part in _laid(members)]
        layings = [_laying(occasions, floor_u=floor_u) for occasions in laid]
        scale: dict[str, float] = {}
        for occasions in laid:
            for shots_of_one in occasions:
                for shot in shots_of_one:
                    share = 1 / len(shots_of_one) / len(occasions) / len(layings)
                    scale[shot.printing] = scale.get(shot.printing, 0.0) + share
        found.append(
            ClumpSize(
                plant=members[0].plant,
                variety=members[0].variety,
                season=members[0].season,
                stage=members[0].stage,
                layings=tuple(layings),
                n_photos=len(members),
                scale=MappingProxyType(scale),
            )
        )
    return tuple(found)


def scale_sds(shots: Sequence[Shot]) -> dict[str, float]:
    """Relative scale error (one standard uncertainty) of each printing: the largest claimed."""
    sds: dict[str, float] = {}
    for shot in shots:
        sds[shot.printing] = max(sds.get(shot.printing, 0.0), shot.scale_u / shot.value)
    return sds


def _laid(shots: Sequence[Shot]) -> list[list[Shot]]:
    """Split the shots of one clump, in order of time, wherever a longer pause lies between.

    The grower's word goes before: a shot set apart is a laying of its own, and a burst is one
    laying, whatever lies between its shots.
    """
    parts: list[list[Shot]] = []
    last: Shot | None = None
    of_burst: dict[str, list[Shot]] = {}
    for shot in shots:
        if shot.set_apart:
            parts.append([shot])
            continue
        part = of_burst.get(shot.burst) if shot.burst else None
        if part is None and last is not None and shot.taken_at - last.taken_at <= LAYING_GAP:
            part = next(one for one in parts if last in one)
        if part is None:
            part = []
            parts.append(part)
        part.append(shot)
        if shot.burst:
            of_burst[shot.burst] = part
        last = shot
    return parts


def _laying(occasions: Sequence[Sequence[Shot]], *, floor_u: float) -> Laying:
    means = [
        mean_of_burst([(math.log(s.value), max(s.u, floor_u) / s.value) for s in shots])
        for shots in occasions
    ]
    log_value, u = mean_of_burst(means)
    return Laying(log_value=log_value, variance=u**2)
