"""A bloom's outline in front of its card, leaves, soil or sky, and how far to trust it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.network import SIDE_PX, look
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
from measure.outline.window import Window, carried, window_of
from measure.quality import MeasureError, Refusal
from measure.results import Outline, Picture, Points

__all__ = ["outline_bloom"]

# Largest and smallest bloom looked for; the largest dahlias reach some 350 mm.
_LARGEST_MM = 360.0
_SMALLEST_MM = 12.0
# A close look shows the bloom with this much round it, as a multiple of its longer side.
_ROOM = 1.45
# Looks taken, each better centred than the last, until two agree.
_MOST_LOOKS = 4
# A close look that lies as well as this, as a share of the bloom's longer side, and agrees so far
# with the one from afar, is not bettered by a second one.
_CENTRED, _CENTRED_ALIKE = 0.01, 0.9
# Fewest pixels of a window that are taken for a bloom.
_LEAST = 40
# How far the network's pixels may round off a petal's tip, in those pixels.
_TIP = 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Seen:
    """One look: how likely each pixel of the window is of the bloom meant, and of any bloom."""

    window: Window
    likely: NDArray[np.float32]
    blooms: NDArray[np.float32]
    mask: Mask

    @property
    def widest_px(self) -> float:
        """Greatest width in pixels of the picture."""
        return spread_of(self.mask) / self.window.scale_x

    @property
    def undecided(self) -> float:
        """Pixels that may be one or the other, as a share of those along the outline, squared."""
        either = (self.likely > 0.2) & (self.likely < 0.8) & grown(self.mask, 0.3)
        return float(np.count_nonzero(either)) / (
            2.0 * max(1.0, float(np.count_nonzero(self.mask)))
        )


def outline_bloom(
    picture: Picture,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    unsure_below: float = 0.7,
) -> Outline:
    """Find the bloom nearest to a point and follow its edge.

    A network looks at the surroundings of the point, then from nearer at what it found there until
    two looks agree, the last one also mirrored. The edge is then followed at full size. How far the
    looks, the mirrored one and a cut by colour alone agree says how sure the outline is.

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

    Raises
    ------
    MeasureError
        NO_SUBJECT when there is no bloom near the point, OUTLINE_FAILED when the looks contradict
        each other, SUBJECT_CUT_OFF when a good part of the bloom is outside the picture.
    """
    height, width = picture.shape[:2]
    wide = _searched(picture, near=near, px_per_mm=px_per_mm)
    seen, steady = wide, 0.0
    for number in range(1, _MOST_LOOKS):
        nearer = _looked(_close_window(picture, seen))
        if nearer is None:
            raise MeasureError(Refusal.OUTLINE_FAILED)
        before, seen = seen, nearer
        steady = _alike(before, seen)
        # The second close look is better centred than the first, which was aimed from afar.
        if number > 1 and steady > 0.93:
            break
        if number == 1 and steady > _CENTRED_ALIKE and _off(before, seen) < _CENTRED:
            break
    seen, mirrored = _with_mirrored(seen)
    if not _SMALLEST_MM * px_per_mm <= seen.widest_px <= _LARGEST_MM * px_per_mm:
        raise MeasureError(Refusal.NO_SUBJECT)
    edge = _refined(picture, seen)
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    touching = touch_length(points, width=width, height=height)
    if touching > 0.25 * widest_of(points):
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    confidence = (
        _between(steady, none=0.5, full=0.93)
        * _between(mirrored, none=0.7, full=0.97)
        * _between(-seen.undecided, none=-0.25, full=-0.06)
        * (0.5 + 0.5 * _between(_by_colour(seen), none=0.3, full=0.88))
        * _between(edge.sharp_share, none=0.4, full=0.88)
        * (0.6 if length_over_width(seen.mask) > 1.6 else 1.0)
    )
    return outline_of(
        edge,
        points,
        confidence=confidence,
        touching_px=touching,
        others=_others(wide, seen, keep_out=keep_out),
        unsure_below=unsure_below,
    )


def _searched(picture: Picture, *, near: tuple[float, float], px_per_mm: float) -> _Seen:
    """The first look, with the point expected in the middle, as wide as the largest bloom asks."""
    height, width = picture.shape[:2]
    to_edges = max(near[0] + 1, width - near[0], near[1] + 1, height - near[1])
    half = min(_LARGEST_MM * px_per_mm, to_edges)
    box = (near[0] - half, near[1] - half, near[0] + half, near[1] + half)
    window = window_of(picture, box=box, side_px=SIDE_PX, enlarge=True)
    seen = _looked(window, at=window.nearest_to(near))
    if seen is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    return seen


def _ends(seen: _Seen) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Top left and bottom right of the box round the bloom, (x, y) in the picture."""
    outline = seen.window.to_picture(longest_contour(seen.mask))
    return outline.min(axis=0), outline.max(axis=0)


def _off(one: _Seen, other: _Seen) -> float:
    """How far the boxes round the bloom lie apart, as a share of its longer side."""
    (low, high), (other_low, other_high) = _ends(one), _ends(other)
    apart = max(np.abs(low - other_low).max(), np.abs(high - other_high).max())
    return float(apart / np.max(other_high - other_low))


def _close_window(picture: Picture, seen: _Seen) -> Window:
    low, high = _ends(seen)
    (x, y), half = (low + high) / 2, _ROOM / 2 * float(np.max(high - low)) + 2
    return window_of(
        picture, box=(x - half, y - half, x + half, y + half), side_px=SIDE_PX, enlarge=True
    )


def _looked(window: Window, *, at: tuple[float, float] | None = None) -> _Seen | None:
    """What the network sees in a window at a point (its middle when not told)."""
    likely, blooms = look(window.rgb, net="bloom")
    return _seen(window, likely, blooms, at=at)


def _seen(
    window: Window,
    likely: NDArray[np.float32],
    blooms: NDArray[np.float32],
    *,
    at: tuple[float, float] | None = None,
) -> _Seen | None:
    height, width = window.shape
    at = at or ((width - 1) / 2, (height - 1) / 2)
    for layer in (likely, blooms):
        part = _part_at(layer > 0.5, at)
        if part.any():
            return _Seen(window=window, likely=likely, blooms=blooms, mask=filled(part))
    return None


def _with_mirrored(seen: _Seen) -> tuple[_Seen, float]:
    """The same look together with its mirror image, and how far the two agree, 0 to 1."""
    turned = look(np.ascontiguousarray(seen.window.rgb[:, ::-1]), net="bloom")[:, :, ::-1]
    alone = _seen(seen.window, turned[0], turned[1])
    both = _seen(seen.window, (seen.likely + turned[0]) / 2, (seen.blooms + turned[1]) / 2)
    if alone is None or both is None:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    return both, overlap(seen.mask, alone.mask)


def _part_at(mask: Mask, at: tuple[float, float]) -> Mask:
    """The part at a point, or the one whose edge and middle are nearest to it for its size."""
    labels, areas, middles = rough_parts(mask)
    rows, columns = np.nonzero(labels)
    closest = np.full(len(areas), np.inf)
    away = np.hypot(columns - at[0], rows - at[1])
    np.minimum.at(closest, labels[rows, columns], away)
    radius = np.sqrt(np.maximum(areas, 1))
    distance = (closest + 0.3 * np.hypot(*(middles - np.array(at)).T)) / radius
    distance[areas < _LEAST] = np.inf
    best = int(np.argmin(distance))
    if not np.isfinite(distance[best]):
        return np.zeros(mask.shape, dtype=bool)
    return np.asarray(labels == best)


def _alike(one: _Seen, other: _Seen) -> float:
    there = carried(one.mask, one.window, other.window) > 0.5
    return overlap(np.asarray(there), other.mask)


def _by_colour(seen: _Seen, *, side_px: int = 128) -> float:
    """How far a cut by colour alone, begun from what was seen, comes to the same: 0 to 1."""
    height, width = seen.mask.shape
    shrink = side_px / max(height, width)
    size = (max(8, round(width * shrink)), max(8, round(height * shrink)))
    rgb = np.asarray(cv2.resize(seen.window.rgb, size, interpolation=cv2.INTER_AREA), np.uint8)
    grey = cv2.resize(seen.mask.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    mask = np.asarray(grey > 0.5)
    cut = grab(rgb, surely=grown(mask, -0.5), surely_not=~grown(mask, 0.45), start=mask)
    part = _part_at(open_by(filled(cut), 1.0), (size[0] / 2, size[1] / 2))
    return overlap(part, mask)


def _refined(picture: Picture, seen: _Seen) -> Edge:
    """The mask's edge followed to a fraction of a pixel.

    In a band no wider than a pixel of the window either way: a wider one jumps to the edge of a
    neighbour of the same colour.
    """
    outline = seen.window.to_picture(_fine_contour(seen))
    pixel = 1 / seen.window.scale_x
    edge = refine_edge(picture, outline, band_px=max(1.5, pixel), step_px=max(1.0, 0.7 * pixel))
    points = with_petal_tips(picture, edge.points, reach_px=max(2.0, _TIP * pixel))
    return replace(edge, points=points)


def _fine_contour(seen: _Seen) -> Points:
    """Where the likelihood of the part found passes one half, between pixels."""
    close_by = cv2.dilate(seen.mask.astype(np.uint8), np.ones((3, 3), np.uint8)) > 0
    level = np.where(seen.mask, np.maximum(seen.likely, 0.501), np.minimum(seen.likely, 0.499))
    return longest_contour(np.where(close_by, level, 0.0).astype(np.float32))


def _between(value: float, *, none: float, full: float) -> float:
    """0 at ``none``, 1 at ``full`` and beyond, even in between."""
    return float(np.clip((value - none) / (full - none), 0.0, 1.0))


def _others(wide: _Seen, seen: _Seen, *, keep_out: Mask) -> int:
    """Further blooms in the widest look, at least a quarter as wide as the one measured."""
    own = carried(seen.mask, seen.window, wide.window) > 0.5
    if own.sum() < 30:
        return 0
    barred = grown(np.asarray(own), 0.12) | wide.window.shrink_mask(keep_out)
    radius = float(np.sqrt(own.sum() / np.pi))
    further = open_by((wide.blooms > 0.6) & ~barred, 0.12 * radius)
    _, areas, _ = rough_parts(further)
    return int(np.count_nonzero(areas > 0.07 * own.sum()))
