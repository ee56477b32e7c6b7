"""Sheets of seeds drawn with known count and lengths: tapered, bent, ribbed seeds on lit paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.board import board_points_mm
from measure.card.designs import design_named
from measure.results import MarksSeen, Optics, Picture, Points, SeenCard
from measure.scenes import Camera, card_raster, look_at
from tests.measure.seeds.strewn import Floats, Piece, field_mm, longest, strew

__all__ = ["PAPERS", "Sheet", "SheetPlan", "draw_sheet"]

PAPERS: dict[str, tuple[int, int, int]] = {
    "white": (238, 238, 234),
    "cream": (236, 226, 196),
    "pale blue": (178, 206, 230),
    "pink": (240, 170, 180),
    "green": (120, 190, 120),
    "kraft": (196, 158, 112),
    "black": (30, 30, 32),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPlan:
    """What is to be drawn.

    ``touching`` is the share of seeds pushed up against one that lies already; ``area_sd`` the
    standard deviation of the log of the seeds' areas; ``shade`` one of none, edge (a soft shadow
    falls across the sheet) and deep (all of it in dim light with strong soft shadows). ``chaff``
    and ``dust`` are numbers of pieces. On a ``table`` the paper ends within the picture,
    and wood shows round it. ``heaped`` seeds are thrown on one spot, over each other.
    """

    seeds: int = 60
    touching: float = 0.3
    area_sd: float = 0.25
    paper: str = "white"
    shade: str = "none"
    chaff: int = 3
    dust: int = 6
    heaped: int = 0
    pale_seeds: bool = False
    tilt_deg: float = 6.0
    blur_px: float = 0.9
    noise: float = 3.0
    size_px: tuple[int, int] = (2000, 1500)
    seed: int = 1
    table: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A drawn sheet: the picture, the card in it, and the truth."""

    picture: Picture
    marks: MarksSeen
    optics: Optics
    camera: Camera
    seeds: int
    lengths_mm: Floats
    centres: Points


def draw_sheet(plan: SheetPlan) -> Sheet:
    """Draw the sheet beside the pocket card, as a phone held above it sees it."""
    rng = np.random.default_rng([plan.seed, plan.seeds, round(100 * plan.touching)])
    design = design_named("pocket-1")
    # The seeds lie in a field right of the card; field and card together fill the picture.
    field = field_mm(plan.seeds + plan.heaped)
    gap = 12.0
    left, top = design.width_mm + gap, 0.0
    wide = left + field[0]
    high = max(design.height_mm, field[1])
    turned = float(rng.uniform(-12, 12))
    need = max(wide * 1.12, high * 1.12 * plan.size_px[0] / plan.size_px[1])
    distance = need * 26.0 / 36.0 * 1.04 * 1.05
    camera = look_at(
        (wide / 2.0, high / 2.0, 0.0),
        distance_mm=distance,
        tilt_deg=plan.tilt_deg,
        tilt_towards_deg=float(rng.uniform(0, 360)),
        turned_deg=turned,
        size_px=plan.size_px,
    )
    scale = camera.focal_px / distance
    fine = 1.3 * scale  # raster px per mm of the sheet
    margin = 0.3 * wide
    low = np.array([-margin, -margin])
    size = (round((wide + 2 * margin) * fine), round((high + 2 * margin) * fine))
    laid = strew(
        rng,
        field=field,
        seeds=plan.seeds,
        touching=plan.touching,
        area_sd=plan.area_sd,
        heaped=plan.heaped,
        chaff=plan.chaff,
        dust=plan.dust,
        pale=plan.pale_seeds,
    )
    sheet = _paper(plan, rng, size=size, fine=fine)
    origin = np.array([left, top]) - low
    if plan.table:
        _bare_wood(sheet, rng, edge=round((margin - 14.0) * fine), fine=fine)

    light_deg = float(rng.uniform(0, 360))
    way = np.array([math.cos(math.radians(light_deg)), math.sin(math.radians(light_deg))])
    strength = {"none": 0.45, "edge": 0.5, "deep": 0.65}[plan.shade]
    softness = float(rng.uniform(0.35, 0.9))
    shadow = np.zeros(size[::-1], np.float32)
    for one in laid.all_pieces():
        _fill(shadow, (one[0].outline + one[1] + origin + way * rng.uniform(0.4, 0.9)) * fine)
    shadow = cv2.GaussianBlur(shadow, (0, 0), softness * fine)
    sheet *= (1.0 - strength * shadow)[..., None]
    for piece, at in laid.all_pieces():
        _paint(sheet, piece, (at + origin) * fine, fine=fine, way=way, rng=rng)
    _lay_card(sheet, design.name, at=-low, fine=fine)
    sheet *= _light(plan, rng, size=size, fine=fine)[..., None]
    if plan.shade != "none":
        sheet *= np.array([0.94, 1.0, 1.08], np.float32)

    picture = _seen(sheet, camera, low=low, fine=fine, plan=plan, rng=rng)
    ids = np.arange(design.n_corners)
    places = np.column_stack([board_points_mm(design, ids), np.zeros(len(ids))])
    card = SeenCard(
        design=design.name,
        corner_ids=ids,
        corners=camera.project(places),
        n_marks=len(design.marks),
        mark_px=design.mark_mm * scale,
    )
    middles = np.array([at for _, at in laid.seeds]) + np.array([left, top])
    return Sheet(
        picture=picture,
        marks=MarksSeen(cards=(card,), sharpness_px=plan.blur_px),
        optics=Optics(focal35_mm=camera.focal35_mm),
        camera=camera,
        seeds=len(laid.seeds),
        lengths_mm=np.array([longest(piece.outline) for piece, _ in laid.seeds]),
        centres=camera.project(np.column_stack([middles, np.zeros(len(middles))])),
    )


def _paper(
    plan: SheetPlan, rng: np.random.Generator, *, size: tuple[int, int], fine: float
) -> NDArray[np.float32]:
    base = (np.array(PAPERS[plan.paper]) / 255.0) ** 2.2
    sheet = np.empty((size[1], size[0], 3), np.float32)
    sheet[:] = base
    small = rng.normal(0.0, 1.0, (size[1] // 4 + 1, size[0] // 4 + 1)).astype(np.float32)
    fibre = cv2.resize(cv2.GaussianBlur(small, (0, 0), 0.8), size)
    sheet *= (1.0 + 0.02 * fibre)[..., None]
    return sheet


def _bare_wood(
    sheet: NDArray[np.float32], rng: np.random.Generator, *, edge: int, fine: float
) -> None:
    """Wood with its grain where the paper ends, this far inside the raster's own edges."""
    h, w = sheet.shape[:2]
    lines = cv2.GaussianBlur(rng.standard_normal((h, 8), np.float32), (0, 0), 0.5 * fine)
    grain = cv2.resize(lines, (w, h), interpolation=cv2.INTER_CUBIC)
    grain /= grain.std()
    wood = (np.array([150, 110, 72]) / 255.0) ** 2.2
    ground = wood * np.exp(0.18 * grain)[..., None]
    outside = np.ones((h, w), bool)
    outside[edge : h - edge, edge : w - edge] = False
    sheet[outside] = ground[outside]


def _light(
    plan: SheetPlan, rng: np.random.Generator, *, size: tuple[int, int], fine: float
) -> NDArray[np.float32]:
    """(H, W) how much light falls where."""
    x, y = np.meshgrid(np.linspace(-1, 1, size[0]), np.linspace(-1, 1, size[1]))
    angle = rng.uniform(0.0, 2 * math.pi)
    light = 1.0 + 0.18 * (x * math.cos(angle) + y * math.sin(angle)) - 0.12 * (x**2 + y**2)
    if plan.shade == "edge":
        along = rng.uniform(0.0, 2 * math.pi)
        across = (x * math.cos(along) + y * math.sin(along)) * size[0] / 2.0 / fine
        soft = rng.uniform(6.0, 25.0)
        dark = rng.uniform(0.4, 0.65)
        light *= 1.0 - dark / (1.0 + np.exp(-(across - rng.uniform(-25, 25)) / (soft / 4.0)))
    if plan.shade == "deep":
        blobs = cv2.resize(rng.normal(0.0, 1.0, (5, 6)), size, interpolation=cv2.INTER_CUBIC)
        light *= 0.5 * np.exp(0.22 * blobs)
    return np.asarray(light, np.float32)


def _paint(
    sheet: NDArray[np.float32],
    piece: Piece,
    at: Floats,
    *,
    fine: float,
    way: Floats,
    rng: np.random.Generator,
) -> None:
    """One seed or piece of rubbish, ribbed along its length and lit from one side."""
    outline = piece.outline * fine + at
    low = np.floor(outline.min(axis=0)).astype(int) - 3
    high = np.ceil(outline.max(axis=0)).astype(int) + 4
    if np.any(low < 0) or high[0] > sheet.shape[1] or high[1] > sheet.shape[0]:
        return
    mask = np.zeros((high[1] - low[1], high[0] - low[0]), np.uint8)
    cv2.fillPoly(mask, [np.round((outline - low) * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    cover = mask.astype(np.float32) / 255.0
    y, x = np.mgrid[: mask.shape[0], : mask.shape[1]]
    spine = math.radians(piece.spine_deg)
    across = (
        -(x + low[0] - at[0]) * math.sin(spine) + (y + low[1] - at[1]) * math.cos(spine)
    ) / fine
    ribs = 0.16 * np.sin(across * rng.uniform(4.0, 9.0) + rng.uniform(0, 6))
    inner = cv2.distanceTransform((mask > 127).astype(np.uint8), cv2.DIST_L2, 3)
    soft = cv2.GaussianBlur(inner, (0, 0), max(0.5, 0.2 * fine))
    slope_y, slope_x = np.gradient(soft)
    lit = 0.3 * (slope_x * -way[0] + slope_y * -way[1]) * (inner < 1.2 * fine)
    speckle = cv2.GaussianBlur(rng.normal(0.0, 1.0, mask.shape), (0, 0), max(0.5, 0.12 * fine))
    shade = np.clip(1.0 - lit + ribs + 0.6 * speckle * 0.35, 0.35, 2.2).astype(np.float32)
    under = sheet[low[1] : high[1], low[0] : high[0]]
    under *= (1.0 - cover)[..., None]
    under += (cover * shade)[..., None] * piece.colour.astype(np.float32)


def _lay_card(sheet: NDArray[np.float32], name: str, *, at: Floats, fine: float) -> None:
    raster = card_raster(design_named(name)).astype(np.float32)
    size = (round(raster.shape[1] / 8 * fine), round(raster.shape[0] / 8 * fine))
    small = (cv2.resize(raster, size, interpolation=cv2.INTER_AREA) / 255.0) ** 2.2
    x, y = np.round(at * fine).astype(int)
    sheet[y : y + size[1], x : x + size[0]] = small[..., None]


def _seen(
    sheet: NDArray[np.float32],
    camera: Camera,
    *,
    low: Floats,
    fine: float,
    plan: SheetPlan,
    rng: np.random.Generator,
) -> Picture:
    h, w = sheet.shape[:2]
    corners = np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])
    places = np.column_stack([corners / fine + low, np.zeros(4)])
    plane, _ = cv2.findHomography(corners - 0.5, camera.project(places), 0)
    smooth = cv2.GaussianBlur(sheet, (0, 0), 0.55)
    seen = cv2.warpPerspective(
        smooth, plane, plan.size_px, flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    if plan.blur_px > 0:
        seen = cv2.GaussianBlur(seen, (0, 0), plan.blur_px)
    coded = 255.0 * np.clip(seen, 0.0, 1.0) ** (1 / 2.2)
    grain = plan.noise * rng.standard_normal(coded.shape, np.float32)
    picture = np.clip(np.round(coded + grain), 0, 255).astype(np.uint8)
    _, packed = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 90])
    return np.asarray(cv2.imdecode(packed, cv2.IMREAD_COLOR), np.uint8)


def _fill(mask: NDArray[np.float32], outline: Points) -> None:
    cv2.fillPoly(mask, [np.round(outline * 16).astype(np.int32)], 1.0, cv2.LINE_8, 4)
