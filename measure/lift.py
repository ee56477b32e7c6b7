"""What stands above the card's plane: a bloom as a dome, the ends of a clump, and their priors.

A photo shows the outline along slanting rays, so that what is nearer the camera than the card
reads too long. Where the outline lies in height is not seen in one photo; it is put in here.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import cast

import numpy as np
from numpy.typing import NDArray

from measure.planar import hull_of
from measure.results import Form, Held, Points

__all__ = [
    "BLOOM_SHADOW_MM",
    "CLUMP_END_SCATTER",
    "CLUMP_LIFT",
    "CLUMP_OUTLINE_PERCENT",
    "CLUMP_SHADOW_MM",
    "DOMES",
    "UNKNOWN_FORM",
    "Dome",
    "DomeShape",
    "FittedDome",
    "LiftError",
    "check_below_lens",
    "dome_of",
    "fit_dome",
    "on_level",
    "slant_percent",
    "touching",
]


# A told height of more than this share of the lens's own is a slip of the pen: above the lens
# nothing is seen, and just below it a millimetre of height decides everything.
_HIGHEST_TOLD = 0.5


class LiftError(ValueError):
    """A told height above the card that can't be: a sentence, and what to do."""

    def __init__(self, reason: str) -> None:
        self.reason = reason
        self.remedy = "Measure the height above the card with a ruler and enter it in millimetres."
        super().__init__(f"{reason} {self.remedy}")


@dataclass(frozen=True, slots=True, kw_only=True)
class DomeShape:
    """A form of bloom as a spheroid about the bloom's axis, sizes as shares of its diameter D.

    Attributes
    ----------
    half_height, u_half_height : float
        From the widest part to the front, over D.
    rise, u_rise : float
        Height of the widest part over the bloom's back, over D.
    behind : float
        Half-height behind the widest part, as a share of that before it: a bloom's back is flatter
        than its front. It matters only where a camera at a slant looks past the widest part.
    rise_laid : float
        The rise of a bloom that lies on the bench: a flat one's petals sink.
    u_shape_percent : float
        What the dome, with its height and depth known, still misses of a single bloom's widest
        measure, one standard uncertainty.
    """

    half_height: float
    u_half_height: float
    rise: float
    u_rise: float
    u_shape_percent: float
    behind: float
    rise_laid: float


def _shape(
    half_height: float,
    u_half_height: float,
    rise: float,
    u_rise: float,
    u_shape_percent: float,
    *,
    behind: float = 0.4,
    rise_laid: float | None = None,
) -> DomeShape:
    return DomeShape(
        half_height=half_height,
        u_half_height=u_half_height,
        rise=rise,
        u_rise=u_rise,
        u_shape_percent=u_shape_percent,
        behind=behind,
        rise_laid=rise if rise_laid is None else rise_laid,
    )


# Our judgement, not a table from anywhere: how deep blooms of a form are was put into our own
# procedural blooms (measure.shapes), and half-height and rise fitted to exact views of those
# (tests/benchmarks/fit_domes.py prints the fit and what it leaves). The uncertainties are wider
# than their scatter, because real blooms differ more from each other than drawn ones. Flat blooms
# differ most in how high they carry their rim, cupped, level or bent back: 0.15 in ours, 0.12
# (standing) and 0.04 (laid down) in rendered ones built by other rules, 0.04 in the samples.
_FLAT = _shape(0.26, 0.08, 0.10, 0.055, 0.8, rise_laid=0.06)
_FLAT_WITH_CUSHION = _shape(0.28, 0.08, 0.11, 0.055, 0.8, rise_laid=0.07)
_SHALLOW = _shape(0.30, 0.07, 0.16, 0.035, 0.6)
_FULL = _shape(0.40, 0.07, 0.165, 0.035, 0.5)
_SPIKY = _shape(0.36, 0.07, 0.165, 0.035, 0.8)

DOMES: Mapping[Form, DomeShape] = MappingProxyType(
    {
        "single": _FLAT,
        "orchid": _FLAT,
        "collerette": _FLAT,
        "anemone": _FLAT_WITH_CUSHION,
        "peony": _SHALLOW,
        "waterlily": _SHALLOW,
        "decorative": _FULL,
        "fimbriated": _FULL,
        "double orchid": _FULL,
        "stellar": _FULL,
        "miscellaneous": _shape(0.34, 0.10, 0.18, 0.06, 0.8),
        "cactus": _SPIKY,
        "semi-cactus": _SPIKY,
        "ball": _shape(0.44, 0.05, 0.33, 0.04, 0.6, behind=0.9),
        "pompon": _shape(0.45, 0.05, 0.42, 0.04, 0.5, behind=1.0),
    }
)

# Wide enough that balls and pompons, at one end of it, lie within as often as the others.
UNKNOWN_FORM = _shape(0.38, 0.10, 0.225, 0.095, 0.8, behind=0.6)

# The two ends of a clump's widest measure lie about this share of it above the card, and u of that
# share: for where the outline, which tells more (measure.clump_heights), is not known. How much
# higher tubers stand that are clear of the ground is in measure.standing. Our judgement, set
# between clumps built by six sets of rules.
CLUMP_LIFT = (0.048, 0.022)

# How much one end of a measure lies higher or lower than a height that was told for the outline,
# as a share of the spread. Our judgement.
CLUMP_END_SCATTER = 0.040

# How wrong the best outline of a clump is, in per cent of its lengths: thin ends are lost, soil
# between tubers is taken in. From our rendered photographs, of whose outlines with full confidence
# half were out by more than 0.7 %.
CLUMP_OUTLINE_PERCENT = 1.3

# By how much an outline lies too far out, or in, on the side away from the light, where it takes in
# some of a shadow or loses some of the subject in it; one standard uncertainty. Our judgement.
BLOOM_SHADOW_MM = 0.2
CLUMP_SHADOW_MM = 0.4

# What the dome misses of a bloom seen at a slant, in per cent of its widest measure, is this times
# its half-height as a share of D and the tangent of the slant: a bloom is not as deep behind its
# widest part as before it, and lopsided besides (tests/benchmarks/fit_domes.py).
_SLANT_PERCENT = 6.5

# Gap in mm between card and bloom's back, or from the card's plane to the widest part when held
# level with it, and its standard uncertainty. Our judgement.
_GAPS: Mapping[Held, tuple[float, float]] = MappingProxyType(
    {"behind": (3.0, 3.0), "level": (0.0, 4.0), "bench": (5.0, 5.0)}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Dome:
    """The height of a bloom's widest part, and its half-height, as functions of its diameter.

    ``height = gap_mm + rise * D`` above the card; ``half_height * D`` from there to the front.
    """

    shape: DomeShape
    gap_mm: float
    u_gap_mm: float
    rise: float
    u_rise: float

    def height_mm(self, diameter_mm: float) -> float:
        """Of the widest part above the card."""
        return self.gap_mm + self.rise * diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FittedDome:
    """A bloom's outline seen along the card's normal, (N, 2) card positions in mm.

    ``middle_mm`` is where its axis meets the card, ``diameter_mm`` the mean measure of its hull.
    """

    outline_mm: Points
    middle_mm: NDArray[np.float64]
    diameter_mm: float


def dome_of(
    form: Form | None, held: Held, *, lift_mm: float | None = None, u_lift_mm: float = 3.0
) -> Dome:
    """What is known beforehand of a bloom of this form, its card held so.

    ``lift_mm``, where the grower measured it, is the height of the bloom's widest part above the
    the card; then neither form nor holding says anything of it. ``LiftError`` when it can't be.
    """
    shape = UNKNOWN_FORM if form is None else DOMES[form]
    if lift_mm is not None:
        if not -100.0 <= lift_mm <= 300.0:
            msg = f"A bloom's height above the card runs from -100 to 300 mm, got {lift_mm:g}."
            raise LiftError(msg)
        return Dome(shape=shape, gap_mm=lift_mm, u_gap_mm=u_lift_mm, rise=0.0, u_rise=0.0)
    gap, u_gap = _GAPS[held]
    if held == "level":
        return Dome(shape=shape, gap_mm=gap, u_gap_mm=u_gap, rise=0.0, u_rise=0.02)
    rise = shape.rise_laid if held == "bench" else shape.rise
    return Dome(shape=shape, gap_mm=gap, u_gap_mm=u_gap, rise=rise, u_rise=shape.u_rise)


def slant_percent(dome: Dome, *, eye: NDArray[np.float64], fitted: FittedDome) -> float:
    """What the dome misses since the camera at ``eye`` saw it at a slant, in per cent."""
    across = float(np.linalg.norm(eye[:2] - fitted.middle_mm))
    up = max(float(eye[2]) - dome.height_mm(fitted.diameter_mm), 1e-6)
    return _SLANT_PERCENT * dome.shape.half_height * min(across / up, 2.0)


def check_below_lens(eye: NDArray[np.float64], lift_mm: float) -> None:
    """``LiftError`` unless a told height is clearly below the camera at ``eye``, (3,) in mm."""
    if not lift_mm <= _HIGHEST_TOLD * eye[2]:
        msg = (
            f"The height above the card can't be {lift_mm:g} mm when the photo was taken from"
            f" {eye[2]:.0f} mm above it."
        )
        raise LiftError(msg)


def fit_dome(
    eye: NDArray[np.float64],
    directions: NDArray[np.float64],
    *,
    gap_mm: float,
    rise: float,
    half_height: float,
    behind: float = 1.0,
    axis_lean: tuple[float, float] = (0.0, 0.0),
    start: FittedDome | None = None,
    tolerance_mm: float = 1e-3,
) -> FittedDome:
    """The bloom's true outline, seen along the card's normal, from the rays to its seen outline.

    Every ray touches the bloom somewhere above its widest part. The bloom is taken as a spheroid
    whose radius may differ from direction to direction, with one height and one half-height;
    each ray then has one radius at which it touches, and the direction in which it does.

    Parameters
    ----------
    eye : (3,) float array
        The camera, card axes with heights positive, mm.
    directions : (N, 3) float array
        Rays to the outline's points; two rays are the ends of a calliper measure.
    gap_mm, rise, half_height, behind : float
        As in ``Dome`` and ``DomeShape``.
    axis_lean : (x, y)
        Lean of the bloom's axis off the card's normal, as tangents.
    start : FittedDome, optional
        A dome near the one looked for, to begin with.
    tolerance_mm : float

    Raises
    ------
    ValueError
        When the dome does not settle: rays that miss any bloom before the camera.
    """
    if start is None:
        middle, diameter = _middle_and_diameter(on_level(eye, directions, gap_mm))
    else:
        middle, diameter = start.middle_mm, start.diameter_mm
    last = np.zeros(3)
    for _ in range(60):
        centre = np.array([middle[0], middle[1], gap_mm + rise * diameter])
        outline = middle + touching(
            eye - centre,
            directions,
            half_height_mm=max(half_height * diameter, 0.5),
            behind=behind,
            axis_lean=axis_lean,
        )
        found, width = _middle_and_diameter(outline)
        step = np.array([*(found - middle), width - diameter])
        if not np.isfinite(step).all():
            break
        if float(np.abs(step).sum()) < tolerance_mm:
            return FittedDome(outline_mm=outline, middle_mm=found, diameter_mm=width)
        # Seen near and at a slant each step overshoots the last; halfway it settles at once.
        share = 0.5 if float(step @ last) < 0.0 else 1.0
        middle, diameter = middle + share * step[:2], diameter + share * float(step[2])
        last = step
    msg = "no bloom can look like this outline from where the camera stood"
    raise ValueError(msg)


def on_level(
    eye: NDArray[np.float64],
    directions: NDArray[np.float64],
    height_mm: NDArray[np.float64] | float,
) -> Points:
    """(N, 2) card positions where the rays meet the plane at this height, or each at its own."""
    reach = (height_mm - eye[2]) / directions[:, 2]
    return cast("Points", eye[:2] + reach[:, None] * directions[:, :2])


def _middle_and_diameter(outline: Points) -> tuple[NDArray[np.float64], float]:
    """Centroid of the hull, and its mean width, which is its perimeter over pi (Cauchy).

    Of two points, which are the ends of callipers: the middle between them, and how far apart.
    """
    if len(outline) == 2:
        return outline.mean(axis=0), float(np.linalg.norm(outline[1] - outline[0]))
    hull = outline[hull_of(outline)]
    after = np.roll(hull, -1, axis=0)
    base = hull.mean(axis=0)
    x, y = (hull - base).T
    x1, y1 = (after - base).T
    cross = x * y1 - x1 * y
    centroid = np.array([((x + x1) * cross).sum(), ((y + y1) * cross).sum()]) / (3.0 * cross.sum())
    perimeter = float(np.linalg.norm(after - hull, axis=1).sum())
    return base + centroid, perimeter / math.pi


def touching(
    eye: NDArray[np.float64],
    directions: NDArray[np.float64],
    *,
    half_height_mm: NDArray[np.float64] | float,
    behind: float = 1.0,
    axis_lean: NDArray[np.float64] | tuple[float, float],
) -> Points:
    """(N, 2) where each ray touches, as seen along the card's normal, about the spheroid's centre.

    ``eye`` is the camera's place from that centre, (3,) in mm; ``directions`` are the rays, (N, 3);
    ``behind`` is the half-height behind the widest part, as a share of that before it. Or for B
    spheroids at once: (B, 3), (B, N, 3), half-heights (B,) and leans (B, 2) give (B, N, 2).

    With A = 1 / radius^2, a ray o + t d touches when its discriminant is zero, which is
    A^2 (P Q - R^2) + A (P d'^2 + Q (o'^2 - 1) - 2 R o' d') - d'^2 = 0, where P, Q, R are the
    squares and the product of the parts of o and d across the axis, and o', d' the parts along it
    over the half-height. The product of the roots is negative: one radius fits.
    """
    turn = _leaning(np.asarray(axis_lean, np.float64))
    o = np.matmul(turn, eye[..., None])
    d = np.matmul(directions, np.swapaxes(turn, -1, -2))
    ox, oy, oz = o[..., 0, :], o[..., 1, :], o[..., 2, :]
    dx, dy, dz = d[..., 0], d[..., 1], d[..., 2]
    p = ox**2 + oy**2
    q = dx**2 + dy**2
    r = ox * dx + oy * dy
    height = np.asarray(half_height_mm, np.float64)[..., None]
    if behind != 1.0:
        # A ray that is still drawing nearer to the axis at the widest part's level touches below.
        height = np.where(r * dz < q * oz, height, behind * height)
    oz, dz = oz / height, dz / height
    square = dz**2
    a = np.maximum(p * q - r**2, 0.0)
    b = p * square + q * (oz**2 - 1.0) - 2.0 * r * oz * dz
    root = b + np.sqrt(b**2 + 4.0 * a * square)
    inverse_square = 2.0 * square / np.maximum(root, 1e-300)
    reach = -(inverse_square * r + oz * dz) / (inverse_square * q + square)
    x, y = ox + reach * dx, oy + reach * dy
    longer = 1.0 / np.sqrt(inverse_square * np.maximum(x * x + y * y, 1e-24))
    return np.stack([x * longer, y * longer], axis=-1)


def _leaning(axis_lean: NDArray[np.float64]) -> NDArray[np.float64]:
    """(..., 3, 3) rotations that bring axes leaning so (..., 2) back onto the card's normal."""
    x, y = axis_lean[..., 0], axis_lean[..., 1]
    length = np.sqrt(1.0 + x * x + y * y)
    ax, ay, az = x / length, y / length, 1.0 / length
    nought = np.zeros_like(ax)
    skew = np.stack(
        [
            np.stack([nought, nought, -ax], axis=-1),
            np.stack([nought, nought, -ay], axis=-1),
            np.stack([ax, ay, nought], axis=-1),
        ],
        axis=-2,
    )
    rest = skew @ skew / (1.0 + az)[..., None, None]
    return np.asarray(np.eye(3) + skew + rest, dtype=np.float64)
