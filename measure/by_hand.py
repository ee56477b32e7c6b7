"""Sizes by hand: an outline or two calliper ends set on the photo, a tape's or a ring's reading."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from measure.bloom import size_bloom
from measure.budget import COVERAGE_95, Lengths, ragged_effects
from measure.clump import size_clump
from measure.outline.edge import resample_closed
from measure.own_depth import OwnDepth
from measure.planar import area_of
from measure.pose import Pose
from measure.quantity import Size
from measure.results import Form, Held, Measurement, Outline, Points, Printing
from measure.side import size_bloom_side
from measure.side_axis import SideAxis
from measure.variants import Many, ragged_sizes

__all__ = [
    "ByHandError",
    "ByHandOf",
    "Pointer",
    "placed_px",
    "size_by_hand_outline",
    "size_by_tape",
]

ByHandOf = Literal["bloom", "bloom-side", "clump"]
Pointer = Literal["finger", "mouse"]

# How well a point is placed on a picture that is shown whole, over its longer side, one standard
# uncertainty. Our judgement: a finger covers what it points at, and lands within 2 or 3 of the 550
# points that a phone's screen has along it; a mouse within 1.5 of a thousand.
_PLACED: Mapping[Pointer, float] = MappingProxyType({"finger": 0.0045, "mouse": 0.0015})

# Fewer points than these are joined by a smooth curve, since straight lines between them would
# cut a round bloom's edge short: by 1.4 % of the radius at 19 points, by 0.1 % at 60.
_SMOOTH_BELOW = 60

# Standard uncertainty of a tape's and a ring's reading: so many mm, and so many per cent. Our
# judgement. Tape: read to a millimetre or two, held over petals that give way, the widest place
# found by eye. Ring: petals brush it, and how hard they may do so is a matter of taste.
_READING: Mapping[str, tuple[float, float]] = MappingProxyType(
    {"tape": (1.5, 1.0), "ring": (1.0, 1.2)}
)

_LARGEST_MM = 1000.0


class ByHandError(ValueError):
    """Points or readings set by hand that can't be right: a sentence, and what to do."""

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{reason} {remedy}")


def placed_px(pose: Pose, pointer: Pointer = "mouse") -> float:
    """How well a point is placed by hand on the whole picture, one standard uncertainty, pixels."""
    return _PLACED[pointer] * float(np.max(2.0 * pose.centre_px + 1.0))


def size_by_hand_outline(
    points: Points,
    *,
    of: ByHandOf,
    pose: Pose,
    form: Form | None = None,
    held: Held | None = None,
    lift_mm: float | None = None,
    depth: OwnDepth | None = None,
    axis: SideAxis | None = None,
    printing: Printing,
    placed_sigma_px: float | None = None,
) -> Measurement:
    """Sizes from the outline that a grower drew or corrected on the photo.

    Parameters
    ----------
    points : (N, 2) float array
        In pixels, in order round the subject; at least five. Up to sixty are joined by a smooth
        curve round blooms, and by straight lines round clumps.
    of : "bloom", "bloom-side" or "clump"
    pose : Pose
        Of the photo's card.
    form, held, lift_mm, depth, printing
        As for ``measure_bloom``; ``held`` of a bloom from the side is level unless told.
    axis : SideAxis, optional
        Of a bloom from the side.
    placed_sigma_px : float, optional
        How well one point was placed, one standard uncertainty; None: as with a mouse on the whole
        picture. It is the component "placing", smaller for many points.

    Raises
    ------
    ByHandError
        When the points are no outline.
    LiftError, MeasureError
        As for ``measure_bloom``.
    """
    checked = _checked(points)
    sigma = placed_px(pose) if placed_sigma_px is None else placed_sigma_px
    if not 0.0 <= sigma < math.inf:
        msg = f"how well points are placed is a number of pixels, got {sigma!r}"
        raise ValueError(msg)
    smooth = of != "clump" and len(checked) < _SMOOTH_BELOW
    line = _smooth(checked) if smooth else resample_closed(checked, step_px=2.0, least=360)
    outline = Outline(points=line, confidence=1.0, edge_sigma_px=0.0)
    if of == "bloom":
        made = size_bloom(
            outline,
            pose=pose,
            form=form,
            held=held,
            lift_mm=lift_mm,
            depth=depth,
            printing=printing,
        )
    elif of == "clump":
        made = size_clump(outline, pose=pose, lift_mm=lift_mm, printing=printing)
    else:
        made = size_bloom_side(
            outline, pose=pose, axis=axis, held=held or "level", printing=printing
        )
    placing, longer = _placing(line, made, sigma_px=sigma, count=len(checked))
    return replace(
        made,
        sizes=MappingProxyType(
            {
                name: _less_sure(size, "placing", placing[name], shift=-longer[name])
                for name, size in made.sizes.items()
            }
        ),
        outline=replace(made.outline, edge_sigma_px=sigma),
        settings=MappingProxyType(
            {
                **made.settings,
                "by_hand": "outline",
                "points": float(len(checked)),
                "placed_sigma_px": sigma,
            }
        ),
    )


def size_by_tape(value_mm: float, *, kind: Literal["tape", "ring"]) -> Size:
    """A size read from a tape laid across, or of the smallest ring that the bloom just passes.

    Raises
    ------
    ByHandError
        When it is no size of a bloom or a clump.
    """
    if not 0.0 < value_mm <= _LARGEST_MM:
        reason = f"A {kind} can't read {value_mm:g} mm."
        raise ByHandError(reason, f"Enter millimetres, above 0 and up to {_LARGEST_MM:.0f}.")
    fixed_mm, percent = _READING[kind]
    parts = {"reading": fixed_mm, "placing": value_mm * percent / 100.0}
    u = math.hypot(*parts.values())
    return Size(
        value=value_mm,
        u=u,
        interval95=(max(0.0, value_mm - COVERAGE_95 * u), value_mm + COVERAGE_95 * u),
        components=parts,
    )


def _checked(points: Points) -> Points:
    made: Points = np.asarray(points, dtype=np.float64)
    remedy = "Set at least five points round it, in order."
    if made.ndim != 2 or made.shape[1:] != (2,) or not np.isfinite(made).all():
        reason = "An outline is a list of places on the photo."
        raise ByHandError(reason, remedy)
    apart = np.linalg.norm(made - np.roll(made, 1, axis=0), axis=1)
    made = made[apart > 1e-6]
    if len(made) < 5:
        reason = f"{len(made)} different points are too few for an outline."
        raise ByHandError(reason, remedy)
    if area_of(made) < 25.0 or _crosses(made):
        reason = "The outline crosses itself, or holds nothing."
        raise ByHandError(reason, remedy)
    return made


def _crosses(points: Points) -> bool:
    """Whether any two sides of the closed outline cross."""
    if len(points) > 1500:
        points = points[:: len(points) // 1000]
    start, end = points, np.roll(points, -1, axis=0)

    def side(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> Points:
        u, v = b - a, c - a
        return np.asarray(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0], dtype=np.float64)

    a, b = start[:, None], end[:, None]
    c, d = start[None], end[None]
    apart = (side(a, b, c) * side(a, b, d) < 0) & (side(c, d, a) * side(c, d, b) < 0)
    return bool(apart.any())


def _smooth(points: Points, *, count: int = 480) -> Points:
    """A closed smooth curve through the points; it bulges little where they are uneven."""
    ring = np.vstack([points, points[:1]])
    steps = np.sqrt(np.linalg.norm(np.diff(ring, axis=0), axis=1))
    along = np.concatenate([[0.0], np.cumsum(steps)])
    curve = CubicSpline(along, ring, bc_type="periodic")
    return np.asarray(curve(np.linspace(0.0, along[-1], count, endpoint=False)), dtype=np.float64)


def _placing(
    line: Points, made: Measurement, *, sigma_px: float, count: int
) -> tuple[Lengths, Lengths]:
    """What the scatter of so many points does to each size, and by how much it makes it too large.

    The largest of many measures of points that are a little off reads long.
    """
    scale = made.mm_per_px
    outline_mm = (line - line.mean(axis=0)) * scale

    def sizes(outlines: NDArray[np.float64]) -> Many:
        if made.of == "clump":
            return ragged_sizes(outlines, kind="clump")
        if made.of == "bloom":
            return ragged_sizes(outlines, kind="bloom")
        along = made.callipers[1] - made.callipers[0]
        along = along / np.linalg.norm(along)
        across = np.array([-along[1], along[0]])
        return {
            "depth_mm": np.ptp(outlines @ along, axis=1),
            "across_mm": np.ptp(outlines @ across, axis=1),
        }

    scatter, maximum, longer = ragged_effects(
        outline_mm, sizes, edge_sigma_mm=sigma_px * scale, patches=min(count, 120)
    )
    return {k: math.hypot(scatter.effects[k], maximum.effects[k]) for k in longer}, longer


def _less_sure(size: Size, name: str, u: float, *, shift: float = 0.0) -> Size:
    """The size moved by ``shift``, with one more component; its interval widens to both sides."""
    value = size.value + shift
    low, high = size.interval95
    more = COVERAGE_95 * u
    return Size(
        value=value,
        u=math.hypot(size.u, u),
        interval95=(
            max(0.0, value - math.hypot(size.value - low, more)),
            value + math.hypot(high - size.value, more),
        ),
        components={**size.components, name: u},
    )
