"""How far tubers' ends stand clear of the ground: what is taken for it where it can't be seen.

A clump is stiff: it rests on its lowest parts, and the other tubers stand as high as they happened
to grow. One photo from above shows an end's place, hardly its height.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr

from measure.results import Points

__all__ = ["ALL_HEIGHTS", "OFF_GROUND", "off_ground", "rises", "together", "usual_rise"]

Floats = NDArray[np.float64]

# A clump of seven tubers has this share of its outermost ends off the ground, and so much more for
# every further one, between the last two: of many tubers the upper ones lie on the lower. Those off
# the ground are taken to stand anywhere up to ``_HIGHEST`` of the spread, and those on it to lie
# ``_RESTING`` of it above what their thickness tells, scattering by the second. All our judgement,
# set between clumps built by six sets of rules (tests/benchmarks/fit_clump_heights.py): no source
# tells how high tubers stand.
OFF_GROUND = (0.25, 0.03, 0.12, 0.50)
_HIGHEST = 0.24
_RESTING = (-0.010, 0.018)

# How much all of a clump's heights are out together, as a share of its spread: one standard
# uncertainty.
ALL_HEIGHTS = 0.012

# Ends nearer to each other than this share of the spread belong to one tuber, or nearly so.
_ONE_TUBER = 0.12
# Parts of the rises round an outline that vary by less than this share of the largest part.
_SLIGHT = 0.02

_SPAN = np.linspace(_RESTING[0] - 6.0 * _RESTING[1], _HIGHEST, 601)


def off_ground(tubers: float | None) -> float:
    """Share of the outermost ends that stand off the ground; None: not counted."""
    middle, each, least, most = OFF_GROUND
    return middle if tubers is None else min(max(middle + each * (tubers - 7.0), least), most)


def rises(drawn: Floats, share: float) -> Floats:
    """How far ends stand above where resting ones are taken to lie, as shares of the spread.

    ``drawn`` are values of a standard normal variable, of any shape: 0 is the usual height, as many
    ends lie lower as higher. ``share`` is that of ``off_ground``.
    """
    return np.asarray(np.interp(ndtr(drawn), _below(share), _SPAN), dtype=np.float64)


def usual_rise(share: float) -> float:
    """The usual one of ``rises``: as many ends stand lower as higher."""
    return float(rises(np.zeros(1), share)[0])


def together(places_mm: Points, *, spread_mm: float) -> Floats:
    """(N, n) what n independent normal variables do to those of N places' heights.

    Each row has length 1. What lies on one tuber rises with it; other tubers are on their own.
    """
    square = np.sum((places_mm[:, None] - places_mm[None]) ** 2, axis=2)
    alike = np.exp(-square / (2.0 * (_ONE_TUBER * spread_mm) ** 2))
    values, vectors = np.linalg.eigh(alike)
    kept = values > _SLIGHT * values[-1]
    parts = vectors[:, kept] * np.sqrt(values[kept])
    return np.asarray(parts / np.linalg.norm(parts, axis=1, keepdims=True), dtype=np.float64)


@lru_cache(maxsize=64)
def _below(share: float) -> Floats:
    """Probability that an end lies lower than each height of ``_SPAN``."""
    if not 0.0 <= share < 1.0 or not math.isfinite(share):
        msg = f"a share of ends off the ground runs from 0 to below 1, got {share!r}"
        raise ValueError(msg)
    resting = ndtr((_SPAN - _RESTING[0]) / _RESTING[1])
    made = (1.0 - share) * resting + share * np.clip(_SPAN / _HIGHEST, 0.0, 1.0)
    made = np.asarray(made, dtype=np.float64)
    made.flags.writeable = False
    return made
