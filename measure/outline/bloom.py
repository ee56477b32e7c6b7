"""A bloom's outline in front of its card, leaves, soil or sky, and how far to trust it."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.network import SIDE_PX, Net, look
from measure.outline.bloom_looks import Look, look_at_bloom, part_at
from measure.outline.colours import colour_ratio
from measure.outline.cutting import grab
from measure.outline.edge import Edge, refine_edge
from measure.outline.petal_tips import with_petal_tips
from measure.outline.regions import (
    Mask,
    filled,
    grown,
    length_over_width,
    longest_contour,
    open_by,
    overlap,
    rough_parts,
    spread_of,
    touch_length,
    widest_of,
)
from measure.outline.verdict import outline_of
from measure.outline.window import Window, carried, square_about
from measure.quality import MeasureError, Refusal
from measure.results import Outline, Picture, Points

__all__ = ["outline_bloom"]

# So near, in a window's pixels, an outline runs along the card's edge, and the share of it from
# which part of the card may have been taken for petals.
_ALONG_PX, _ALONG = 1.7, 0.1
# Things in view that may be further blooms: how many are looked at, the largest first, and how much
# is seen of each, as a multiple of its width.
_MOST_OTHERS, _ROOM_FOR_OTHERS = 3, 1.8
# How far the network's pixels may round off a petal's tip, in those pixels.
_TIP = 3.0


def outline_bloom(
    picture: Picture,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    unsure_below: float = 0.7,
    net: Net = "bloom",
) -> Outline:
    """Find the bloom nearest to a point and follow its edge.

    A network looks at the surroundings of the point, then finely from nearer at what it found
    there until two looks agree, the last one also mirrored. The edge is then followed at full size.
    How far the looks, the mirrored one and a cut by colour alone agree says how sure it is.

    Parameters
    ----------
    picture : (H, W, 3) uint8 RGB array
    keep_out : (H, W) bool array
        The card and tags; what lies on them is not counted as a further bloom.
    near : (x, y) in pixels
        Where the bloom is expected.
    px_per_mm : float
        Rough scale at the bloom; only bounds the sizes that are looked for.
    unsure_below : float
        Confidence under which the outline is flagged.
    net : "bloom" or "bloom_side"
        The network that looks: for a bloom's face or for its side.

    Raises
    ------
    MeasureError
        NO_SUBJECT when there is no bloom near the point, OUTLINE_FAILED when the looks contradict
        each other, SUBJECT_CUT_OFF when a good part of the bloom is outside the picture.
    """
    height, width = picture.shape[:2]
    looks = look_at_bloom(picture, near=near, px_per_mm=px_per_mm, net=net)
    seen = looks.last
    edge = _refined(picture, seen)
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    touching = touch_length(points, width=width, height=height)
    if touching > 0.25 * widest_of(points):
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    confidence = (
        _between(looks.steady, none=0.5, full=0.93)
        * _between(looks.mirrored, none=0.7, full=0.97)
        * max(_between(-seen.undecided, none=-0.25, full=-0.06), 0.4 * seen.by_middle)
        * (0.5 + 0.5 * _between(_by_colour(seen), none=0.3, full=0.88))
        * _between(edge.sharp_share, none=0.4, full=0.88)
        * (0.6 if length_over_width(seen.mask) > 1.6 else 1.0)
        * (0.6 if _along(points, keep_out, seen.window) > _ALONG else 1.0)
    )
    return outline_of(
        edge,
        points,
        confidence=confidence,
        touching_px=touching,
        others=_others(picture, looks.wide, seen, keep_out=keep_out),
        unsure_below=unsure_below,
    )


def _by_colour(seen: Look, *, side_px: int = 128) -> float:
    """How far a cut by colour alone, begun from what was seen, comes to the same: 0 to 1."""
    height, width = seen.mask.shape
    shrink = side_px / max(height, width)
    size = (max(8, round(width * shrink)), max(8, round(height * shrink)))
    rgb = np.asarray(cv2.resize(seen.window.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    grey = cv2.resize(seen.mask.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    mask = np.asarray(grey > 0.5)
    cut = grab(rgb, surely=grown(mask, -0.5), surely_not=~grown(mask, 0.45), start=mask)
    part = part_at(open_by(filled(cut), 1.0), (size[0] / 2, size[1] / 2))
    return overlap(part, mask)


def _refined(picture: Picture, seen: Look) -> Edge:
    """The mask's edge followed to a fraction of a pixel.

    In a band no wider than a pixel of the window either way: a wider one jumps to the edge of a
    neighbour of the same colour.
    """
    outline = seen.window.to_picture(_fine_contour(seen))
    pixel = 1 / seen.window.scale_x
    edge = refine_edge(picture, outline, band_px=max(1.5, pixel), step_px=max(1.0, 0.7 * pixel))
    tips = with_petal_tips(picture, edge.points, reach_px=max(2.0, _TIP * pixel))
    return replace(edge, points=np.where(_on_another(seen, tips)[:, None], edge.points, tips))


def _on_another(seen: Look, points: Points) -> NDArray[np.bool_]:
    """Which points lie on a bloom that is not the one meant: a tip is not followed onto it."""
    at = seen.window.from_picture(points).astype(np.float32)
    another = cv2.remap(seen.blooms - seen.likely, at[:, 0], at[:, 1], cv2.INTER_LINEAR)
    return np.asarray(another.ravel() > 0.5)


def _fine_contour(seen: Look) -> Points:
    """Where the likelihood of the part found passes one half, between pixels."""
    close_by = cv2.dilate(seen.mask.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    chances = seen.blooms if seen.by_middle else seen.likely
    level = np.where(seen.mask, np.maximum(chances, 0.501), np.minimum(chances, 0.499))
    return longest_contour(np.where(close_by, level, 0.0).astype(np.float32))


def _along(points: Points, keep_out: Mask, window: Window) -> float:
    """Share of the outline that runs along the card's own edge, as only the card does."""
    card = np.asarray(window.shrink_mask(keep_out)).astype(np.uint8)
    edge = cv2.morphologyEx(card, cv2.MORPH_GRADIENT, np.ones((3, 3), np.uint8))
    away = cv2.distanceTransform(1 - edge, cv2.DIST_L2, 3)
    last = np.array(card.shape[::-1]) - 1
    columns, rows = np.clip(window.from_picture(points).round().astype(int), 0, last).T
    return float(np.mean(away[rows, columns] < _ALONG_PX))


def _between(value: float, *, none: float, full: float) -> float:
    """0 at ``none``, 1 at ``full`` and beyond, even in between."""
    return float(np.clip((value - none) / (full - none), 0.0, 1.0))


def _others(picture: Picture, wide: Look, seen: Look, *, keep_out: Mask) -> int:
    """Further blooms in the widest look, at least a quarter as wide as the one measured.

    What the network took for one from afar, and what has the bloom's colours, is looked at from
    nearer: a leaf or a bud of its colour is none.
    """
    own = carried(seen.mask, seen.window, wide.window) > 0.5
    if own.sum() < 30:
        return 0
    free = ~grown(np.asarray(own), 0.12) & ~wide.window.shrink_mask(keep_out)
    alike = colour_ratio(wide.window.lab, own.astype(np.float32), free) > 0.75
    radius = float(np.sqrt(own.sum() / np.pi))
    labels, areas, middles = rough_parts(
        open_by(((wide.blooms > 0.5) | alike) & free, 0.12 * radius)
    )
    large = [part for part in np.argsort(-areas) if areas[part] > 0.07 * own.sum()]
    found = 0
    for part in large[:_MOST_OTHERS]:
        region = np.asarray(labels == part)
        x, y = wide.window.to_picture(middles[part][None])[0]
        half = _ROOM_FOR_OTHERS / 2 * spread_of(region) / wide.window.scale_x
        window = square_about(picture, (float(x), float(y)), half=half, side_px=SIDE_PX)
        there = carried(region, wide.window, window) > 0.5
        found += bool(np.mean(look(window.rgb, net=seen.net).max(axis=0)[there] > 0.5) > 0.5)
    return found
