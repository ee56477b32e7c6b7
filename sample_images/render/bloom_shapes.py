"""Dahlia blooms as meshes: petals of four forms set round the axis in golden-angle rows."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from forms import FORM_RECIPES, Recipe
from meshes import Floats, Mesh, grid_faces, lumps, rotation, tube

__all__ = ["Bloom", "bloom"]

GOLDEN = np.pi * (3 - np.sqrt(5))


@dataclass(frozen=True, kw_only=True, eq=False)
class Bloom:
    """A bloom with its axis along +z and its back at z = 0; all parts are petals or disc."""

    parts: tuple[Mesh, ...]
    depth: float

    @property
    def outline_points(self) -> Floats:
        """All points that are measured."""
        return np.vstack([m.points for m in self.parts])


def _petal(
    rng: np.random.Generator,
    foot: Floats,
    tip: Floats,
    *,
    arch: float,
    width: float,
    curl: tuple[float, float],
    outline: tuple[float, ...],
    jitter: float,
    long: int = 19,
    across: int = 11,
) -> tuple[Floats, Floats]:
    """One petal in the plane of the axis: x outwards, z forward, y across. Points and (s, v)."""
    s = np.linspace(0, 1, long)
    chord = tip - foot
    length = float(np.hypot(*chord))
    forward = np.array([-chord[1], chord[0]]) / max(length, 1e-6)
    if forward[1] < 0:
        forward = -forward
    control = foot + 0.55 * chord + forward * arch * length * 2
    line = (
        ((1 - s) ** 2)[:, None] * foot
        + (2 * s * (1 - s))[:, None] * control
        + (s**2)[:, None] * tip
    )
    slope = np.gradient(line, axis=0)
    slope /= np.linalg.norm(slope, axis=1, keepdims=True)
    face = np.stack([-slope[:, 1], slope[:, 0]], 1)
    knots = np.linspace(0, 1, len(outline))
    half = np.interp(s, knots, outline) * width / 2
    bend = np.radians(
        np.interp(
            s, [0, 0.45, 1], [curl[0], curl[1] if curl[1] < 0 else (curl[0] + curl[1]) / 2, curl[1]]
        )
    )
    bend = np.where(np.abs(bend) < 0.02, 0.02, bend)
    v = np.linspace(-1, 1, across)
    radius = half / bend
    y = radius[:, None] * np.sin(bend[:, None] * v)
    off = radius[:, None] * (1 - np.cos(bend[:, None] * v))
    ripple = (
        rng.normal(0, 0.018 * jitter)
        * width
        * np.sin(2 * np.pi * (s[:, None] * rng.uniform(1, 2.2) + rng.uniform()))
    )
    off = off + ripple * v * np.abs(v)
    # A shallow keel along the middle, as petals have.
    off = off - 0.018 * width * np.exp(-((v / 0.16) ** 2)) * np.sin(np.pi * s)[:, None]
    roll = np.radians(rng.normal(0, 5 * jitter)) * s[:, None]
    y, off = y * np.cos(roll) - off * np.sin(roll), y * np.sin(roll) + off * np.cos(roll)
    x = line[:, :1] + off * face[:, :1]
    z = line[:, 1:] + off * face[:, 1:]
    sv = np.stack(np.broadcast_arrays(s[:, None], v[None]), -1).reshape(-1, 2)
    return np.stack([x, y, z], -1).reshape(-1, 3), sv


def _turned(points: Floats, azimuth: float) -> Floats:
    return points @ rotation("z", float(np.degrees(azimuth))).T


def _double(rng: np.random.Generator, recipe: Recipe, radius: float, openness: float) -> list[Mesh]:
    clouds, colours, coords, quads = [], [], [], []
    faces = grid_faces(19, 11)
    twist = rng.uniform(0, 2 * np.pi)
    lopsided = rng.uniform(0, 2 * np.pi)
    for k in range(recipe.petals):
        q = (k + 0.5) / recipe.petals
        polar = np.radians(
            recipe.first
            + (recipe.last - recipe.first) * q**recipe.crowding
            + rng.normal(0, 1.6 * recipe.jitter)
        )
        azimuth = k * GOLDEN + twist + rng.normal(0, 0.035 * recipe.jitter)
        reach = (
            radius
            * np.clip(1 + rng.normal(0, 0.022 * recipe.jitter), 0.9, 1.06)
            * (1 + 0.012 * np.cos(azimuth - lopsided))
        )
        height = recipe.front if polar < np.pi / 2 else recipe.behind
        tip = np.array(
            [reach * np.sin(polar), radius * recipe.rise + reach * height * np.cos(polar)]
        )
        inner = 0.30 if recipe.front > 0.8 else 0.12
        foot = np.array(
            [
                inner * radius * np.sin(polar),
                radius * recipe.rise * 0.62 + inner * radius * 0.8 * np.cos(polar),
            ]
        )
        size = np.sin(min(polar, np.pi / 2)) ** 0.75
        width = (
            radius
            * (recipe.narrow + (recipe.broad - recipe.narrow) * size)
            * np.clip(rng.normal(1, 0.06), 0.85, 1.15)
        )
        closed = 1 + 0.9 * (1 - size)
        curl = (
            recipe.curl[0] * min(closed, 1.6),
            recipe.curl[1] * (closed if recipe.curl[1] > 0 else 1.0),
        )
        arch = float(
            np.interp(
                np.degrees(polar), [0, 22, 52, 85], [-0.26, -0.17, 0.2 * recipe.arch, recipe.arch]
            )
        ) * openness + rng.normal(0, 0.018 * recipe.jitter)
        points, sv = _petal(
            rng,
            foot,
            tip,
            arch=arch,
            width=width,
            curl=curl,
            outline=recipe.outline,
            jitter=recipe.jitter,
        )
        quads.append(faces + 209 * k)
        clouds.append(_turned(points, azimuth))
        coords.append(np.column_stack([sv[:, 0], sv[:, 1] * 0.5 + 0.5]))
        colours.append(np.column_stack([sv[:, 0], np.full(209, q), np.full(209, rng.uniform())]))
    polar, turn = np.meshgrid(
        np.linspace(0.01, 3.13, 12), np.linspace(0, 2 * np.pi, 20, endpoint=False), indexing="ij"
    )
    core = np.stack(
        [np.sin(polar) * np.cos(turn), np.sin(polar) * np.sin(turn), 1.5 * np.cos(polar)], -1
    ).reshape(-1, 3)
    core = core * radius * (0.40 if recipe.front > 0.8 else 0.115) + [
        0,
        0,
        radius * (recipe.rise * 0.62 + 0.02),
    ]
    quads.append(grid_faces(12, 20, closed=True) + 209 * recipe.petals)
    clouds.append(core)
    coords.append(np.zeros((240, 2)))
    colours.append(np.tile([0.35, 0.0, 0.2], (240, 1)))
    return [
        Mesh(
            part="petal",
            material="petal",
            points=np.vstack(clouds),
            quads=np.vstack(quads),
            uv=np.vstack(coords),
            colour=np.vstack(colours),
        )
    ]


def _single(rng: np.random.Generator, radius: float) -> list[Mesh]:
    clouds, colours, coords, quads = [], [], [], []
    long, across = 20, 13
    faces, size = grid_faces(long, across), long * across
    outline = (0.34, 0.62, 0.86, 0.98, 1.0, 0.97, 0.84, 0.5)
    for k in range(8):
        azimuth = k * np.pi / 4 + rng.normal(0, 0.045)
        tip = np.array(
            [
                radius * np.clip(rng.normal(1, 0.022), 0.94, 1.04),
                radius * (0.20 + rng.normal(0, 0.03)),
            ]
        )
        foot = np.array([0.17 * radius, radius * (0.17 + 0.02 * (k % 2))])
        points, sv = _petal(
            rng,
            foot,
            tip,
            arch=0.045 + rng.normal(0, 0.012),
            width=radius * 0.70 * np.clip(rng.normal(1, 0.04), 0.9, 1.1),
            curl=(46, 13),
            outline=outline,
            jitter=0.9,
            long=long,
            across=across,
        )
        points[:, 2] += 0.006 * radius * np.sin(9 * sv[:, 1]) * sv[:, 0]
        quads.append(faces + size * k)
        clouds.append(_turned(points, azimuth))
        coords.append(np.column_stack([sv[:, 0], sv[:, 1] * 0.5 + 0.5]))
        colours.append(
            np.column_stack([sv[:, 0], np.full(size, 0.9), np.full(size, rng.uniform())])
        )
    petals = Mesh(
        part="petal",
        material="petal",
        points=np.vstack(clouds),
        quads=np.vstack(quads),
        uv=np.vstack(coords),
        colour=np.vstack(colours),
    )
    return [petals, *_disc(rng, radius)]


def _disc(rng: np.random.Generator, radius: float) -> list[Mesh]:
    """The yellow middle: florets in golden-angle order, the outer ones open."""
    made = []
    count = 150
    for k in range(count):
        q = (k + 0.5) / count
        out = 0.235 * radius * np.sqrt(q)
        turn = k * GOLDEN
        base = np.array(
            [out * np.cos(turn), out * np.sin(turn), radius * (0.17 + 0.10 * (1 - q**1.6))]
        )
        lean = np.array([np.cos(turn), np.sin(turn), 0]) * 0.45 * q + np.array([0, 0, 1.0])
        tall = radius * (0.045 + 0.035 * (q > 0.45)) * rng.uniform(0.8, 1.2)
        s = np.linspace(0, 1, 4)
        line = base + s[:, None] * lean / np.linalg.norm(lean) * tall
        thick = radius * 0.0125 * np.array([0.9, 1.0, 1.15, 0.55])
        shade = rng.uniform(0.8, 1.0)
        tint = (
            (0.72 * shade, 0.36 * shade, 0.02) if q > 0.45 else (0.55 * shade, 0.33 * shade, 0.03)
        )
        made.append(tube(line, thick, part="disc", material="disc", sides=6, colour=tint))
    s = np.linspace(0, 1, 6)
    cushion = np.column_stack([0 * s, 0 * s, radius * (0.10 + 0.12 * s)])
    made.append(
        tube(
            cushion,
            radius * np.array([0.1, 0.2, 0.235, 0.235, 0.2, 0.05]),
            part="disc",
            material="disc",
            sides=24,
            colour=(0.35, 0.2, 0.02),
        )
    )
    return made


def bloom(*, form: str, seed: int, widest_mm: float, openness: float = 1.0) -> Bloom:
    """A bloom of the form; ``widest_mm`` is met by the caller's projection to a few per cent."""
    rng = np.random.default_rng(seed)
    radius = widest_mm / 2
    parts = (
        _single(rng, radius)
        if form == "single"
        else _double(rng, FORM_RECIPES[form], radius, openness)
    )
    back = min(float(m.points[:, 2].min()) for m in parts)
    shifted = [
        Mesh(
            part=m.part,
            material=m.material,
            points=m.points - [0, 0, back],
            quads=m.quads,
            uv=m.uv,
            colour=m.colour,
        )
        for m in parts
    ]
    if form != "single":
        wave = lumps(rng, shifted[0].points, wavelength=radius * 1.4, octaves=1)
        points = shifted[0].points.copy()
        points[:, 2] += np.clip(wave, -1.5, 1.5) * 0.008 * radius * (points[:, 2] > 0.1 * radius)
        shifted[0] = Mesh(
            part="petal",
            material="petal",
            points=points,
            quads=shifted[0].quads,
            uv=shifted[0].uv,
            colour=shifted[0].colour,
        )
    depth = max(float(m.points[:, 2].max()) for m in shifted)
    return Bloom(parts=tuple(shifted), depth=depth)
