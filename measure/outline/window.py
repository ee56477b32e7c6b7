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
    lab : (h, w, 3) float32
        The same in CIELAB (L 0 to 100).
    left, top : int
        The rectangle's top-left pixel in the picture.
    scale_x, scale_y : float
        Window pixels for each picture pixel.
    """

    rgb: Picture
    lab: NDArray[np.float32]
    left: int
    top: int
    scale_x: float
    scale_y: float

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of the window."""
        return self.rgb.shape[0], self.rgb.shape[1]

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
        """A mask of the whole picture as a mask of the window (at least half covered)."""
        height, width = self.shape
        rows = round(height / self.scale_y)
        columns = round(width / self.scale_x)
        part = mask[self.top : self.top + rows, self.left : self.left + columns]
        grey = part.astype(np.uint8) * 255
        small = cv2.resize(grey, (width, height), interpolation=cv2.INTER_AREA)
        return np.asarray(small >= 128)


def window_of(
    picture: Picture, *, box: tuple[float, float, float, float], side_px: int, enlarge: bool = False
) -> Window:
    """The part of the picture inside ``box`` (left, top, right, bottom), clipped to the picture.

    Its longer side becomes ``side_px``; a part that is smaller already is enlarged if asked.
    """
    height, width = picture.shape[:2]
    left, top = max(0, math.floor(box[0])), max(0, math.floor(box[1]))
    right, bottom = min(width, math.ceil(box[2])), min(height, math.ceil(box[3]))
    part = picture[top:bottom, left:right]
    shrink = side_px / max(part.shape[0], part.shape[1], 1)
    if not enlarge:
        shrink = min(1.0, shrink)
    size = (max(8, round(part.shape[1] * shrink)), max(8, round(part.shape[0] * shrink)))
    way = cv2.INTER_AREA if shrink <= 1 else cv2.INTER_CUBIC
    rgb = np.asarray(cv2.resize(part, size, interpolation=way), dtype=np.uint8)
    lab = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    return Window(
        rgb=rgb,
        lab=np.asarray(lab, dtype=np.float32),
        left=left,
        top=top,
        scale_x=size[0] / part.shape[1],
        scale_y=size[1] / part.shape[0],
    )


def carried(
    mask: Mask | NDArray[np.float32], source: Window, target: Window
) -> NDArray[np.float32]:
    """A mask (or chances) of one window as grey values of another."""
    height, width = target.shape
    grid_y, grid_x = np.indices((height, width), dtype=np.float64)
    points = np.stack([grid_x.ravel(), grid_y.ravel()], axis=1)
    there = source.from_picture(target.to_picture(points)).astype(np.float32)
    return np.asarray(
        cv2.remap(
            mask.astype(np.float32),
            there[:, 0].reshape(height, width),
            there[:, 1].reshape(height, width),
            cv2.INTER_LINEAR,
        ),
        dtype=np.float32,
    )
