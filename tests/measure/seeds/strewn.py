"""Seeds of tapered, bent, ragged shapes strewn over a field: apart, touching, or in a heap."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Points

__all__ = ["Floats", "Piece", "Strewn", "field_mm", "longest", "strew"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """A seed or a piece of rubbish: outline about its own middle, mm; colour in linear light."""

    outline: Points
    spine_deg: float
    colour: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Strewn:
    """Pieces and where each lies on the field, mm; rubbish lies below the seeds."""

    seeds: list[tuple[Piece, Floats]]
    rubbish: list[tuple[Piece, Floats]]

    def all_pieces(self) -> list[tuple[Piece, Floats]]:
        return [*self.rubbish, *self.seeds]


def field_mm(seeds: int) -> tuple[float, float]:
    """Room for so many seeds, about a fifth of it covered."""
    area = max(seeds, 16) * 24.0 / 0.17
    return 1.25 * math.sqrt(area / 1.25), math.sqrt(area / 1.25)


def strew(
    rng: np.random.Generator,
    *,
    field: tuple[float, float],
    seeds: int,
    touching: float,
    area_sd: float,
    heaped: int,
    chaff: int,
    dust: int,
    pale: bool,
) -> Strewn:
    """Strew seeds one by one; some are pushed along until they meet one that lies there."""
    ground = _Ground(field)
    laid: list[tuple[Piece, Floats]] = []
    while len(laid) < seeds:
        piece = _grow(rng, area_sd=area_sd, pale=pale)
        if laid and rng.uniform() < touching:
            spot = _pushed(piece, laid[int(rng.integers(len(laid)))][1], ground, rng)
        else:
            # As strewn by hand: some still happen to touch.
            spot = ground.anywhere(rng)
            if ground.covered(piece, spot) > 1:
                continue
        if spot is not None:
            ground.put(piece, spot)
            laid.append((piece, spot))
    heap = ground.anywhere(rng)
    spread = 0.45 * math.sqrt(heaped * 24.0 / math.pi)
    for _ in range(heaped):
        at = heap + rng.normal(0.0, spread, 2)
        laid.append((_grow(rng, area_sd=area_sd, pale=pale), ground.kept_inside(at)))
    rubbish: list[tuple[Piece, Floats]] = []
    for i in range(chaff + dust):
        for _ in range(200):
            piece, spot = _rubbish(rng, chaff=i < chaff), ground.anywhere(rng)
            if ground.covered(piece, spot, room_mm=0.5) == 0:
                ground.put(piece, spot)
                rubbish.append((piece, spot))
                break
    return Strewn(seeds=laid, rubbish=rubbish)


class _Ground:
    """What of the field is taken, on a fine grid."""

    GRID = 6.0
    EDGE_MM = 6.0

    def __init__(self, field: tuple[float, float]) -> None:
        self._field = np.array(field)
        shape = (round(field[1] * self.GRID) + 1, round(field[0] * self.GRID) + 1)
        self._taken = np.zeros(shape, np.uint8)

    def anywhere(self, rng: np.random.Generator) -> Floats:
        return np.asarray(rng.uniform([7.0, 7.0], self._field - 7.0))

    def inside(self, at: Floats) -> bool:
        return bool(np.all(at > self.EDGE_MM) and np.all(at < self._field - self.EDGE_MM))

    def kept_inside(self, at: Floats) -> Floats:
        return np.asarray(np.clip(at, self.EDGE_MM, self._field - self.EDGE_MM))

    def covered(self, piece: Piece, at: Floats, *, room_mm: float = 0.0) -> int:
        """How many cells, with some room round the piece, are taken already."""
        outline = (piece.outline + at) * self.GRID
        k = round(room_mm * self.GRID)
        low = np.maximum(np.floor(outline.min(axis=0)).astype(int) - 2 - k, 0)
        high = np.ceil(outline.max(axis=0)).astype(int) + 3 + k - low
        under = self._taken[low[1] :, low[0] :][: max(1, high[1]), : max(1, high[0])]
        mask = _filled(np.zeros_like(under), outline - low)
        if k > 0:
            disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * k + 1, 2 * k + 1))
            mask = np.asarray(cv2.dilate(mask, disc), np.uint8)
        return int(np.count_nonzero(mask & under))

    def put(self, piece: Piece, at: Floats) -> None:
        _filled(self._taken, (piece.outline + at) * self.GRID)


def _pushed(
    piece: Piece, towards: Floats, ground: _Ground, rng: np.random.Generator
) -> Floats | None:
    """Where a piece pushed towards a place comes to rest; None where it never does."""
    angle = rng.uniform(0.0, 2 * math.pi)
    way = np.array([math.cos(angle), math.sin(angle)])
    start = towards + rng.normal(0.0, 2.5, 2) + 16.0 * way
    last: Floats | None = None
    for step in np.arange(0.0, 16.0, 0.12):
        at = start - step * way
        if not ground.inside(at):
            last = None
        elif ground.covered(piece, at) <= 1:
            last = at
        elif last is not None:
            return last
    return None


def _grow(rng: np.random.Generator, *, area_sd: float, pale: bool) -> Piece:
    """A seed: a bent spine with a lopsided taper on it, ragged round the rim."""
    length = 10.0 * math.exp(rng.normal(0.0, 0.5 * area_sd))
    width = 3.0 * math.exp(rng.normal(0.0, 0.5 * area_sd * math.sqrt(3.0)))
    width = float(np.clip(width, 1.6, 0.5 * length))
    t = (1.0 - np.cos(np.linspace(0.0, math.pi, 60))) / 2.0
    blunt, point = rng.uniform(0.30, 0.55), rng.uniform(0.5, 0.95)
    taper = t**blunt * (1.0 - t) ** point
    taper *= width / 2.0 / taper.max()
    bend = rng.normal(0.0, 0.35)  # radians over the whole length
    heading = bend * (t - 0.5) + rng.normal(0.0, 0.1) * np.sin(2 * math.pi * t)
    step = np.gradient(t) * length
    spine = np.column_stack([np.cumsum(step * np.cos(heading)), np.cumsum(step * np.sin(heading))])
    normal = np.column_stack([-np.sin(heading), np.cos(heading)])
    rims = []
    for sign in (1.0, -1.0):
        ragged = sum(
            rng.normal(0.0, 0.05 / k) * np.sin(math.pi * k * t + rng.uniform(0, 6))
            for k in (2, 3, 5)
        )
        side = taper * (1.0 + ragged) * (1.0 + sign * rng.normal(0.0, 0.06))
        rims.append(spine + sign * normal * side[:, None])
    outline = np.concatenate([rims[0], rims[1][::-1]])
    outline -= outline.mean(axis=0)
    turn = rng.uniform(0.0, 2 * math.pi)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    base = np.array([214, 190, 150]) if pale else np.array([72, 62, 54])
    colour = (base * math.exp(rng.normal(0.0, 0.12)) / 255.0) ** 2.2
    return Piece(outline=outline @ spin, spine_deg=math.degrees(turn), colour=colour)


def _rubbish(rng: np.random.Generator, *, chaff: bool) -> Piece:
    """A piece of papery chaff, straw-coloured, or a grain of dust."""
    if chaff:
        length, width = rng.uniform(4.0, 14.0), rng.uniform(1.5, 5.0)
        colour = (np.array([206, 180, 136]) * rng.uniform(0.85, 1.05) / 255.0) ** 2.2
    else:
        length = rng.uniform(0.3, 1.6)
        width = length * rng.uniform(0.3, 0.9)
        colour = (np.array([90, 76, 60]) * rng.uniform(0.7, 1.3) / 255.0) ** 2.2
    around = np.sort(rng.uniform(0.0, 2 * math.pi, 14))
    reach = rng.uniform(0.6, 1.0, 14)
    corners = np.column_stack([np.cos(around) * length, np.sin(around) * width]) / 2.0
    turn = rng.uniform(0.0, 2 * math.pi)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    outline = corners * reach[:, None] @ spin
    return Piece(outline=outline, spine_deg=math.degrees(turn), colour=colour)


def _filled(mask: NDArray[np.uint8], outline: Points) -> NDArray[np.uint8]:
    cv2.fillPoly(mask, [np.round(outline * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return mask


def longest(outline: Points) -> float:
    """The largest distance between two points of an outline."""
    return float(np.linalg.norm(outline[:, None] - outline[None], axis=2).max())
