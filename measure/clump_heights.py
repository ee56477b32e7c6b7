"""How high each part of a clump's outline lies, from how thick the clump is just inside it.

A tuber that lies on the ground shows its edge at half its own thickness: the thicker it is there,
the higher what was seen of it.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.planar import widest_of
from measure.results import Points

__all__ = ["ENDS", "FLANKS", "ClumpHeights", "clump_heights", "edge_thickness"]

Floats = NDArray[np.float64]

# What the widest and the narrowest measure rest on are tubers' ends, so many times half their own
# thickness above the card where they lie on the ground: less than once, since they taper. How far
# they stand off it is not seen (measure.standing).
ENDS = 0.85
# What bounds the area are flanks and crown, which lie higher: a share of the spread, times half the
# thickness, and times that and the tangent of the sight besides, since a ray touches above the
# middle of the thickness where the edge faces away from the camera, below it where it faces it.
# Our judgement, between what fits best to clumps drawn by several sets of rules
# (tests/benchmarks/fit_clump_heights.py).
FLANKS = (0.030, 0.56, 0.30)

# Pixels over the spread at which the thickness is looked at, and places round the outline.
_SPREAD_PX = 240.0
_PLACES = 400
# Over so many places to either side thicknesses are averaged.
_NEARBY = 9
# Half a thickness more than this share of the spread is none of a tuber's.
_THICKEST = 0.25


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClumpHeights:
    """Heights of an outline's points above the card, (N,) as shares of its spread.

    ``ends`` for what lies between two of its points, ``flanks`` for the area.
    """

    ends: Floats
    flanks: Floats


def clump_heights(outline_mm: Points, *, eye_mm: Floats) -> ClumpHeights:
    """Heights of a clump's outline, (N, 2) as cast onto the card by a camera at ``eye_mm``, (3,).

    ``ValueError`` for an outline of fewer than three points or on one line.
    """
    half, facing = edge_thickness(outline_mm, eye_mm=eye_mm)
    share, times, turned = FLANKS
    return ClumpHeights(
        ends=ENDS * half,
        flanks=np.maximum(share + (times + turned * facing) * half, 0.0),
    )


def edge_thickness(outline_mm: Points, *, eye_mm: Floats) -> tuple[Floats, Floats]:
    """Half the thickness just inside each point, (N,) as shares of the spread; and its facing.

    The half thickness is the mean, over a twentieth of the outline's length, of the radius of the
    largest disc within that touches the edge, or of up to a ninth more, for ragged edges: at the
    very tip no disc tells how thick a tuber is. The facing is the tangent, (N,), at which the
    camera looks past the edge: positive where the edge faces away from it.
    """
    scale = _SPREAD_PX / widest_of(outline_mm).length
    low = outline_mm.min(axis=0)
    ring = (outline_mm - low) * scale + 4.0
    columns, rows = np.ceil(ring.max(axis=0)).astype(int) + 5
    region = np.zeros((rows, columns), np.uint8)
    cv2.fillPoly(region, [np.round(ring * 16).astype(np.int32).reshape(-1, 1, 2)], 1, cv2.LINE_8, 4)
    around = np.linalg.norm(np.roll(ring, -1, axis=0) - ring, axis=1)
    along = np.concatenate([[0.0], np.cumsum(around)])
    wanted = np.arange(_PLACES) * (along[-1] / _PLACES)
    closed = np.concatenate([ring, ring[:1]])
    places = np.column_stack([np.interp(wanted, along, closed[:, k]) for k in (0, 1)])
    inward = _inward(places)
    half = _half_thickness(region, places, inward) / _SPREAD_PX
    wrapped = np.concatenate([half[-_NEARBY:], half, half[:_NEARBY]])
    half = np.convolve(wrapped, np.full(2 * _NEARBY + 1, 1 / (2 * _NEARBY + 1)), mode="valid")
    sight = ((places - 4.0) / scale + low - eye_mm[:2]) / eye_mm[2]
    facing = -np.sum(sight * inward, axis=1)
    nearest = np.round(along[:-1] / along[-1] * _PLACES).astype(int) % _PLACES
    return half[nearest], facing[nearest]


def _inward(ring: Points, *, smooth: float = 1.5) -> Floats:
    """(N, 2) unit normals of a closed outline, into it."""
    turn = np.exp(-0.5 * (np.arange(-6, 7) / smooth) ** 2)
    wrapped = np.concatenate([ring[-6:], ring, ring[:6]])
    soft = np.column_stack([np.convolve(wrapped[:, k], turn, mode="valid") for k in (0, 1)])
    step = np.roll(soft, -1, axis=0) - np.roll(soft, 1, axis=0)
    normal = np.column_stack([-step[:, 1], step[:, 0]])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    x, y = ring.T
    turns = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return np.asarray(normal if turns > 0 else -normal, dtype=np.float64)


def _half_thickness(region: NDArray[np.uint8], places: Points, inward: Floats) -> Floats:
    """(N,) radii of the largest discs within the region that touch its edge at each place, px."""
    deep = np.asarray(cv2.distanceTransform(region, cv2.DIST_L2, 5))
    radii = np.arange(2.0, _THICKEST * _SPREAD_PX)
    middles = (places[:, None] + radii[None, :, None] * inward[:, None]).astype(np.float32)
    found = np.asarray(
        cv2.remap(deep, middles[..., 0], middles[..., 1], cv2.INTER_LINEAR), np.float64
    )
    # What the grid and a ragged edge take off a disc.
    fits = found >= 0.9 * radii - 0.7
    last = len(radii) - 1 - np.argmax(fits[:, ::-1], axis=1)
    return np.asarray(np.where(fits.any(axis=1), radii[last], radii[0]), dtype=np.float64)
