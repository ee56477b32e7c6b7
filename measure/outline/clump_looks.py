"""The network's looks at a clump: from afar to find it, closely to see it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.network import SIDE_PX, ClumpLayer, look
from measure.outline.colours import levelled, stretched
from measure.outline.cutting import grab
from measure.outline.regions import Mask, closed_by, filled, nearest_part, rough_parts, spread_of
from measure.outline.window import Window, window_of
from measure.quality import MeasureError, Refusal
from measure.results import Picture

__all__ = [
    "LARGEST_MM",
    "SMALLEST_MM",
    "Chances",
    "Look",
    "gathered",
    "look_at",
    "look_closely",
    "look_from_afar",
]

LARGEST_MM, SMALLEST_MM = 900.0, 60.0
"""Spread of the largest and the smallest clump looked for."""

# Sides of the squares searched, one after the other, until a clump lies whole in one of them.
_SEARCHED_MM = (560.0, 1100.0)
# Side of the close look over the clump's own extent: the network was trained on such.
_ROOM = 1.4
# So much taken in by the colours alone, as a share of the clump, is ground or shade.
_TOO_MUCH = 0.1

Chances = NDArray[np.float32]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """What the network saw in one window.

    ``body``, ``cores`` and ``stem`` are chances, (h, w) from 0 to 1, that a pixel belongs to crown
    or tubers, lies well inside a tuber of its own, or on the stem; ``other`` is the body as the
    second look alone saw it.
    """

    window: Window
    body: Chances
    cores: Chances
    stem: Chances
    other: Chances


def look_at(picture: Picture, *, middle: tuple[float, float], side: float, twice: bool) -> Look:
    """What the network makes of a square about a place, moved into the picture where it can be.

    Asked to look twice, it sees the second time a mirror image in neutral light.
    """
    height, width = picture.shape[:2]
    low = []
    for at, size in zip(middle, (width, height), strict=True):
        start = at - side / 2
        low.append(min(max(start, 0.0), size - side) if size >= side else (size - side) / 2)
    window = window_of(
        picture, box=(low[0], low[1], low[0] + side, low[1] + side), side_px=SIDE_PX, enlarge=True
    )
    chances = look(window.rgb, net="clump")
    other = chances
    if twice:
        mirrored = np.ascontiguousarray(_in_neutral_light(window.rgb)[:, ::-1])
        other = look(mirrored, net="clump")[:, :, ::-1]
    mean = (chances + other) / 2
    return Look(
        window=window,
        body=mean[ClumpLayer.BODY],
        cores=mean[ClumpLayer.TUBER_CORES],
        stem=mean[ClumpLayer.STEM],
        other=other[ClumpLayer.BODY],
    )


def _in_neutral_light(
    rgb: Picture, *, mean: tuple[float, float, float] = (0.17, 0.155, 0.13)
) -> Picture:
    """The window as bright as a well exposed picture, its mean a little warm (linear light)."""
    linear = (rgb.astype(np.float32) / 255) ** 2.2
    gain = np.array(mean, dtype=np.float32) / np.maximum(linear.mean(axis=(0, 1)), 0.01)
    return np.asarray(np.round(255 * np.clip(linear * gain, 0, 1) ** (1 / 2.2)), dtype=np.uint8)


def look_from_afar(
    picture: Picture, *, keep_out: Mask, near: tuple[float, float], px_per_mm: float
) -> tuple[Look, Mask]:
    """The clump roughly, in a window about the point that holds all of it."""
    height, width = picture.shape[:2]
    found: tuple[Look, Mask] | None = None
    for side_mm in _SEARCHED_MM:
        side = min(side_mm * px_per_mm, float(max(height, width)))
        seen = look_at(picture, middle=near, side=side, twice=False)
        scale = px_per_mm * seen.window.scale_x
        # From afar little is sure; what is lost here stays lost.
        mask = (seen.body > 0.35) & ~seen.window.shrink_mask(keep_out)
        part = gathered(mask, at=seen.window.nearest_to(near), scale=scale)
        if spread_of(part) >= SMALLEST_MM * scale:
            found = (seen, part)
            if not _leaves_window(seen.window, part, picture) or side >= max(height, width):
                return found
    if found is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    return found


def look_closely(
    picture: Picture, window: Window, part: Mask, *, keep_out: Mask, px_per_mm: float
) -> tuple[Look, Mask]:
    """A look at a square in which the clump takes up most of the room, and its region there."""
    for last in (False, True):
        rows, columns = np.nonzero(part)
        ends = np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]], np.float64)
        low, high = window.to_picture(ends)
        extent = float(np.max(high - low)) + 1 / window.scale_x
        middle = (low + high) / 2
        seen = look_at(
            picture, middle=(float(middle[0]), float(middle[1])), side=_ROOM * extent, twice=True
        )
        window = seen.window
        seen = _with_colours(seen, barred=window.shrink_mask(keep_out))
        mask = (seen.body > 0.5) & ~window.shrink_mask(keep_out)
        place = window.from_picture(middle[None])[0]
        scale = px_per_mm * window.scale_x
        part = gathered(mask, at=(float(place[0]), float(place[1])), scale=scale)
        if not part.any():
            raise MeasureError(Refusal.OUTLINE_FAILED)
        share = spread_of(part) / max(window.shape)
        if last or (share > 0.5 and not _leaves_window(window, part, picture)):
            break
    return seen, part


def _leaves_window(window: Window, mask: Mask, picture: Picture) -> bool:
    """Whether a region runs on beyond the window where the picture does."""
    rows, columns = window.shape
    height, width = picture.shape[:2]
    right = window.left + columns / window.scale_x
    bottom = window.top + rows / window.scale_y
    return bool(
        (window.left > 1 and mask[:, 0].any())
        or (window.top > 1 and mask[0].any())
        or (right < width - 1 and mask[:, -1].any())
        or (bottom < height - 1 and mask[-1].any())
    )


def _with_colours(seen: Look, *, barred: Mask) -> Look:
    """The look, half of it replaced by what the picture's own colours make of it.

    The network says what surely is clump and what surely is not; between them GrabCut decides.
    Where that takes in much that the network does not see, clump and ground are too much alike, or
    shade is, and the network's word stands.
    """
    ground = (seen.body < 0.1) & ~barred
    if ground.sum() < 100:
        return seen
    own = stretched(levelled(seen.window.rgb, ground), ground)
    cut = grab(
        np.clip(own * 1.4 + np.array([60, 128, 128]), 0, 255).astype(np.uint8),
        surely=seen.body > 0.97,
        surely_not=barred | (seen.body < 0.02) | ((seen.stem > 0.5) & (seen.body < 0.5)),
        start=seen.body > 0.5,
    )
    own_word = seen.body > 0.5
    if np.count_nonzero(cut & ~own_word) > _TOO_MUCH * np.count_nonzero(own_word):
        return seen
    soft = cv2.GaussianBlur(cut.astype(np.float32), (0, 0), 0.8)
    return replace(seen, body=np.asarray((seen.body + soft) / 2, dtype=np.float32))


def gathered(mask: Mask, *, at: tuple[float, float], scale: float) -> Mask:
    """The pieces that make up the clump near the point.

    A stem across a neck, or shade at the crown, can part a tuber from the rest: pieces as large as
    a tuber belong together over gaps of up to 16 mm.
    """
    labels, areas, _ = rough_parts(mask)
    large = np.isin(labels, np.flatnonzero(areas > (12 * scale) ** 2)) & (labels > 0)
    together = closed_by(large, 8.0 * scale)
    chosen = large & nearest_part(together, at, reach=max(6.0, 120 * scale))
    return np.asarray(chosen | (filled(chosen) & mask))
