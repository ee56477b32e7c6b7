"""Scenes drawn with known sizes: scale cards, tags and polygons before a pinhole camera.

Everything is flat colour with blur and noise on it: enough to test geometry and uncertainty, and
quick. ``measure.staging`` puts blooms and clumps into them; the priors of ``measure.lift`` were
fitted to those, so that they are no check from outside on the priors.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import GREY_STEPS, CardDesign, Rect
from measure.card.marks import TAG_PITCH, marks_of_box, marks_of_tag
from measure.results import Picture, Points

__all__ = ["Camera", "Canvas", "Patch", "card_raster", "look_at", "tag_raster"]

Colour = tuple[int, int, int]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Camera:
    """A pinhole camera with a little radial distortion, in card axes.

    ``eye_mm`` is its place (card x, y and height above the card); ``axes`` is a (3, 3) array whose
    rows are the picture's right, the picture's down, and the line of sight.
    ``distortion`` is the share by which the picture's far corner is pushed outwards.
    """

    eye_mm: NDArray[np.float64]
    axes: NDArray[np.float64]
    focal_px: float
    size_px: tuple[int, int]
    distortion: float = 0.0

    def project(self, places_mm: NDArray[np.float64]) -> Points:
        """(N, 2) pixels of (N, 3) places (card x, y, height)."""
        seen = (np.asarray(places_mm, np.float64) - self.eye_mm) @ self.axes.T
        flat = seen[:, :2] / seen[:, 2:]
        width, height = self.size_px
        corner = math.hypot(width, height) / 2.0 / self.focal_px
        square = np.sum(flat**2, axis=1, keepdims=True) / corner**2
        centre = np.array([(width - 1) / 2.0, (height - 1) / 2.0])
        projected: Points = flat * (1.0 + self.distortion * square) * self.focal_px + centre
        return projected

    @property
    def focal35_mm(self) -> float:
        """The 35 mm equivalent, by the diagonal."""
        return self.focal_px / math.hypot(*self.size_px) * math.hypot(36.0, 24.0)


def look_at(
    target_mm: tuple[float, float, float],
    *,
    distance_mm: float,
    tilt_deg: float = 0.0,
    tilt_towards_deg: float = 0.0,
    turned_deg: float = 0.0,
    focal35_mm: float = 26.0,
    size_px: tuple[int, int] = (1600, 1200),
    distortion: float = 0.0,
) -> Camera:
    """A camera that looks at a place, ``tilt_deg`` off the card's normal, turned about its axis."""
    lean, towards = math.radians(tilt_deg), math.radians(tilt_towards_deg)
    out = np.array(
        [
            math.sin(lean) * math.cos(towards),
            math.sin(lean) * math.sin(towards),
            math.cos(lean),
        ]
    )
    sight = -out
    # Card y runs down the card and heights towards the camera: seen from above, right x down must
    # give the sight, in axes that are themselves left-handed.
    spin = math.radians(turned_deg)
    wish = np.array([math.cos(spin), math.sin(spin), 0.0])
    right = wish - sight * float(wish @ sight)
    right /= np.linalg.norm(right)
    down = -np.cross(sight, right)
    return Camera(
        eye_mm=np.asarray(target_mm, np.float64) + distance_mm * out,
        axes=np.array([right, down, sight]),
        focal_px=focal35_mm / math.hypot(36.0, 24.0) * math.hypot(*size_px),
        size_px=size_px,
        distortion=distortion,
    )


def card_raster(design: CardDesign, *, px_per_mm: int = 8) -> NDArray[np.uint8]:
    """(H, W) grey raster of the card: board and grey steps, without text."""
    m = px_per_mm
    raster = np.full((round(design.height_mm * m), round(design.width_mm * m)), 250, np.uint8)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    side = round(design.square_mm * m)
    inner = round(design.mark_mm * m)
    mark = design.first_mark
    left, top = round(design.board_left_mm * m), round(design.board_top_mm * m)
    for row in range(design.squares_y):
        for column in range(design.squares_x):
            x, y = left + column * side, top + row * side
            if (row + column) % 2 == 0:
                raster[y : y + side, x : x + side] = 12
                continue
            pad = (side - inner) // 2
            bits = cv2.aruco.generateImageMarker(dictionary, mark, inner)
            raster[y + pad : y + pad + inner, x + pad : x + pad + inner] = np.maximum(bits, 12)
            mark += 1
    step = design.greys.width / len(GREY_STEPS)
    for i, grey in enumerate(GREY_STEPS):
        box = Rect(
            left=design.greys.left + i * step,
            top=design.greys.top,
            width=step,
            height=design.greys.height,
        )
        x, y = round(box.left * m), round(box.top * m)
        raster[y : y + round(box.height * m), x : x + round(box.width * m)] = round(12 + 238 * grey)
    return raster


def tag_raster(
    number: int, *, mark_mm: float = 20.0, px_per_mm: int = 8, box: bool = False
) -> NDArray[np.uint8]:
    """(H, W) grey raster of a tag: two marks side by side with a white margin of a fifth.

    ``box``: the tag of the box of this number.
    """
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    side = round(mark_mm * px_per_mm)
    margin = side // 5
    pitch = round(TAG_PITCH * side)
    raster = np.full((side + 2 * margin, side + pitch + 2 * margin), 245, np.uint8)
    for i, mark in enumerate(marks_of_box(number) if box else marks_of_tag(number)):
        x = margin + i * pitch
        bits = cv2.aruco.generateImageMarker(dictionary, mark, side)
        raster[margin : margin + side, x : x + side] = np.maximum(bits, 12)
    return raster


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Patch:
    """A flat raster somewhere in the scene: its corner, and one millimetre along its two edges."""

    raster: NDArray[np.uint8]
    corner_mm: tuple[float, float, float]
    right: tuple[float, float, float]
    down: tuple[float, float, float]
    px_per_mm: int = 8


@dataclass(slots=True, kw_only=True, eq=False)
class Canvas:
    """A picture being drawn, ``oversample`` times finer than it will come out.

    ``ground`` (H, W, 3) is what lies behind everything, in place of a plain ``background``.
    """

    camera: Camera
    background: Colour = (96, 108, 84)
    ground: NDArray[np.float64] | None = None
    oversample: int = 2
    _fine: NDArray[np.float32] = field(init=False)

    def __post_init__(self) -> None:
        width, height = self.camera.size_px
        s = self.oversample
        if self.ground is None:
            self._fine = np.full((height * s, width * s, 3), self.background, np.float32)
        else:
            whole = self.ground.astype(np.float32)
            self._fine = np.asarray(
                cv2.resize(whole, (width * s, height * s), interpolation=cv2.INTER_LINEAR),
                np.float32,
            )

    def lay(self, patch: Patch) -> None:
        """Draw a flat raster, paper-white where it is white."""
        raster, m = self._coarsened(patch)
        h, w = raster.shape
        edges = np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]) / m
        grid = np.stack(np.meshgrid(*[np.linspace(0, 1, 9)] * 2), axis=-1).reshape(-1, 2)
        across = grid * [w / m, h / m]
        places = (
            np.asarray(patch.corner_mm)
            + across[:, :1] * np.asarray(patch.right)
            + across[:, 1:] * np.asarray(patch.down)
        )
        fine = self._to_fine(self.camera.project(places))
        plane, _ = cv2.findHomography(across * m - 0.5, fine, 0)
        quad = cv2.perspectiveTransform((edges * m - 0.5).reshape(-1, 1, 2), plane)
        quad = np.asarray(quad, np.float64).reshape(-1, 2)
        canvas_h, canvas_w = self._fine.shape[:2]
        low = np.clip(np.floor(quad.min(axis=0)).astype(int) - 1, 0, [canvas_w, canvas_h])
        high = np.clip(np.ceil(quad.max(axis=0)).astype(int) + 2, 0, [canvas_w, canvas_h])
        if np.any(high <= low):
            return
        shift = np.array([[1.0, 0.0, -low[0]], [0.0, 1.0, -low[1]], [0.0, 0.0, 1.0]])
        size = (int(high[0] - low[0]), int(high[1] - low[1]))
        seen = cv2.warpPerspective(raster, shift @ plane, size, flags=cv2.INTER_LINEAR)
        mask = np.zeros((size[1], size[0]), np.uint8)
        corners = np.round((quad - low) * 16).astype(np.int32).reshape(-1, 1, 2)
        cv2.fillConvexPoly(mask, corners, 255, cv2.LINE_AA, 4)
        cover = mask[..., None].astype(np.float32) / 255.0
        under = self._fine[low[1] : high[1], low[0] : high[0]]
        under *= 1.0 - cover
        under += cover * np.asarray(seen, np.float32)[..., None]

    def _coarsened(self, patch: Patch) -> tuple[NDArray[np.uint8], float]:
        """The raster no finer than it will be sampled, or sampling would move its edges."""
        start = np.asarray(patch.corner_mm)
        ends = np.array([start, start + patch.right, start + patch.down])
        a, b, c = self._to_fine(self.camera.project(ends))
        fine_per_mm = min(float(np.linalg.norm(b - a)), float(np.linalg.norm(c - a)))
        m = patch.px_per_mm
        h, w = patch.raster.shape
        factor = 1
        while m / factor > fine_per_mm and h % (2 * factor) == 0 and w % (2 * factor) == 0:
            factor *= 2
        if factor == 1:
            return patch.raster, float(m)
        size = (w // factor, h // factor)
        small = cv2.resize(patch.raster, size, interpolation=cv2.INTER_AREA)
        return np.asarray(small, np.uint8), m / factor

    def fill(self, places_mm: NDArray[np.float64], colour: Colour) -> None:
        """Fill the polygon through (N, 3) places with one colour."""
        self.fill_seen(self.camera.project(places_mm), colour)

    def fill_seen(self, pixels: Points, colour: Colour) -> None:
        """Fill the polygon through (N, 2) pixels with one colour."""
        fine = self._to_fine(pixels)
        corners = np.round(fine.reshape(-1, 1, 2) * 16).astype(np.int32)
        cv2.fillPoly(self._fine, [corners], tuple(float(c) for c in colour), cv2.LINE_8, 4)

    def darken(self, parts: Sequence[Points], *, share: float, soft_px: float) -> None:
        """Cast a shadow over polygons (N, 2) in pixels: ``share`` of the light is kept off."""
        height, width = self._fine.shape[:2]
        mask = np.zeros((height, width), np.uint8)
        for part in parts:
            corners = np.round(self._to_fine(part).reshape(-1, 1, 2) * 16).astype(np.int32)
            cv2.fillPoly(mask, [corners], 255, cv2.LINE_8, 4)
        soft = cv2.GaussianBlur(mask, (0, 0), max(0.3, soft_px * self.oversample))
        self._fine *= 1.0 - share * np.asarray(soft, np.float32)[..., None] / 255.0

    def finish(
        self, *, blur_px: float = 0.7, noise: float = 3.0, light: float = 1.0, seed: int = 0
    ) -> Picture:
        """The picture: brought to size, blurred (one sigma, pixels), darkened, noise added."""
        size = self.camera.size_px
        picture = cv2.resize(self._fine, size, interpolation=cv2.INTER_AREA)
        if blur_px > 0:
            picture = cv2.GaussianBlur(picture, (0, 0), blur_px)
        grain = np.random.default_rng(seed).normal(0.0, noise, picture.shape)
        out: Picture = np.clip(np.round(picture * light + grain), 0, 255).astype(np.uint8)
        return out

    def _to_fine(self, pixels: Points) -> Points:
        return (pixels + 0.5) * self.oversample - 0.5
