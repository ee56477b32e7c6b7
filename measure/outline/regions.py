"""A shrunk window of a picture and the region work done on it: cutting out, choosing, clipping."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Picture, Points

__all__ = [
    "Mask",
    "Window",
    "border_of",
    "clip_to_ellipse",
    "disc",
    "filled",
    "grab",
    "looks_like",
    "longest_contour",
    "nearest_part",
    "open_by",
    "overlap",
    "radii_about",
    "rough_parts",
    "widest_of",
    "window_of",
]

Mask = NDArray[np.bool_]

# Any fixed number will do: OpenCV starts its colour clusters from its own generator, so without
# it the same picture would give another outline each time.
_RNG_SEED = 20


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
        return (points + 0.5) / scale - 0.5 + np.array([self.left, self.top])

    def from_picture(self, points: Points) -> Points:
        """Picture positions (x, y) as positions in the window."""
        scale = np.array([self.scale_x, self.scale_y])
        return (points - np.array([self.left, self.top]) + 0.5) * scale - 0.5

    def shrink_mask(self, mask: Mask) -> Mask:
        """A mask of the whole picture as a mask of the window (at least half covered)."""
        height, width = self.shape
        rows = round(height / self.scale_y)
        columns = round(width / self.scale_x)
        part = mask[self.top : self.top + rows, self.left : self.left + columns]
        small = cv2.resize(part.astype(np.uint8) * 255, (width, height), interpolation=cv2.INTER_AREA)
        return np.asarray(small >= 128)


def window_of(picture: Picture, *, box: tuple[float, float, float, float], side_px: int) -> Window:
    """The part of the picture inside ``box`` (left, top, right, bottom), clipped to the picture.

    Its longer side becomes ``side_px``; a part that is smaller already is not enlarged.
    """
    height, width = picture.shape[:2]
    left, top = max(0, math.floor(box[0])), max(0, math.floor(box[1]))
    right, bottom = min(width, math.ceil(box[2])), min(height, math.ceil(box[3]))
    part = picture[top:bottom, left:right]
    shrink = min(1.0, side_px / max(part.shape[0], part.shape[1], 1))
    size = (max(8, round(part.shape[1] * shrink)), max(8, round(part.shape[0] * shrink)))
    rgb = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
    lab = cv2.cvtColor(rgb.astype(np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    return Window(
        rgb=rgb,
        lab=np.asarray(lab, dtype=np.float32),
        left=left,
        top=top,
        scale_x=size[0] / part.shape[1],
        scale_y=size[1] / part.shape[0],
    )


def grab(
    rgb: Picture, *, surely: Mask, surely_not: Mask, start: Mask, iterations: int = 2
) -> Mask:
    """GrabCut from a starting guess; empty when there is nothing on one of the two sides."""
    labels = np.where(start, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    labels[surely] = cv2.GC_FGD
    labels[surely_not] = cv2.GC_BGD
    inside = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
    # GrabCut needs enough pixels on either side for its five colours.
    if inside.sum() < 20 or (~inside).sum() < 20:
        return np.zeros(labels.shape, dtype=bool)
    cv2.setRNGSeed(_RNG_SEED)
    labels, _, _ = cv2.grabCut(
        rgb, labels, None, np.zeros((1, 65)), np.zeros((1, 65)), iterations, cv2.GC_INIT_WITH_MASK
    )
    return np.asarray((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD))


def disc(shape: tuple[int, int], centre: tuple[float, float], radius: float) -> Mask:
    """A round mask about (x, y)."""
    rows, columns = np.ogrid[: shape[0], : shape[1]]
    return np.asarray((columns - centre[0]) ** 2 + (rows - centre[1]) ** 2 <= radius**2)


def border_of(shape: tuple[int, int], thickness: int) -> Mask:
    """The frame of a window."""
    mask = np.ones(shape, dtype=bool)
    mask[thickness:-thickness, thickness:-thickness] = False
    return mask


def looks_like(lab: NDArray[np.float32], sample: Mask, *, clusters: int) -> NDArray[np.float32]:
    """Distance of each pixel's colour to the nearest of the sample's main colours.

    Lightness counts half: shade and sun on one leaf differ in little else. In units of the
    cluster's own spread, at least 4 units of CIELAB.
    """
    weighted = lab * np.array([0.5, 1.0, 1.0], dtype=np.float32)
    data = weighted[sample]
    if len(data) < 4 * clusters:
        return np.full(lab.shape[:2], np.inf, dtype=np.float32)
    data = np.ascontiguousarray(data[:: max(1, len(data) // 3000)])
    cv2.setRNGSeed(_RNG_SEED)
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 12, 0.5)
    _, belongs, centres = cv2.kmeans(
        data, clusters, np.empty((0, 1), np.int32), stop, 1, cv2.KMEANS_PP_CENTERS
    )
    belongs = belongs.ravel()
    nearest = np.full(lab.shape[:2], np.inf, dtype=np.float32)
    for index, centre in enumerate(centres):
        own = data[belongs == index]
        # A few stray pixels at the border are no background of their own.
        if len(own) < 0.01 * len(data):
            continue
        spread = max(4.0, float(np.sqrt(np.mean(np.sum((own - centre) ** 2, axis=1)))))
        away = np.sqrt(np.sum((weighted - centre) ** 2, axis=2)) / spread
        nearest = np.minimum(nearest, away)
    return nearest


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
    """Opening by a disc: what is thinner than twice the radius goes."""
    size = 2 * round(radius) + 1
    if size < 3:
        return mask
    kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size))
    padded = np.pad(mask.astype(np.uint8), size)
    opened = cv2.morphologyEx(padded, cv2.MORPH_OPEN, kernel)
    return np.asarray(opened[size:-size, size:-size] > 0)


def radii_about(mask: Mask, centre: tuple[float, float], *, directions: int) -> NDArray[np.float64]:
    """Distance from the centre to the outermost pixel of the mask in each direction."""
    rows, columns = np.nonzero(mask)
    dx, dy = columns - centre[0], rows - centre[1]
    sector = np.floor(np.mod(np.arctan2(dy, dx), 2 * np.pi) / (2 * np.pi) * directions)
    radii = np.zeros(directions)
    np.maximum.at(radii, sector.astype(np.int64) % directions, np.hypot(dx, dy))
    return radii


def clip_to_ellipse(
    mask: Mask, *, beyond: float, directions: int = 72
) -> tuple[Mask, float, NDArray[np.float64]]:
    """Cut what sticks out beyond a smooth round fitted to the mask.

    A curve of few waves is fitted to the radii, outliers weighing little, and what lies more than
    ``beyond`` (a share) outside it is cut: a neighbour that touches, a leaf of the same colour.

    Returns
    -------
    the clipped mask, the share of directions in which something was cut, and the fitted radii.
    """
    rows, columns = np.nonzero(mask)
    centre = (float(np.median(columns)), float(np.median(rows)))
    radii = radii_about(mask, centre, directions=directions)
    angles = (np.arange(directions) + 0.5) * 2 * np.pi / directions
    waves = [np.ones(directions)]
    for k in (1, 2):
        waves += [np.cos(k * angles), np.sin(k * angles)]
    design = np.stack(waves, axis=1)
    weight = np.ones(directions)
    fit = np.full(directions, float(np.median(radii)))
    for _ in range(12):
        root = np.sqrt(weight)
        solution, *_ = np.linalg.lstsq(design * root[:, None], radii * root, rcond=None)
        fit = np.maximum(design @ solution, 1.0)
        # Outward excess is what is doubted, so it loses its weight first.
        excess = (radii - fit) / fit
        weight = 1.0 / (1.0 + (np.maximum(excess, 0) / 0.06) ** 2 + (excess / 0.2) ** 2)
    grid_y, grid_x = np.indices(mask.shape)
    dx, dy = grid_x - centre[0], grid_y - centre[1]
    turn = np.mod(np.arctan2(dy, dx), 2 * np.pi) / (2 * np.pi) * directions - 0.5
    limit = np.interp(turn, np.arange(-1, directions + 1), np.r_[fit[-1], fit, fit[0]])
    cut = float(np.mean(radii > fit * (1 + beyond)))
    return np.asarray(mask & (np.hypot(dx, dy) <= limit * (1 + beyond))), cut, fit


def longest_contour(mask: Mask) -> Points:
    """The longest outer contour of the mask, through the middle of its boundary.

    Border pixels are moved half a pixel outwards by drawing at four times the size, so that a
    filled square of n pixels comes out n wide.
    """
    enlarged = cv2.resize(
        np.pad(mask.astype(np.float32), 2), None, fx=4, fy=4, interpolation=cv2.INTER_LINEAR
    )
    contours, _ = cv2.findContours(
        (enlarged >= 0.5).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    best = max(contours, key=lambda c: float(cv2.contourArea(c)))
    points = np.asarray(best, dtype=np.float64).reshape(-1, 2)
    return (points + 0.5) / 4 - 0.5 - 2


def widest_of(points: Points) -> float:
    """The greatest distance between two points of an outline."""
    hull = np.asarray(cv2.convexHull(points.astype(np.float32)), dtype=np.float64).reshape(-1, 2)
    gaps = hull[:, None, :] - hull[None, :, :]
    return float(np.sqrt(np.max(np.sum(gaps**2, axis=2))))


def overlap(one: Mask, other: Mask) -> float:
    """Shared area over joint area, 0 to 1."""
    joint = int(np.count_nonzero(one | other))
    return int(np.count_nonzero(one & other)) / joint if joint else 0.0
