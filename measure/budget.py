"""From single causes of error to the standard uncertainty and interval of every size."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from measure.planar import area_of, hull_of, least_width, ring_of, square_to, widest_of
from measure.pose import Pose
from measure.quantity import Size
from measure.results import Points
from measure.uncertainty import Inputs, drawn_from, even_draws, propagate
from measure.variants import Kind, Many, ragged_sizes

__all__ = [
    "COVERAGE_95",
    "Cause",
    "Lengths",
    "Method",
    "Weighed",
    "bloom_lengths",
    "budget_of",
    "changed_by",
    "clump_lengths",
    "edge_effects",
    "pose_causes",
    "ragged_effects",
    "shadow_effects",
    "share_of",
    "weigh",
]

Lengths = dict[str, float]

Method = Literal["propagation", "Monte Carlo"]

_MAXIMA = frozenset({"widest_mm", "ring_mm"})

COVERAGE_95 = 1.959964


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One named cause of error and what one standard uncertainty of it does to every size.

    Causes of the same name are added in quadrature.
    """

    name: str
    effects: Mapping[str, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """Sizes with their uncertainty, and how that was found for one of them at least."""

    sizes: dict[str, Size]
    method: Method


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

    rng = np.random.default_rng(seed)
    sizes = [ragged(rng) for _ in range(draws)]
    found = {k: drawn_from(np.array([size[k] for size in sizes])) for k in reference}
    bias = {k: 1.5 * v.mean for k, v in found.items()}
    scatter = {k: math.hypot(v.u, 2.0 * bias[k] / 3.0) for k, v in found.items()}
    return Cause(name="outline", effects=scatter), bias


def ragged_effects(
    outline_mm: Points,
    measure: Callable[[NDArray[np.float64]], Many],
    *,
    edge_sigma_mm: float,
    patches: int = 48,
    draws: int = 100,
    seed: int = 20260,
) -> tuple[Cause, Cause, Lengths]:
    """What the outline's own scatter does to the sizes, and by how much it makes them too large.

    The largest of many measures of a ragged outline reads long, since among many ends some are
    always out by more. The scatter is put on once more, in ``patches`` independent pieces round
    the outline. What that adds on average is from two fifths (a perfect circle) to all (one clear
    longest measure) of what it had added already; so one and a half times it is taken for the
    bias, known to two thirds of itself.

    ``measure`` gives the sizes (B,) of outlines (B, N, 2), the same points in all.

    Returns
    -------
    Cause, Cause, dict of str to float
        The scatter; what is unsure of the bias; and the bias by size, to be subtracted.
    """
    thin = _evenly(outline_mm, 240)
    reference = measure(thin[None])
    if edge_sigma_mm <= 0.0:
        still = dict.fromkeys(reference, 0.0)
        return Cause(name="outline", effects=still), Cause(name="maximum", effects=still), still
    rng = np.random.default_rng(seed)
    knots = rng.normal(0.0, edge_sigma_mm, (draws, patches))
    place = np.arange(len(thin)) * (patches / len(thin))
    before = place.astype(int)
    part = place - before
    push = knots[:, before] * (1.0 - part) + knots[:, (before + 1) % patches] * part
    # Between knots the mean of two has less variance; this brings it back on average.
    outlines = thin + 1.2247 * push[..., None] * _outward(thin)
    found = {k: drawn_from(v - reference[k]) for k, v in measure(outlines).items()}
    bias = {k: 1.5 * v.mean for k, v in found.items()}
    return (
        Cause(name="outline", effects={k: v.u for k, v in found.items()}),
        Cause(name="maximum", effects={k: abs(v) * 2.0 / 3.0 for k, v in bias.items()}),
        bias,
    )


def shadow_effects(outline_mm: Points, *, kind: Kind, u_shadow_mm: float) -> Cause:
    """What it does that the outline on the side away from the light may take in some shadow.

    Or leave out some of the subject with it. Where the light came from is not known: the mean
    square over all sides is taken.
    """
    thin = _evenly(outline_mm, 240)
    outward = _outward(thin)
    turn = np.arange(12) * (2.0 * np.pi / 12)
    away = np.maximum(outward @ np.array([np.cos(turn), np.sin(turn)]), 0.0)
    moved = thin + u_shadow_mm * away.T[..., None] * outward
    sizes = ragged_sizes(np.concatenate([thin[None], moved]), kind=kind)
    return Cause(
        name="shadow",
        effects={k: float(np.sqrt(np.mean((v[1:] - v[0]) ** 2))) for k, v in sizes.items()},
    )


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


def weigh(
    lengths: Lengths,
    causes: Iterable[Cause],
    inputs: Inputs,
    *,
    method: Method | None = None,
    draws: int = 2000,
    pilot_draws: int = 256,
    apart_from: float = 0.035,
    least_finite: float = 0.98,
    seed: int = 20261,
) -> Weighed:
    """Sizes with all causes, and with what the inputs do to them.

    By propagation; by Monte Carlo (JCGM 101) for all sizes when ``pilot_draws`` say that for one of
    them the standard uncertainty is another by more than a share of ``apart_from``; or by
    ``method`` where it is given. By Monte Carlo an interval holds 95 % of the draws with as many
    below as above, and the components are what propagation gives.

    A round bloom that leans looks oval, and its widest measure reads long, whichever way it leans:
    what a lean adds on average is taken off, from the draws twice, since they lean once more.

    Raises
    ------
    ValueError
        When the inputs can't be shifted by one standard uncertainty, or when fewer than a share of
        ``least_finite`` of the draws have sizes.
    """
    others = list(causes)
    propagated = propagate(inputs)
    msg = "the sizes can't be worked out when what is unsure is off by its uncertainty"
    if not all(math.isfinite(found.u) for found in propagated.values()):
        raise ValueError(msg)
    grown = {k: lengths[k] / found.central for k, found in propagated.items()}
    ovals = [i for i, name in enumerate(inputs.names) if name == "bloom's lean"]
    oval = {
        k: max(0.0, float(found.bends[ovals].sum()) * grown[k]) if k in _MAXIMA else 0.0
        for k, found in propagated.items()
    }
    left = {k: 1.0 - oval[k] / lengths[k] for k in lengths}
    lengths = {k: value * left[k] for k, value in lengths.items()}
    others = [
        Cause(name=c.name, effects={k: e * left[k] for k, e in c.effects.items() if k in left})
        for c in others
    ]
    shifted = [
        Cause(
            name=name, effects={k: found.effects[i] * grown[k] for k, found in propagated.items()}
        )
        for i, name in enumerate(inputs.names)
    ]
    sizes = budget_of(lengths, [*others, *shifted])
    rest = {k: size.u for k, size in budget_of(lengths, others).items()}

    def drawn(count: int) -> dict[str, NDArray[np.float64]]:
        at = even_draws(count, len(inputs.names) + 1, seed=seed)
        found = inputs.sizes(at[:, :-1])
        values = {k: v * grown[k] - 2.0 * oval[k] + at[:, -1] * rest[k] for k, v in found.items()}
        if any(np.mean(np.isfinite(v)) < least_finite for v in values.values()):
            raise ValueError(msg)
        return {k: v[np.isfinite(v)] for k, v in values.items()}

    if method is None:
        apart = [abs(v.std() / sizes[k].u - 1.0) for k, v in drawn(pilot_draws).items()]
        method = "Monte Carlo" if max(apart) > apart_from else "propagation"
    if method == "propagation":
        return Weighed(sizes=sizes, method=method)
    many = drawn(draws)
    return Weighed(sizes={k: _size_drawn(sizes[k], v) for k, v in many.items()}, method=method)


def _size_drawn(size: Size, values: NDArray[np.float64]) -> Size:
    found = drawn_from(values)
    low, high = found.interval95
    return Size(
        value=found.mean,
        u=found.u,
        interval95=(max(0.0, low), high),
        components={k: v * found.mean / size.value for k, v in size.components.items()},
    )


def _evenly(outline: Points, count: int) -> Points:
    """The closed outline with so many points, evenly spaced along it."""
    around = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
    along = np.concatenate([[0.0], np.cumsum(around)])
    wanted = np.arange(count) * (along[-1] / count)
    ring = np.concatenate([outline, outline[:1]])
    return np.column_stack([np.interp(wanted, along, ring[:, axis]) for axis in (0, 1)])


def _outward(outline: Points) -> NDArray[np.float64]:
    """(N, 2) unit normals of a closed outline, away from its inside."""
    along = np.roll(outline, -1, axis=0) - np.roll(outline, 1, axis=0)
    length = np.maximum(np.linalg.norm(along, axis=1, keepdims=True), 1e-12)
    normal = np.column_stack([along[:, 1], -along[:, 0]]) / length
    x, y = outline.T
    turns = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return np.asarray(normal if turns > 0 else -normal, dtype=np.float64)
