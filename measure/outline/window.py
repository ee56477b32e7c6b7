"""A shrunk window of a picture, and the way between its pixels and the picture's."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.regions import Mask
from measure.results import Picture, Points

__all__ = ["Window", "carried", "window_of"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Window:
    """A rectangle of a picture, shrunk by area averaging.

    Attributes
    ----------
    rgb : (h, w, 3) uint8
        The shrunk rectangle.
    left, top : int
        The rectangle's top-left pixel in the picture.
    scale_x, scale_y : float
        Window pixels for each picture pixel.
    """

    rgb: Picture
    left: int
    top: int
    scale_x: float
    scale_y: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the window."""
        return self.rgb.shape[0], self.rgb.shape[1]

    @property
    def lab(self) -> NDArray[np.float32]:
        """(h, w, 3) the shrunk rectangle in CIELAB (L 0 to 100)."""
        lab = cv2.cvtColor(self.rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
        return np.asarray(lab, dtype=np.float32)

    def to_picture(self, points: Points) -> Points:
        """Window positions (x, y) as positions in the picture."""
        scale = np.array([self.scale_x, self.scale_y])
        # Pixel centres are at integers, so a shrunk pixel's centre is half a pixel off.
        there = (points + 0.5) / scale - 0.5 + np.array([self.left, self.top])
        return np.asarray(there, dtype=np.float64)

    def from_picture(self, points: Points) -> Points:
        """Picture positions (x, y) as positions in the window."""
        scale = np.array([self.scale_x, self.scale_y])
        here = (points - np.array([self.left, self.top]) + 0.5) * scale - 0.5
        return np.asarray(here, dtype=np.float64)

    def nearest_to(self, point: tuple[float, float]) -> tuple[float, float]:
        """The window position (x, y) nearest to a picture position, which may lie outside."""
        x, y = self.from_picture(np.array([point], dtype=np.float64))[0]
        height, width = self.shape
        return float(np.clip(x, 0, width - 1)), float(np.clip(y, 0, height - 1))

    def shrink_mask(self, mask: Mask) -> Mask:
        """A mask of the whole picture as a mask of the window, taken at its pixels' centres."""
        height, width = self.shape
        rows = self.top + ((np.arange(height) + 0.5) / self.scale_y).astype(np.intp)
        columns = self.left + ((np.arange(width) + 0.5) / self.scale_x).astype(np.intp)
        return np.asarray(mask[rows[:, None], columns])


def window_of(
    picture: Picture, *, box: tuple[float, float, float, float], side_px: int, enlarge: bool = False
) -> Window:
    """The part of the picture inside ``box`` (left, top, right, bottom), clipped to the picture.

    Its longer side becomes ``side_px``; a part that is smaller already is enlarged if asked.
    """
    height, width = picture.shape[:2]
    left, right = max(0, math.floor(box[0])), min(width, math.ceil(box[2]))
    top, bottom = max(0, math.floor(box[1])), min(height, math.ceil(box[3]))
    shrink = side_px / max(right - left, bottom - top, 1)
    if not enlarge:
        shrink = min(1.0, shrink)
    # Averaging two by two is so quick that what it leaves is hardly any work.
    halvings = max(0, math.floor(math.log2(1 / shrink)) - 1)
    left, right = _divisible(left, right, width, by=2**halvings)
    top, bottom = _divisible(top, bottom, height, by=2**halvings)
    part = picture[top:bottom, left:right]
    size = (max(8, round(part.shape[1] * shrink)), max(8, round(part.shape[0] * shrink)))
    scale_x, scale_y = size[0] / part.shape[1], size[1] / part.shape[0]
    for _ in range(halvings):
        half = (max(1, part.shape[1] // 2), max(1, part.shape[0] // 2))
        part = np.asarray(cv2.resize(part, half, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    way = cv2.INTER_AREA if shrink <= 1 else cv2.INTER_CUBIC
    rgb = np.asarray(cv2.resize(part, size, interpolation=way), dtype=np.uint8)
    return Window(rgb=rgb, left=left, top=top, scale_x=scale_x, scale_y=scale_y)


def square_about(
    picture: Picture, middle: tuple[float, float], *, half: float, side_px: int
) -> Window:
    """The square about a place (x, y), ``half`` its half side, at ``side_px`` pixels."""
    x, y = middle
    box = (x - half, y - half, x + half, y + half)
    return window_of(picture, box=box, side_px=side_px, enlarge=True)


def _divisible(low: int, high: int, size: int, *, by: int) -> tuple[int, int]:
    """The stretch without the few pixels that keep ``by`` from going into it.

    They are left out where there is more of the picture beyond: a stretch that reaches the
    picture's edge is to reach it still. One that reaches both stays as it is.
    """
    rest = (high - low) % by
    if high < size:
        return low, high - rest
    return (low + rest, high) if low > 0 else (low, high)


def carried(
    mask: Mask | NDArray[np.float32], source: Window, target: Window
) -> NDArray[np.float32]:
    """A mask (or chances) of one window as grey values of another."""
    height, width = target.shape
    # Columns and rows go their ways apart: a diagonal holds all of both.
    long = np.arange(max(height, width), dtype=np.float64)
    there = source.from_picture(target.to_picture(np.stack([long, long], axis=1)))
    across, down = there[:width, 0].astype(np.float32), there[:height, 1].astype(np.float32)
    return np.asarray(
        cv2.remap(
            mask.astype(np.float32),
            np.tile(across, (height, 1)),
            np.repeat(down[:, None], width, axis=1),
            cv2.INTER_LINEAR,
        ),
        dtype=np.float32,
    )
