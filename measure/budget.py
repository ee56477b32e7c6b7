"""From single causes of error to the standard uncertainty and interval of every size."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from measure.planar import area_of, hull_of, least_width, ring_of, square_to, widest_of
from measure.pose import Pose
from measure.quantity import Size
from measure.results import Points
from measure.uncertainty import draw

__all__ = [
    "COVERAGE_95",
    "Cause",
    "Lengths",
    "bloom_lengths",
    "budget_of",
    "changed_by",
    "clump_lengths",
    "edge_effects",
    "pose_causes",
    "share_of",
]

Lengths = dict[str, float]

COVERAGE_95 = 1.959964


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One named cause of error and what one standard uncertainty of it does to every size.

    Causes of the same name are added in quadrature.
    """

    name: str
    effects: Mapping[str, float]


def bloom_lengths(outline_mm: Points) -> Lengths:
    """Sizes of a bloom's outline on the card's plane, by name."""
    hull = outline_mm[hull_of(outline_mm)]
    callipers = widest_of(hull)
    across = square_to(hull, hull[callipers.second] - hull[callipers.first])
    return {
        "widest_mm": callipers.length,
        "diameter_mm": (callipers.length + across) / 2.0,
        "ring_mm": ring_of(hull),
        "area_cm2": area_of(outline_mm) / 100.0,
    }


def clump_lengths(outline_mm: Points) -> Lengths:
    """Sizes of a clump's outline on the card's plane, by name."""
    hull = outline_mm[hull_of(outline_mm)]
    return {
        "spread_mm": widest_of(hull).length,
        "width_mm": least_width(hull),
        "area_cm2": area_of(outline_mm) / 100.0,
    }


def changed_by(cause: str, sizes_at: Callable[[float], Lengths]) -> Cause:
    """A cause from the sizes at -1 and +1 standard uncertainties of it."""
    high, low = sizes_at(1.0), sizes_at(-1.0)
    return Cause(name=cause, effects={k: (high[k] - low[k]) / 2.0 for k in high})


def share_of(cause: str, sizes: Lengths, *, percent: float) -> Cause:
    """A cause that stretches all lengths by so many per cent, and areas by twice as many."""
    return Cause(
        name=cause,
        effects={
            k: value * percent / 100.0 * (2.0 if k.endswith("cm2") else 1.0)
            for k, value in sizes.items()
        },
    )


def pose_causes(
    pose: Pose,
    pixels: Points,
    sizes_from: Callable[[Points, NDArray[np.float64]], Lengths],
) -> list[Cause]:
    """What the card's scatter, the unsure focal length and the lens's distortion do to the sizes.

    ``sizes_from`` gives the sizes from outline pixels and a state of the pose.
    """
    causes = []
    for name, shift in pose.shifts():
        high, low = sizes_from(pixels, pose.state + shift), sizes_from(pixels, pose.state - shift)
        causes.append(Cause(name=name, effects={k: (high[k] - low[k]) / 2.0 for k in high}))
    plain = sizes_from(pixels, pose.state)
    bent = sizes_from(pose.unbarrelled(pixels), pose.barrel_state)
    return [*causes, Cause(name="lens", effects={k: bent[k] - plain[k] for k in plain})]


def edge_effects(
    outline_mm: Points,
    measure: Callable[[Points], Lengths],
    *,
    edge_sigma_mm: float,
    patches: int = 48,
    draws: int = 40,
    seed: int = 20260,
) -> tuple[Cause, Lengths]:
    """What the outline's own scatter does to the sizes, and by how much it makes them too large.

    The largest of many measures of a ragged outline reads long, since among many ends some are
    always out by more. The scatter is put on once more, in ``patches`` independent pieces round
    the outline. What that adds on average is from two fifths (a perfect circle) to all (one clear
    longest measure) of what it had added already; so one and a half times it is taken for the
    bias, known to two thirds of itself.

    Returns
    -------
    Cause, dict of str to float
        The scatter; and the bias by size, to be subtracted.
    """
    base = measure(outline_mm)
    if edge_sigma_mm <= 0.0:
        return Cause(name="outline", effects=dict.fromkeys(base, 0.0)), dict.fromkeys(base, 0.0)
    thin = outline_mm[:: max(1, len(outline_mm) // 400)]
    reference = measure(thin)
    around = np.linalg.norm(np.roll(thin, -1, axis=0) - thin, axis=1)
    place = np.concatenate([[0.0], np.cumsum(around)[:-1]]) / around.sum() * patches
    outward = _outward(thin)

    def ragged(rng: np.random.Generator) -> Lengths:
        knots = rng.normal(0.0, edge_sigma_mm, patches)
        push = np.interp(place, np.arange(patches + 1), np.append(knots, knots[0]))
        # Between knots the mean of two has less variance; this brings it back on average.
        sizes = measure(thin + outward * push[:, None] * 1.2247)
        return {name: value - reference[name] for name, value in sizes.items()}

    found = draw(ragged, draws=draws, seed=seed)
    bias = {k: 1.5 * v.mean for k, v in found.items()}
    scatter = {k: math.hypot(v.u, 2.0 * bias[k] / 3.0) for k, v in found.items()}
    return Cause(name="outline", effects=scatter), bias


def budget_of(sizes: Lengths, causes: Iterable[Cause]) -> dict[str, Size]:
    """Sizes with standard uncertainty, components by name, and the 95 % interval."""
    squares: dict[str, dict[str, float]] = {k: {} for k in sizes}
    for cause in causes:
        for k in sizes:
            effect = cause.effects.get(k, 0.0)
            squares[k][cause.name] = squares[k].get(cause.name, 0.0) + effect**2
    made: dict[str, Size] = {}
    for k, value in sizes.items():
        u = math.sqrt(sum(squares[k].values()))
        made[k] = Size(
            value=value,
            u=u,
            interval95=(max(0.0, value - COVERAGE_95 * u), value + COVERAGE_95 * u),
            components={name: math.sqrt(v) for name, v in squares[k].items()},
        )
    return made


def _outward(outline: Points) -> NDArray[np.float64]:
    """(N, 2) unit normals of a closed outline, away from its inside."""
    along = np.roll(outline, -1, axis=0) - np.roll(outline, 1, axis=0)
    length = np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    normal = np.column_stack([along[:, 1], -along[:, 0]]) / length
    x, y = outline.T
    turns = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return np.asarray(normal if turns > 0 else -normal, dtype=np.float64)
