"""Work on regions of a window: parts, holes, opening, growing, contours, comparing two."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Points

__all__ = [
    "Mask",
    "bridged",
    "closed_by",
    "dilated",
    "filled",
    "grown",
    "length_over_width",
    "longest_contour",
    "nearest_part",
    "open_by",
    "overlap",
    "reached",
    "rough_parts",
    "spread_of",
    "touch_length",
    "widest_of",
]

Mask = NDArray[np.bool_]


def filled(mask: Mask) -> Mask:
    """The mask with its holes filled."""
    padded = np.pad(mask.astype(np.uint8), 1)
    outside = padded.copy()
    cv2.floodFill(outside, None, (0, 0), 2)
    return np.asarray((outside != 2)[1:-1, 1:-1])


def rough_parts(mask: Mask) -> tuple[NDArray[np.int32], NDArray[np.int32], Points]:
    """Connected parts: labels (0 is none), areas in pixels, and their centroids (x, y)."""
    _, labels, stats, centroids = cv2.connectedComponentsWithStats(
        mask.astype(np.uint8), connectivity=4
    )
    areas = np.asarray(stats, dtype=np.int32).reshape(-1, 5)[:, cv2.CC_STAT_AREA].copy()
    areas[0] = 0
    return np.asarray(labels), areas, np.asarray(centroids, dtype=np.float64).reshape(-1, 2)


def nearest_part(mask: Mask, near: tuple[float, float], *, reach: float) -> Mask:
    """The connected part that is largest for its distance from ``near``.

    A part loses half its weight at ``reach`` pixels between ``near`` and its own nearest pixel.
    """
    labels, areas, _ = rough_parts(mask)
    if len(areas) < 2:
        return np.zeros(mask.shape, dtype=bool)
    rows, columns = np.nonzero(labels)
    away = np.hypot(columns - near[0], rows - near[1])
    closest = np.full(len(areas), np.inf)
    np.minimum.at(closest, labels[rows, columns], away)
    weight = areas / (1.0 + (closest / reach) ** 2)
    return np.asarray(labels == int(np.argmax(weight)))


def open_by(mask: Mask, radius: float) -> Mask:
    """Opening by a disc: what is thinner than twice the radius (any fraction of a pixel) goes."""
    if radius < 0.5:
        return mask
    rows, columns = (np.flatnonzero(mask.any(axis=axis)) for axis in (1, 0))
    if not len(rows):
        return mask
    around = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    # The transform counts a pixel at the edge as one pixel from it: half a pixel too much where the
    # width is odd, right where it is even. What the grid takes off beyond that is given back.
    padded = np.pad(mask[around].astype(np.uint8), 1)
    # Wider discs are laid down to a fiftieth of their radius, in a fifth of the time.
    way = cv2.DIST_MASK_PRECISE if radius < 4 else cv2.DIST_MASK_5
    deep = cv2.distanceTransform(padded, cv2.DIST_L2, way) - 0.25 >= radius
    away = cv2.distanceTransform((~deep).astype(np.uint8), cv2.DIST_L2, way)
    opened = np.zeros_like(mask)
    opened[around] = (away[1:-1, 1:-1] <= radius + 0.5) & mask[around]
    return opened


def closed_by(mask: Mask, radius: float) -> Mask:
    """Closing by a disc: gaps narrower than twice the radius are filled."""
    reach = round(radius)
    if reach < 1:
        return mask
    # Two distances take a fifth of the time that a large disc takes, laid down at every pixel.
    near = dilated(np.pad(mask, 2 * reach + 1), reach)
    left = cv2.distanceTransform(near.astype(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(left[2 * reach + 1 : -2 * reach - 1, 2 * reach + 1 : -2 * reach - 1] > reach)


def reached(room: Mask, start: Mask) -> Mask:
    """The parts of ``room`` that hold some of ``start``."""
    labels, _, _ = rough_parts(room)
    keep = np.unique(labels[start & room])
    return np.asarray(np.isin(labels, keep[keep > 0]))


def dilated(mask: Mask, radius: float) -> Mask:
    """The mask grown by a number of pixels."""
    away = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
    return np.asarray(away <= radius)


def bridged(mask: Mask, *, width: float) -> Mask:
    """The mask's parts joined to the largest by the shortest bridges, ``width`` pixels wide."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if len(contours) < 2:
        return mask
    rings = [np.asarray(c, dtype=np.int32).reshape(-1, 2) for c in contours]
    rings.sort(key=lambda ring: -float(cv2.contourArea(ring)))
    joined = mask.astype(np.uint8)
    main = rings[0]
    for ring in rings[1:]:
        gaps = np.sum((ring[:, None, :] - main[None, :, :]).astype(np.float64) ** 2, axis=2)
        one, other = np.unravel_index(int(np.argmin(gaps)), gaps.shape)
        start, end = ring[one].tolist(), main[other].tolist()
        cv2.line(joined, start, end, 1, max(1, round(width)))
        main = np.concatenate([main, ring])
    return np.asarray(joined > 0)


def grown(mask: Mask, share: float) -> Mask:
    """The mask grown (or shrunk, negative) by a share of its own radius."""
    radius = float(np.sqrt(max(1, mask.sum()) / np.pi)) * abs(share)
    if radius < 0.5:
        return mask
    source = mask if share > 0 else ~mask
    distance = cv2.distanceTransform((~source).astype(np.uint8), cv2.DIST_L2, 3)
    near = distance <= radius
    return np.asarray(near if share > 0 else ~near)


def longest_contour(level: Mask | NDArray[np.float32]) -> Points:
    """The longest outer contour of a mask, through the middle of its boundary.

    Of a likelihood from 0 to 1 instead of a mask: where it passes one half, between pixels.
    Border pixels are moved half a pixel outwards by drawing at four times the size, so that a
    filled square of n pixels comes out n wide.
    """
    rows, columns = (np.flatnonzero(level.any(axis=axis)) for axis in (1, 0))
    top, left = rows[0], columns[0]
    part = level[top : rows[-1] + 1, left : columns[-1] + 1].astype(np.float32)
    enlarged = cv2.resize(np.pad(part, 2), None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR)
    contours, _ = cv2.findContours(
        (enlarged >= 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    best = max(contours, key=lambda c: float(cv2.contourArea(c)))
    points = np.asarray(best, dtype=np.float64).reshape(-1, 2)
    return np.asarray((points + 0.5) / 4 - 0.5 - 2 + np.array([left, top]), dtype=np.float64)


def widest_of(points: Points) -> float:
    """The greatest distance between two points of an outline."""
    hull = np.asarray(cv2.convexHull(points.astype(np.float32)), dtype=np.float64).reshape(-1, 2)
    gaps = hull[:, None, :] - hull[None, :, :]
    return float(np.sqrt(np.max(np.sum(gaps**2, axis=2))))


def spread_of(mask: Mask) -> float:
    """The greatest distance between any two pixels of a mask, also of different parts."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return 0.0
    points = np.concatenate([np.asarray(c, dtype=np.float64).reshape(-1, 2) for c in contours])
    return widest_of(points) + 1.0


def length_over_width(mask: Mask) -> float:
    """How drawn out a region is: the sides of the least rectangle round it."""
    _, (one, other), _ = cv2.minAreaRect(longest_contour(mask).astype(np.float32))
    return float(max(one, other) / max(min(one, other), 1e-6))


def overlap(one: Mask, other: Mask) -> float:
    """Shared area over joint area, 0 to 1."""
    joint = int(np.count_nonzero(one | other))
    return int(np.count_nonzero(one & other)) / joint if joint else 0.0


def touch_length(points: NDArray[np.float64], *, width: int, height: int) -> float:
    """Length of the outline that runs along the picture's edge, in pixels."""
    margin = 2.0
    x, y = points.T
    at_edge = (x < margin) | (y < margin) | (x > width - 1 - margin) | (y > height - 1 - margin)
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    return float(step[at_edge].sum())
