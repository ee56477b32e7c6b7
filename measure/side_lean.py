"""What a bloom's lean does to its depth seen from the side, and the depth freed of it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["UprightDepth", "depth_seen", "u_spheroid", "upright_depth"]

Values = NDArray[np.float64]

# No bloom is taken to be flatter than this share of its width, nor deeper than that one; between
# them any depth is as likely as any other. Our judgement.
_FLATTEST, _DEEPEST = 0.05, 1.2

# What a spheroid misses of the depth of a bloom seen at an angle, as a share of its width times the
# sine of that angle: root mean square over our own procedural blooms at 5 to 30 degrees, and a
# little more than over those of other shapes.
_UNLIKE_SPHEROID = 0.09

# Of no reading of depth over width is more than this believed.
_LEAST_U = 0.004

# How far leans are followed, in standard uncertainties, and in what steps.
_FAR, _STEP = 3.5, 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class UprightDepth:
    """A bloom's depth along its own axis, in mm: as likely deeper as less deep; and what is unsure.

    ``u_mm`` is its standard uncertainty from lean, shape and reading together, ``interval95_mm``
    holds 95 % of what it may be. ``gain`` is what a millimetre more of the depth seen adds to it,
    and ``gain_across`` what one of the width seen does: flat blooms gain more than they are given.
    """

    mm: float
    u_mm: float
    interval95_mm: tuple[float, float]
    gain: float
    gain_across: float


def depth_seen(
    depth: Values | float, *, towards_rad: Values | float, in_plane_rad: Values | float
) -> Values:
    """How deep a spheroid looks that is so deep and one wide.

    ``towards_rad`` is how far its axis leans out of the plane square to the line of sight,
    ``in_plane_rad`` how far it leans from the direction along which the depth is read. Of an
    ellipse seen at an angle a the extent squared is depth^2 cos^2 a + width^2 sin^2 a, whichever
    turns, the bloom or the view.
    """
    seen = np.square(depth) * np.cos(towards_rad) ** 2 + np.sin(towards_rad) ** 2
    across = np.sin(in_plane_rad) ** 2
    return np.asarray(np.sqrt(seen * (1.0 - across) + across))


def u_spheroid(*, towards_rad: Values | float) -> Values:
    """What a bloom's depth seen at such an angle differs by from a spheroid's, over its width."""
    return np.asarray(_UNLIKE_SPHEROID * np.abs(np.sin(towards_rad)))


def upright_depth(
    seen_mm: float,
    *,
    across_mm: float,
    u_seen_mm: float,
    in_plane_deg: float,
    towards_deg: float,
    view_deg: float,
) -> UprightDepth:
    """The depth of a bloom that looks so deep, by Bayes' rule over every lean that it may have.

    A flat bloom that leans by 10 degrees looks twice as deep as it is, a deep one hardly deeper. So
    what is unsure of a depth hangs on the depth itself, not on how deep the bloom looks: the more
    it looks deeper for leaning, the less would be allowed for the lean.

    Parameters
    ----------
    seen_mm, across_mm : float
        Depth as seen square to the line of sight, and width.
    u_seen_mm : float
        Standard uncertainty of the depth seen, apart from lean, shape and what stretches both.
    in_plane_deg, towards_deg : float
        How far the axis leans across the card, and towards the camera, one standard uncertainty.
    view_deg : float
        How far in front of the bloom, or behind it, the camera stood.
    """
    seen, u = seen_mm / across_mm, u_seen_mm / across_mm
    low, high = min(_FLATTEST, 0.5 * seen), max(_DEEPEST, 1.3 * seen)
    depth = np.linspace(low, high, 400)
    steps = np.arange(-_FAR, _FAR + _STEP / 2.0, _STEP)
    # Which way the axis leans across the card makes no difference: half of those are enough.
    aside = np.arange(0.0, _FAR, 3.0 * _STEP)
    towards = math.radians(view_deg) + math.radians(towards_deg) * steps[:, None]
    looks = depth_seen(
        depth[:, None, None],
        towards_rad=towards,
        in_plane_rad=math.radians(in_plane_deg) * aside,
    )
    scatter = np.hypot(max(u, _LEAST_U), u_spheroid(towards_rad=towards))
    likely = np.exp(-0.5 * (steps[:, None] ** 2 + aside**2)) * np.where(aside > 0.0, 2.0, 1.0)

    def found(at: float) -> tuple[float, float, tuple[float, float]]:
        off = -0.5 * ((at - looks) / scatter) ** 2
        chance = (np.exp(off - off.max()) * (likely / scatter)).sum(axis=(1, 2))
        chance /= chance.sum()
        below = np.cumsum(chance) - chance / 2.0
        low, middle, high = np.interp([0.025, 0.5, 0.975], below, depth).tolist()
        return middle, math.sqrt(float(chance @ (depth - middle) ** 2)), (low, high)

    middle, u_depth, (lowest, highest) = found(seen)
    nudge = max(u, _LEAST_U)
    gain = (found(seen + nudge)[0] - found(seen - nudge)[0]) / (2.0 * nudge)
    return UprightDepth(
        mm=middle * across_mm,
        u_mm=u_depth * across_mm,
        interval95_mm=(lowest * across_mm, highest * across_mm),
        gain=gain,
        gain_across=middle - gain * seen,
    )
