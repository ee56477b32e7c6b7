"""Whether two photos are one picture: shrunk, edited in its light or colours, turned, cropped."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = [
    "SAME_SECOND",
    "SKETCH_PX",
    "UNDATED",
    "Sameness",
    "compared",
    "compared_whole",
    "sketch_of",
    "sketch_vectors",
    "turned_sketches",
]

Picture = NDArray[np.uint8]
Grey = NDArray[np.float32]

SKETCH_PX = 16
"""A sketch is so many pixels wide and high, whatever the shape of the picture."""

SAME_SECOND, UNDATED = 0.10, 0.01
"""Share of the detail that may differ in two photos of one picture: where both were taken in the
same second, so that edited light may account for it; and where a date is missing, so that nothing
but the picture speaks for it. Measured, see docs/copies.md."""

# What is compared in full is first shrunk to this longer side.
_COMPARED_PX = 240

# Detail is looked at in squares of this side; grey levels below this are noise and JPEG's doing.
_SQUARE_PX = 15
_NOISE = 3.0

# In a square of detail whose agreement is below this (1: the same), something else is shown.
_AGREES = 0.6

# Places are looked for in pictures shrunk to this longer side, so many of them at most.
_PLACES_PX, _MOST_PLACES = 400, 400

# Two pictures with less detail than this share of their squares can't be told apart by it.
_LEAST_DETAIL = 0.05

# How far shapes of the whole picture may differ, as a ratio, before it was cropped.
_SAME_SHAPE = 1.02

# A crop shows at least this share of the picture, and at least so many places are found in both.
_LEAST_SHOWN, _FEWEST_PLACES = 0.2, 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Sameness:
    """How two pictures agree: ``differs`` is the share of their detail that is not the same.

    ``how``: the whole picture, or one a crop of the other that shows the share ``shown`` of it;
    ``turned_deg`` is how far the crop is turned.
    """

    differs: float
    how: Literal["whole", "crop"]
    shown: float = 1.0
    turned_deg: float = 0.0


def sketch_of(picture: Picture) -> bytes:
    """A picture, (H, W, 3) uint8, shrunk to ``SKETCH_PX`` squared: by row, column and colour."""
    small = cv2.resize(picture, (SKETCH_PX, SKETCH_PX), interpolation=cv2.INTER_AREA)
    return small.tobytes()


def sketch_vectors(sketches: NDArray[np.uint8]) -> NDArray[np.float32]:
    """Sketches, (N, S) numbers, as vectors: how alike two are is their scalar product.

    1 is the same but for brightness and contrast; one of one colour all over is like none.
    """
    rows = sketches.astype(np.float32)
    rows -= rows.mean(axis=1, keepdims=True)
    length = np.sqrt(np.sum(rows * rows, axis=1, keepdims=True))
    return np.asarray(rows / np.maximum(length, 1e-6), np.float32)


def turned_sketches(sketch: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A sketch, (S,) numbers, as it is and turned by one, two and three quarters: (4, S)."""
    square = sketch.reshape(SKETCH_PX, SKETCH_PX, 3)
    return np.stack([np.rot90(square, quarters).ravel() for quarters in range(4)])


def compared(one: Picture, other: Picture, *, at_most: float) -> Sameness | None:
    """How two small pictures, (H, W, 3) uint8 each, are one, as a whole or else one a crop.

    None where more than ``at_most`` of their detail differs, or too little is found in both.
    """
    whole = compared_whole(one, other)
    if whole is not None and whole.differs <= at_most:
        return whole
    smaller, larger = sorted((_grey(one), _grey(other)), key=lambda grey: grey.size)
    crops = [_crop(smaller, larger), _crop(larger, smaller)]
    found = [crop for crop in crops if crop is not None and crop.differs <= at_most]
    return min(found, key=lambda one: one.differs, default=None)


def compared_whole(one: Picture, other: Picture) -> Sameness | None:
    """The same of two pictures of one shape; None where shapes or lack of detail don't allow."""
    height, width = one.shape[:2]
    other_height, other_width = other.shape[:2]
    stretched = width * other_height / (height * other_width)
    if not 1 / _SAME_SHAPE <= stretched <= _SAME_SHAPE:
        return None
    longest = min(_COMPARED_PX, max(width, height), max(other_width, other_height))
    scale = longest / max(width, height)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    differs = _differs(_resized(_grey(one), size), _resized(_grey(other), size), None)
    return None if differs is None else Sameness(differs=differs, how="whole")


def _crop(crop: NDArray[np.uint8], full: NDArray[np.uint8]) -> Sameness | None:
    """``crop`` found within ``full``, both grey, and compared there."""
    placed = _placed(crop, full)
    if placed is None:
        return None
    scale = math.hypot(placed[0, 0], placed[1, 0])
    height, width = crop.shape
    shown = scale**2 * height * width / full.size
    if not _LEAST_SHOWN <= shown <= 1.05:
        return None
    smaller = min(1.0, _COMPARED_PX / max(height, width), max(scale, 0.1))
    size = (max(1, round(width * smaller)), max(1, round(height * smaller)))
    to_full = placed @ _shrinking((width, height), size)
    blurred = cv2.GaussianBlur(full, (0, 0), max(0.3, 0.4 * scale / smaller))
    backwards = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    there = cv2.warpAffine(blurred.astype(np.float32), to_full, size, flags=backwards)
    inside = cv2.warpAffine(np.ones(full.shape, np.float32), to_full, size, flags=backwards)
    # A crop lies within what it was cropped from.
    if float(inside.mean()) < 0.95:
        return None
    differs = _differs(_resized(crop, size), np.asarray(there, np.float32), inside > 0.99)
    turned = math.degrees(math.atan2(placed[1, 0], placed[0, 0]))
    if differs is None:
        return None
    return Sameness(differs=differs, how="crop", shown=min(1.0, shown), turned_deg=turned)


def _shrinking(size: tuple[int, int], to: tuple[int, int]) -> NDArray[np.float64]:
    """(3, 3) from the pixels of a shrunk picture to those of the picture itself."""
    across, down = size[0] / to[0], size[1] / to[1]
    return np.array([[across, 0, across / 2 - 0.5], [0, down, down / 2 - 0.5], [0, 0, 1]])


def _placed(crop: NDArray[np.uint8], full: NDArray[np.uint8]) -> NDArray[np.float64] | None:
    """(2, 3) from the crop's pixels to the full picture's: shifted, turned, scaled evenly."""
    at_crop, said_crop = _places(crop)
    at_full, said_full = _places(full)
    if min(len(at_crop), len(at_full)) < _FEWEST_PLACES:
        return None
    near = cv2.BFMatcher(cv2.NORM_L2).knnMatch(said_crop, said_full, k=2)
    pairs = [two[0] for two in near if len(two) == 2 and two[0].distance < 0.8 * two[1].distance]
    if len(pairs) < _FEWEST_PLACES:
        return None
    # The generator behind the random draws is shared with all else that uses it.
    cv2.setRNGSeed(1)
    placed, agree = cv2.estimateAffinePartial2D(
        at_crop[[pair.queryIdx for pair in pairs]],
        at_full[[pair.trainIdx for pair in pairs]],
        ransacReprojThreshold=2.0,
    )
    if placed is None or int(np.count_nonzero(agree)) < _FEWEST_PLACES:
        return None
    return np.asarray(placed, np.float64)


def _places(grey: NDArray[np.uint8]) -> tuple[NDArray[np.float64], NDArray[np.float32]]:
    """Where a picture is easily recognised: (N, 2) pixels, (N, 128) what it looks like there."""
    scale = min(1.0, _PLACES_PX / max(grey.shape))
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    at, said = cv2.SIFT.create(nfeatures=_MOST_PLACES).detectAndCompute(small, None)
    if said is None or not at:
        return np.empty((0, 2)), np.empty((0, 128), np.float32)
    # Pixel centres at integers: shrinking moves them by half a pixel less than it shrinks.
    places = (np.array([one.pt for one in at], np.float64) + 0.5) / scale - 0.5
    return places, np.asarray(said, np.float32)


def _differs(one: Grey, other: Grey, inside: NDArray[np.bool_] | None) -> float | None:
    """Share of the squares with detail that show something else; None: too little detail."""
    spread = max(float(one.std()), 1e-6), max(float(other.std()), 1e-6)
    # Made one contrast over all, so that a brightened copy agrees; then square by square.
    other = other * np.float32(spread[0] / spread[1])
    noise = np.float32(_NOISE**2 * max(1.0, spread[0] / spread[1]) ** 2)
    mean_one, mean_other = _mean(one), _mean(other)
    own = _mean(one * one) - mean_one**2
    others = _mean(other * other) - mean_other**2
    shared = _mean(one * other) - mean_one * mean_other
    agreement = (2 * shared + noise) / (own + others + noise)
    detailed = own + others > 4 * noise
    if inside is not None:
        detailed &= cv2.erode(inside.astype(np.uint8), np.ones((_SQUARE_PX, _SQUARE_PX))) > 0
    count = int(np.count_nonzero(detailed))
    if count < _LEAST_DETAIL * one.size:
        return None
    return int(np.count_nonzero(agreement[detailed] < _AGREES)) / count


def _mean(grey: Grey) -> Grey:
    return np.asarray(cv2.blur(grey, (_SQUARE_PX, _SQUARE_PX)), np.float32)


def _grey(picture: Picture) -> NDArray[np.uint8]:
    return np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY), np.uint8)


def _resized(grey: NDArray[np.uint8], size: tuple[int, int]) -> Grey:
    return np.asarray(cv2.resize(grey, size, interpolation=cv2.INTER_AREA), np.float32)
