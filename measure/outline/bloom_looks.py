"""The network's looks at a bloom: from afar to find it, and finely from nearer until two agree."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.network import SIDE_PX, Net, look
from measure.outline.regions import (
    Mask,
    dilated,
    filled,
    grown,
    length_over_width,
    longest_contour,
    open_by,
    overlap,
    rough_parts,
    spread_of,
)
from measure.outline.window import Window, carried, square_about
from measure.quality import MeasureError, Refusal
from measure.results import Picture, Points

__all__ = ["LARGEST_MM", "SMALLEST_MM", "Look", "Looks", "look_at_bloom", "part_at"]

LARGEST_MM, SMALLEST_MM = 360.0, 12.0
"""Largest and smallest bloom looked for; the largest dahlias reach some 350 mm."""

# A close look shows the bloom with this much round it, as a multiple of its longer side.
_ROOM = 1.45
# So near, as a share of the bloom's longer side, the first close look has to lie to where a second
# one would: then it is the last.
_AIMED = 0.015
# Close looks taken, each better centred than the last, until two agree so far.
_MOST_LOOKS, _AGREE = 3, 0.9
# Side of the close looks, the last of which gives the outline. A little finer than the network was
# trained at: petals' tips come out longer, and at 320 it begins to lose whole petals
# (tests/benchmarks/bench_outlines.py).
_FINE_PX = 272
# Share of undecided pixels from which one bloom can't be told from several by the network alone.
_UNDECIDED = 0.12
# Half the width of a thread, in a window's pixels, and the largest blob that may hang on one, as a
# share of the bloom.
_THREAD_PX, _HANGER = 1.5, 0.06
# What the look before the last counts beside it, and how fine it has to be for that, against it. It
# saw more of what lies around: a neighbour behind a petal is told from it more often.
_BEFORE, _FINE_ENOUGH = 0.5, 0.6
# Pixels along the picture's edges in which the network is not to be trusted.
_RIM = 3
# A window whose lightest hundredth is darker than this (of 255) is brightened to be so light:
# the network has seen few so dark.
_DARK, _LIGHT = 110.0, 200.0
# Fewest pixels of a window that are taken for a bloom.
_LEAST = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """One look: how likely each pixel of the window is of the bloom meant, and of any bloom.

    ``net`` is the network that looked.
    """

    net: Net
    window: Window
    likely: NDArray[np.float32]
    blooms: NDArray[np.float32]
    mask: Mask
    undecided: float
    """Pixels that may be one or the other, as a share of those of the bloom."""
    by_middle: bool
    """Whether the undecided ones were taken for lying about the same middle."""

    @property
    def widest_px(self) -> float:
        """Greatest width in pixels of the picture."""
        return spread_of(self.mask) / self.window.scale_x


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Looks:
    """The look from afar and the last, and how far the last agrees with others, each 0 to 1.

    ``steady`` is its overlap with the look before it, ``mirrored`` that of its two halves: as the
    picture is, and in the mirror.
    """

    wide: Look
    last: Look
    steady: float
    mirrored: float


def look_at_bloom(
    picture: Picture, *, near: tuple[float, float], px_per_mm: float, net: Net = "bloom"
) -> Looks:
    """Look at the bloom nearest to a point from afar, then finely from nearer until two agree.

    Raises
    ------
    MeasureError
        NO_SUBJECT when there is no bloom near the point, OUTLINE_FAILED when nothing of it is seen
        from nearer.
    """
    wide = _searched(picture, near=near, px_per_mm=px_per_mm, net=net)
    seen = wide
    for number in range(_MOST_LOOKS):
        before, seen = seen, _looked(_close_window(picture, seen), net=net)
        steady = _alike(before, seen)
        # The first was aimed from afar, which is seldom as good as from nearer.
        if steady > _AGREE and (number > 0 or _off(before, seen) < _AIMED):
            break
    last, mirrored = _both_ways(seen, before=before)
    if not SMALLEST_MM * px_per_mm <= last.widest_px <= LARGEST_MM * px_per_mm:
        raise MeasureError(Refusal.NO_SUBJECT)
    return Looks(wide=wide, last=last, steady=steady, mirrored=mirrored)


def _searched(picture: Picture, *, near: tuple[float, float], px_per_mm: float, net: Net) -> Look:
    """The first look, with the point expected in the middle, as wide as the largest bloom asks."""
    height, width = picture.shape[:2]
    to_edges = max(near[0] + 1, width - near[0], near[1] + 1, height - near[1])
    half = min(LARGEST_MM * px_per_mm, to_edges)
    window = square_about(picture, near, half=half, side_px=SIDE_PX)
    return _looked(window, net=net, at=window.nearest_to(near), otherwise=Refusal.NO_SUBJECT)


def _ends(seen: Look) -> tuple[Points, Points]:
    """Top left and bottom right of the box round the bloom, (x, y) in the picture."""
    outline = seen.window.to_picture(longest_contour(seen.mask))
    return outline.min(axis=0), outline.max(axis=0)


def _off(one: Look, other: Look) -> float:
    """How far the boxes round the bloom lie apart, as a share of its longer side."""
    (low, high), (other_low, other_high) = _ends(one), _ends(other)
    apart = max(np.abs(low - other_low).max(), np.abs(high - other_high).max())
    return float(apart / np.max(other_high - other_low))


def _close_window(picture: Picture, seen: Look) -> Window:
    low, high = _ends(seen)
    (x, y), half = (low + high) / 2, _ROOM / 2 * float(np.max(high - low)) + 2
    return square_about(picture, (float(x), float(y)), half=half, side_px=_FINE_PX)


def _looked(
    window: Window,
    *,
    net: Net,
    at: tuple[float, float] | None = None,
    otherwise: Refusal = Refusal.OUTLINE_FAILED,
) -> Look:
    """What the network sees in a window at a point (its middle when not told)."""
    likely, blooms = _layers(window.rgb, net=net)
    seen = _seen(window, likely, blooms, net=net, at=at)
    if seen is None:
        raise MeasureError(otherwise)
    return seen


def _layers(rgb: Picture, *, net: Net) -> NDArray[np.float32]:
    """Both layers; along the picture's own edges what is seen a little further in.

    A window that the picture's edge cuts off is no square. There the network was taught to end
    every bloom, and it does so some pixels early.
    """
    height, width = rgb.shape[:2]
    layers = look(_brightened(rgb), net=net, side_px=max(height, width))
    if height < width:
        layers[:, :_RIM] = layers[:, _RIM : _RIM + 1]
        layers[:, -_RIM:] = layers[:, -_RIM - 1 : -_RIM]
    elif width < height:
        layers[:, :, :_RIM] = layers[:, :, _RIM : _RIM + 1]
        layers[:, :, -_RIM:] = layers[:, :, -_RIM - 1 : -_RIM]
    return layers


def _brightened(rgb: Picture) -> Picture:
    """The window, lighter where all of it is dark."""
    light = float(np.percentile(rgb, 99.0))
    if light >= _DARK:
        return rgb
    return np.asarray(cv2.convertScaleAbs(rgb, alpha=_LIGHT / max(light, 8.0)), dtype=np.uint8)


def _both_ways(seen: Look, *, before: Look) -> tuple[Look, float]:
    """What was seen, its mirror image and the look before; and how far the first two agree."""
    window = seen.window
    turned_rgb = np.ascontiguousarray(window.rgb[:, ::-1])
    straight = np.stack([seen.likely, seen.blooms])
    turned = _layers(turned_rgb, net=seen.net)[:, :, ::-1]
    both = _seen(window, *_with(before, straight, turned, window=window), net=seen.net)
    if both is None:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    # The two are compared as they are put together: a mirror image decided otherwise says nothing.
    alone = [
        _seen(window, *layers, net=seen.net, by_middle=both.by_middle)
        for layers in (straight, turned)
    ]
    if alone[0] is None or alone[1] is None:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    return both, overlap(alone[0].mask, alone[1].mask)


def _with(before: Look, *looks: NDArray[np.float32], window: Window) -> NDArray[np.float32]:
    """Both layers of a window, (2, h, w), as looks at it and an earlier look see them together."""
    layers = np.mean(looks, axis=0, dtype=np.float32)
    if before.window.scale_x < _FINE_ENOUGH * window.scale_x:
        return np.asarray(layers)
    earlier = [carried(layer, before.window, window) for layer in (before.likely, before.blooms)]
    known = carried(np.ones_like(before.likely), before.window, window)
    return np.asarray(layers + _BEFORE * known * (np.stack(earlier) - layers), dtype=np.float32)


def _seen(
    window: Window,
    likely: NDArray[np.float32],
    blooms: NDArray[np.float32],
    *,
    net: Net,
    at: tuple[float, float] | None = None,
    by_middle: bool | None = None,
) -> Look | None:
    height, width = window.shape
    at = at or ((width - 1) / 2, (height - 1) / 2)
    part, whole = (filled(part_at(layer > 0.5, at)) for layer in (likely, blooms))
    undecided = _undecided(likely, part)
    if by_middle is None:
        by_middle = not part.any() or (undecided > _UNDECIDED and _same_middle(part, whole))
    mask = _without_hangers(whole if by_middle else part)
    if not mask.any():
        return None
    return Look(
        net=net,
        window=window,
        likely=likely,
        blooms=blooms,
        mask=mask,
        undecided=undecided,
        by_middle=by_middle,
    )


def _without_hangers(mask: Mask) -> Mask:
    """The mask without small blobs that hang on it by a thread: a petal is broader at its foot."""
    labels, areas, _ = rough_parts(open_by(mask, _THREAD_PX))
    small = np.flatnonzero((areas > 0) & (areas < _HANGER * areas.sum()))
    if not len(small):
        return mask
    hangers = dilated(np.isin(labels, small), _THREAD_PX + 1)
    rest = mask & ~hangers
    labels, areas, _ = rough_parts(rest)
    return np.asarray(labels == int(np.argmax(areas)))


def _undecided(likely: NDArray[np.float32], part: Mask) -> float:
    either = (likely > 0.2) & (likely < 0.8) & grown(part, 0.3)
    return float(np.count_nonzero(either)) / (2.0 * max(1.0, float(np.count_nonzero(part))))


def _same_middle(part: Mask, whole: Mask) -> bool:
    """Whether a part lies in the middle of all that is bloom: a neighbour would lie to one side."""
    if np.count_nonzero(part & whole) < 0.8 * np.count_nonzero(part):
        return False
    middles = [np.mean(np.nonzero(mask), axis=1) for mask in (part, whole)]
    radius = math.sqrt(np.count_nonzero(whole) / math.pi)
    off = float(np.hypot(*(middles[0] - middles[1])))
    return off < 0.25 * radius and length_over_width(whole) < 1.5


def part_at(mask: Mask, at: tuple[float, float]) -> Mask:
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


def _alike(one: Look, other: Look) -> float:
    there = carried(one.mask, one.window, other.window) > 0.5
    return overlap(np.asarray(there), other.mask)
