"""Whole scenes of known truth: a bloom before its card, a clump beside its card."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.board import board_points_mm
from measure.card.designs import CardDesign, design_named
from measure.planar import hull_of
from measure.results import MarksSeen, Optics, Points, SeenCard
from measure.scenes import Camera, Canvas, Colour, Patch, card_raster, look_at, tag_raster
from measure.shapes import Bloom, BloomForm, Clump, grow_bloom, grow_clump
from measure.variants import support_points

__all__ = [
    "BloomScene",
    "ClumpScene",
    "Shadow",
    "exact_marks",
    "rim_height_mm",
    "stage_bloom",
    "stage_clump",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shadow:
    """Light that falls at a slant: what stands h above the card throws its shadow ``slope`` h off.

    ``share`` is how much of the light is kept off, ``soft_px`` the blur of the shadow's edge.
    """

    slope: tuple[float, float]
    share: float
    soft_px: float

    def on_card(self, places_mm: NDArray[np.float64]) -> NDArray[np.float64]:
        """(N, 3) where the shadows of places fall on the card's plane."""
        height = np.maximum(places_mm[:, 2:], 0.0)
        return np.column_stack([places_mm[:, :2] + height * self.slope, 0.0 * height])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BloomScene:
    """A bloom in front of the bloom card, seen by a camera."""

    camera: Camera
    bloom: Bloom
    design: CardDesign
    stretch: float

    @property
    def optics(self) -> Optics:
        """What the camera's file would say."""
        return Optics(focal35_mm=self.camera.focal35_mm)

    def outline(self) -> Points:
        """(N, 2) pixels of the true outline."""
        return _silhouette([self.camera.project(petal) for petal in self.bloom.petals])

    def canvas(
        self,
        *,
        colour: Colour = (205, 90, 50),
        tag: int | None = None,
        ground: NDArray[np.float64] | None = None,
        shadow: Shadow | None = None,
    ) -> Canvas:
        """The scene drawn; ``finish`` makes the picture."""
        canvas = Canvas(camera=self.camera, background=(70, 92, 58), ground=ground)
        _lay_card(canvas, self.design, stretch=self.stretch, tag=tag)
        if shadow is not None:
            cast = [self.camera.project(shadow.on_card(petal)) for petal in self.bloom.petals]
            canvas.darken(cast, share=shadow.share, soft_px=shadow.soft_px)
        for petal, shade in zip(self.bloom.petals, self.bloom.shades, strict=True):
            red, green, blue = (round(shade * c) for c in colour)
            canvas.fill(petal, (red, green, blue))
        return canvas


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClumpScene:
    """A clump beside the bench card, seen by a camera."""

    camera: Camera
    clump: Clump
    design: CardDesign
    stretch: float

    @property
    def optics(self) -> Optics:
        """What the camera's file would say."""
        return Optics(focal35_mm=self.camera.focal35_mm)

    def outline(self) -> Points:
        """(N, 2) pixels of the true outline."""
        return _silhouette([part for body in self._bodies() for part in body])

    def canvas(
        self,
        *,
        colour: Colour = (168, 128, 84),
        tag: int | None = None,
        ground: NDArray[np.float64] | None = None,
        shadow: Shadow | None = None,
    ) -> Canvas:
        """The scene drawn, on slate unless another ``ground``; ``finish`` makes the picture."""
        canvas = Canvas(camera=self.camera, background=(74, 80, 88), ground=ground)
        _lay_card(canvas, self.design, stretch=self.stretch, tag=tag)
        if shadow is not None:
            cast = [part for body in self._bodies(shadow) for part in body]
            canvas.darken(cast, share=shadow.share, soft_px=shadow.soft_px)
        for i, body in enumerate(self._bodies()):
            shade = 0.8 if i == 0 else 0.88 + 0.04 * (i % 4)
            red, green, blue = (round(shade * c) for c in colour)
            for part in body:
                canvas.fill_seen(part, (red, green, blue))
        return canvas

    def _bodies(self, shadow: Shadow | None = None) -> list[list[Points]]:
        """Convex pieces of each body (or its shadow), in pixels: hulls of neighbouring balls."""
        bodies = []
        for body in self.clump.bodies:
            places = body if shadow is None else shadow.on_card(body)
            balls = self.camera.project(places).reshape(-1, Clump.POINTS_A_BALL, 2)
            pairs = [np.concatenate([a, b]) for a, b in itertools.pairwise(balls)]
            bodies.append([pair[hull_of(pair)] for pair in pairs])
        return bodies


def stage_bloom(
    form: BloomForm,
    *,
    widest_mm: float = 120.0,
    seed: int = 1,
    grow: Callable[..., Bloom] = grow_bloom,
    gap_mm: float = 3.0,
    rim_mm: float | None = None,
    lean_deg: tuple[float, float] = (0.0, 0.0),
    distance_mm: float = 450.0,
    tilt_deg: float = 6.0,
    tilt_towards_deg: float = 240.0,
    turned_deg: float = 0.0,
    focal35_mm: float = 26.0,
    size_px: tuple[int, int] = (1600, 1200),
    distortion: float = 0.0,
    stretch: float = 1.0,
) -> BloomScene:
    """A bloom of this form before the bloom card, its back ``gap_mm`` above the card.

    Or its widest part ``rim_mm`` above the card's plane. ``grow`` is what makes the bloom;
    ``stretch`` is the true size of the printed card over its nominal one.
    """
    design = design_named("bloom-1")
    at = design.subject_at or (0.0, 0.0)
    leant = grow(form, widest_mm=widest_mm, seed=seed).moved(
        to_mm=(0.0, 0.0, 0.0), lean=_lean(*lean_deg)
    )
    lowest = float(leant.points[:, 2].min())
    camera = look_at(
        (design.width_mm / 2.0, design.height_mm / 2.0, 0.0),
        distance_mm=distance_mm,
        tilt_deg=tilt_deg,
        tilt_towards_deg=tilt_towards_deg,
        turned_deg=turned_deg,
        focal35_mm=focal35_mm,
        size_px=size_px,
        distortion=distortion,
    )
    up = gap_mm - lowest if rim_mm is None else rim_mm - rim_height_mm(leant)
    bloom = leant.moved(to_mm=(at[0], at[1], up))
    return BloomScene(camera=camera, bloom=bloom, design=design, stretch=stretch)


def stage_clump(
    *,
    spread_mm: float = 230.0,
    tubers: int = 6,
    seed: int = 1,
    grow: Callable[..., Clump] = grow_clump,
    laid_deg: float = 0.0,
    left: bool = False,
    distance_mm: float = 720.0,
    tilt_deg: float = 6.0,
    tilt_towards_deg: float = 240.0,
    turned_deg: float = 0.0,
    focal35_mm: float = 26.0,
    size_px: tuple[int, int] = (1600, 1200),
    distortion: float = 0.0,
    stretch: float = 1.0,
) -> ClumpScene:
    """A clump 30 mm to the right (or left) of the bench card, on the same level."""
    design = design_named("bench-1")
    grown = grow(spread_mm=spread_mm, tubers=tubers, seed=seed).moved(
        to_mm=(0.0, 0.0, 0.0), turned_deg=laid_deg
    )
    low, high = grown.points.min(axis=0), grown.points.max(axis=0)
    x = float(-30.0 - high[0]) if left else float(design.width_mm + 30.0 - low[0])
    y = float(design.height_mm / 2.0 - (low[1] + high[1]) / 2.0)
    clump = grown.moved(to_mm=(x, y, 0.0))
    ends = (x + low[0], design.width_mm) if left else (0.0, x + high[0])
    camera = look_at(
        (float(sum(ends)) / 2.0, design.height_mm / 2.0, 0.0),
        distance_mm=distance_mm,
        tilt_deg=tilt_deg,
        tilt_towards_deg=tilt_towards_deg,
        turned_deg=turned_deg,
        focal35_mm=focal35_mm,
        size_px=size_px,
        distortion=distortion,
    )
    return ClumpScene(camera=camera, clump=clump, design=design, stretch=stretch)


def exact_marks(
    scene: BloomScene | ClumpScene, *, corner_sigma_px: float = 0.0, seed: int = 0
) -> MarksSeen:
    """The card as if read from the scene's picture, every corner off by seeded scatter only."""
    ids = np.arange(scene.design.n_corners)
    places = board_points_mm(scene.design, ids) * scene.stretch
    seen = scene.camera.project(np.column_stack([places, np.zeros(len(places))]))
    seen = seen + np.random.default_rng(seed).normal(0.0, corner_sigma_px, seen.shape)
    card = SeenCard(
        design=scene.design.name, corner_ids=ids, corners=seen, n_marks=len(scene.design.marks)
    )
    return MarksSeen(cards=(card,), sharpness_px=0.7)


def rim_height_mm(bloom: Bloom) -> float:
    """Height of the bloom's widest part: the mean over all directions of what lies furthest out."""
    points = bloom.points
    return float(points[support_points(points[:, :2]), 2].mean())


def _lean(x_deg: float, y_deg: float) -> NDArray[np.float64]:
    """Rotation about the x axis, then about the y axis."""
    a, b = math.radians(x_deg), math.radians(y_deg)
    about_x = np.array(
        [[1, 0, 0], [0, math.cos(a), -math.sin(a)], [0, math.sin(a), math.cos(a)]], np.float64
    )
    about_y = np.array(
        [[math.cos(b), 0, math.sin(b)], [0, 1, 0], [-math.sin(b), 0, math.cos(b)]], np.float64
    )
    turn: NDArray[np.float64] = about_y @ about_x
    return turn


def _lay_card(canvas: Canvas, design: CardDesign, *, stretch: float, tag: int | None) -> None:
    right, down = (stretch, 0.0, 0.0), (0.0, stretch, 0.0)
    canvas.lay(Patch(raster=card_raster(design), corner_mm=(0.0, 0.0, 0.0), right=right, down=down))
    if tag is not None:
        corner = (stretch * design.tag_area.left, stretch * design.tag_area.top, 0.5)
        canvas.lay(Patch(raster=tag_raster(tag), corner_mm=corner, right=(1, 0, 0), down=(0, 1, 0)))


def _silhouette(parts: Sequence[Points], *, oversample: int = 4) -> Points:
    """(N, 2) outer border of overlapping polygons, to a quarter of a pixel or so."""
    everything = np.concatenate(list(parts))
    low = np.floor(everything.min(axis=0)) - 3.0
    width, height = (np.ceil(everything.max(axis=0)) - low + 4.0).astype(int)
    mask = np.zeros((height * oversample, width * oversample), np.uint8)
    for part in parts:
        fine = ((part - low) + 0.5) * oversample - 0.5
        cv2.fillPoly(mask, [np.round(fine * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    borders, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    border = max(borders, key=cv2.contourArea).reshape(-1, 2).astype(np.float64)
    outline: Points = (border + 0.5) / oversample - 0.5 + low
    return outline
