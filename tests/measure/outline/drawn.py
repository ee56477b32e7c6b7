"""Blooms and clumps drawn with known outlines over rough grounds, for the outline tests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline

__all__ = ["DrawnBloom", "DrawnClump", "draw_bloom", "draw_clump", "ground", "outcome"]

Floats = NDArray[np.float64]


def outcome(find: Callable[[], Outline]) -> set[Flag | Refusal]:
    """The flags of an outline, or why there is none."""
    try:
        return set(find().flags)
    except MeasureError as error:
        return {error.refusal}


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnBloom:
    """A picture, and the bloom's true region in it."""

    picture: NDArray[np.uint8]
    truth: NDArray[np.bool_]
    centre: tuple[float, float]
    widest_px: float


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnClump:
    """A picture, the clump's true region (without stem and roots), and its tubers."""

    picture: NDArray[np.uint8]
    truth: NDArray[np.bool_]
    centre: tuple[float, float]
    spread_px: float
    tubers: int
    longest_px: float


def widest_of_region(mask: NDArray[np.bool_]) -> float:
    """Greatest distance between the centres of two pixels of a region, plus one pixel."""
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    points = np.concatenate([np.asarray(c).reshape(-1, 2) for c in contours]).astype(float)
    hull = np.asarray(cv2.convexHull(points.astype(np.float32))).reshape(-1, 2).astype(float)
    return float(np.sqrt(((hull[:, None] - hull[None]) ** 2).sum(axis=2).max())) + 1.0


def noise(rng: np.random.Generator, shape: tuple[int, int], sigma: tuple[float, float]) -> Floats:
    """Smooth noise with unit spread; ``sigma`` is its grain in x and y."""
    field = cv2.GaussianBlur(rng.normal(size=shape), (0, 0), sigmaX=sigma[0], sigmaY=sigma[1])
    return np.asarray((field - field.mean()) / field.std())


def ground(kind: str, shape: tuple[int, int], rng: np.random.Generator) -> Floats:
    """(H, W, 3) values 0 to 255 of wood, sacking, slate, soil, leaves or a sheet."""
    if kind == "wood":
        base = np.array([142, 128, 112.0])
        tone = 16 * noise(rng, shape, (60, 1.5)) + 5 * noise(rng, shape, (12, 0.8))
        return base + tone[..., None] * np.array([1.0, 0.95, 0.9])
    if kind == "sacking":
        y, x = np.indices(shape)
        weave = 14 * np.sin(x * 2 * np.pi / 7) * np.sign(np.sin(y * 2 * np.pi / 7))
        return np.array([150, 128, 92.0]) + (weave + 12 * noise(rng, shape, (2, 2)))[..., None]
    if kind == "slate":
        return np.array([84, 90, 98.0]) + 9 * noise(rng, shape, (6, 4))[..., None]
    if kind == "soil":
        grain = 14 * noise(rng, shape, (3, 3)) + 8 * noise(rng, shape, (1, 1))
        return np.array([74, 58, 45.0]) + grain[..., None]
    if kind == "leaves":
        patch = noise(rng, shape, (18, 12))
        return np.array([52, 92, 40.0]) + 20 * patch[..., None] * np.array([0.7, 1.0, 0.5])
    return np.array([222, 222, 218.0]) + 3 * noise(rng, shape, (30, 30))[..., None]


def _finished(picture: Floats, rng: np.random.Generator, blur_px: float) -> NDArray[np.uint8]:
    soft = cv2.GaussianBlur(picture, (0, 0), blur_px) if blur_px > 0 else picture
    return np.clip(soft + rng.normal(0, 3, picture.shape), 0, 255).astype(np.uint8)


def draw_bloom(
    *,
    centre: tuple[float, float] = (400, 300),
    radius_px: float = 130,
    petals: int = 0,
    colour: tuple[float, float, float] = (214, 96, 58),
    disc_colour: tuple[float, float, float] | None = None,
    background: str = "leaves",
    shape: tuple[int, int] = (600, 800),
    others: tuple[tuple[float, float, float], ...] = (),
    seed: int = 1,
    blur_px: float = 1.0,
) -> DrawnBloom:
    """A scalloped (or, with ``petals``, deeply lobed) bloom; ``others`` are (x, y, radius)."""
    rng = np.random.default_rng(seed)
    picture = ground(background, shape, rng)
    truth = np.zeros(shape, dtype=bool)
    for x0, y0, size in (*others, (*centre, radius_px)):
        y, x = np.indices(shape)
        away, turn = np.hypot(x - x0, y - y0), np.arctan2(y - y0, x - x0)
        lobes = petals or 16
        depth = 0.28 if petals else 0.05
        rim = size * (1 - depth * np.abs(np.sin(lobes / 2 * turn)) ** 2)
        truth = away <= rim
        rings = 0.88 + 0.12 * np.cos(away / size * 9 * np.pi) * np.cos(lobes * turn)
        tone = rings * (1.05 - 0.25 * away / size)
        painted = np.array(colour) * tone[..., None]
        if disc_colour is not None:
            painted = np.where((away < 0.27 * size)[..., None], np.array(disc_colour), painted)
        picture = np.where(truth[..., None], painted, picture)
    return DrawnBloom(
        picture=_finished(picture, rng, blur_px),
        truth=truth,
        centre=centre,
        widest_px=widest_of_region(truth),
    )


def _spindle(
    shape: tuple[int, int],
    base: Floats,
    heading: float,
    *,
    length: float,
    thick: float,
    bend: float,
) -> tuple[NDArray[np.bool_], Floats]:
    """One tuber: its region, and how far each pixel is from its axis (0 at it, 1 at the edge)."""
    along = np.linspace(0, 1, 60)
    angle = heading + bend * along
    steps = np.stack([np.cos(angle), np.sin(angle)], axis=1) * length / 60
    axis = base + np.cumsum(steps, axis=0)
    width = thick / 2 * (0.45 + 0.55 * np.sin(np.pi * np.clip(along * 0.95, 0, 1)) ** 0.7)
    nearest = np.full(shape, np.inf)
    low = np.maximum(np.floor(axis.min(axis=0) - thick).astype(int), 0)
    high = np.ceil(axis.max(axis=0) + thick).astype(int)
    box = np.s_[low[1] : high[1], low[0] : high[0]]
    y, x = np.indices(nearest[box].shape)
    for (ax, ay), w in zip(axis - low, width, strict=True):
        nearest[box] = np.minimum(nearest[box], ((x - ax) ** 2 + (y - ay) ** 2) / w**2)
    return nearest <= 1, np.sqrt(nearest)


def _line(mask: NDArray[np.uint8], start: Floats, end: Floats, *, thick: float) -> None:
    """A straight strip of a given thickness, ends square."""
    way = (end - start) / np.hypot(*(end - start))
    side = thick / 2 * np.array([-way[1], way[0]])
    corners = np.array([start + side, end + side, end - side, start - side])
    cv2.fillPoly(mask, [np.round(corners * 16).astype(np.int32).reshape(-1, 1, 2)], 1, 8, 4)


def draw_clump(
    *,
    headings_deg: tuple[float, ...] = (10, 70, 140, 200, 265, 320),
    lengths_mm: tuple[float, ...] = (120, 95, 110, 105, 90, 115),
    thick_mm: float = 38,
    px_per_mm: float = 2.0,
    centre: tuple[float, float] = (420, 330),
    background: str = "wood",
    shape: tuple[int, int] = (660, 860),
    roots_mm: float = 0.0,
    stem_heading_deg: float | None = None,
    stem_mm: float = 52.0,
    shadow: float = 0.45,
    seed: int = 1,
    blur_px: float = 0.8,
) -> DrawnClump:
    """Spindle-shaped tubers about a crown, with shadow, hair roots and a cut stem if asked."""
    rng = np.random.default_rng(seed)
    picture = ground(background, shape, rng)
    middle = np.array(centre, dtype=float)
    scale = px_per_mm
    away = np.hypot(*(np.indices(shape)[::-1] - middle[:, None, None]))
    truth = away <= 24 * scale
    shading = np.where(truth, 0.9, 0.0)
    tips = []
    for heading, length in zip(np.radians(headings_deg), lengths_mm, strict=True):
        bend = float(rng.uniform(-0.3, 0.3))
        start = middle + 12 * scale * np.array([np.cos(heading), np.sin(heading)])
        region, across = _spindle(
            shape, start, heading, length=length * scale, thick=thick_mm * scale, bend=bend
        )
        shading = np.where(region, 1.08 - 0.42 * np.where(region, across, 0) ** 2, shading)
        truth |= region
        far = int(np.argmax(np.where(region, away, 0)))
        tips.append((np.array([far % shape[1], far // shape[1]], dtype=float), heading + bend))
    solid = truth.copy()
    extra = np.zeros(shape, dtype=np.uint8)
    for tip, heading in tips if roots_mm else []:
        way = np.array([np.cos(heading), np.sin(heading)])
        end = tip + roots_mm * scale * way
        _line(extra, tip - 3 * scale * way, end, thick=3.0 * scale)
        aside = tip - 10 * scale * way
        turned = heading + 0.9
        sideways = 0.8 * roots_mm * scale * np.array([np.cos(turned), np.sin(turned)])
        _line(extra, aside, aside + sideways, thick=1.5 * scale)
    stem = np.zeros(shape, dtype=np.uint8)
    if stem_heading_deg is not None:
        turned = np.radians(stem_heading_deg)
        way = np.array([np.cos(turned), np.sin(turned)])
        _line(stem, middle + 14 * scale * way, middle + stem_mm * scale * way, thick=22 * scale)
    thing = solid | (extra > 0) | (stem > 0)
    moved = np.roll(thing.astype(float), (round(7 * scale), round(6 * scale)), (0, 1))
    picture = picture * (1 - shadow * cv2.GaussianBlur(moved, (0, 0), 5 * scale))[..., None]
    skin = np.array([186, 140, 92.0]) + 10 * noise(rng, shape, (5, 5))[..., None]
    skin = skin + 7 * noise(rng, shape, (1.2, 1.2))[..., None]
    picture = np.where((extra > 0)[..., None], np.array([150, 115, 80.0]), picture)
    picture = np.where(solid[..., None], skin * shading[..., None], picture)
    straw = np.array([150, 160, 84.0]) + rng.normal(0, 6, (*shape, 1))
    picture = np.where((stem > 0)[..., None], straw, picture)
    reach = [float(np.hypot(*(tip - middle))) for tip, _ in tips]
    return DrawnClump(
        picture=_finished(picture, rng, blur_px),
        truth=solid,
        centre=centre,
        spread_px=widest_of_region(solid),
        tubers=len(tips),
        longest_px=max(reach) - 24 * scale,
    )
