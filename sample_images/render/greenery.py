"""Greenery: leaves, foliage behind the bloom, the bloom's own stem with its leaves and the cane."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from bloom_shapes import bloom
from layout import Layout
from meshes import Floats, Mesh, grid_faces, moved, plate, rotation, tube

__all__ = ["greenery", "kept_behind", "leaf", "own_stem"]

LEAF_OUTLINE = (0.06, 0.50, 0.86, 1.0, 0.93, 0.76, 0.52, 0.27, 0.02)


def leaf(
    rng: np.random.Generator, length: float, *, material: str = "leaf", curl: float = 1.0
) -> Mesh:
    """A toothed leaflet along +x with its face to +z, drooping at the tip."""
    long, across = 25, 9
    s = np.linspace(0, 1, long)
    v = np.linspace(-1, 1, across)
    half = (
        np.interp(s, np.linspace(0, 1, len(LEAF_OUTLINE)), LEAF_OUTLINE)
        * length
        * rng.uniform(0.22, 0.29)
    )
    teeth = 1 + 0.085 * ((np.arange(long) % 3) - 1) * (s > 0.12)
    droop = -length * rng.uniform(0.05, 0.32) * curl * s**2
    y = (half * teeth)[:, None] * v
    z = (
        droop[:, None]
        + 0.30 * np.abs(y) * rng.uniform(0.2, 1.1)
        + 0.02 * length * np.sin(9 * s + rng.uniform(0, 6))[:, None] * v**2
    )
    x = np.broadcast_to((s * length)[:, None], y.shape) - 0.10 * np.abs(y)
    points = np.stack([x, y, z], -1).reshape(-1, 3)
    uv = np.stack(np.broadcast_arrays(s[:, None], v[None] * 0.5 + 0.5), -1).reshape(-1, 2)
    return Mesh(
        part="leaf",
        material=material,
        points=points,
        quads=grid_faces(long, across),
        uv=uv,
        colour=np.tile([0.0, 0.0, rng.uniform()], (len(points), 1)),
    )


def _spray(rng: np.random.Generator, at: Floats, heading: Floats, length: float) -> list[Mesh]:
    """A compound leaf: a stalk with leaflets in pairs and one at the end."""
    heading = heading / np.linalg.norm(heading)
    s = np.linspace(0, 1, 8)
    line = at + s[:, None] * heading * length + np.outer(s**2, [0, -0.22 * length, 0])
    made = [tube(line, 1.6 * (1.1 - 0.6 * s), part="stem", material="stem", sides=8)]
    face = np.array([rng.normal(0, 0.35), 0.55 + rng.normal(0, 0.25), 0.75])
    for where, side in ((0.45, -1), (0.45, 1), (0.72, -1), (0.72, 1), (1.0, 0)):
        x = heading * (1.0 if side == 0 else 0.62)
        across = np.cross(face, heading)
        x = x + side * 0.85 * across / np.linalg.norm(across)
        x /= np.linalg.norm(x)
        z = face - (face @ x) * x
        z /= np.linalg.norm(z)
        frame = np.column_stack([x, np.cross(z, x), z])
        size = length * rng.uniform(0.42, 0.58) * (1.25 if side == 0 else 1.0)
        base = np.array([np.interp(where, s, line[:, k]) for k in range(3)])
        made.append(moved(leaf(rng, size), frame, base))
    return made


def _foliage(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    """Dahlia leaves from just behind the card to a metre and a half behind it, and a dark hedge."""
    made: list[Mesh] = []
    middle = np.array([*layout.camera.eye[:2] * 0.4 + np.array(layout.subject_at) * 0.6, 0.0])
    for _ in range(330):
        depth = -(float(rng.uniform(0.0, 1.0)) ** 1.2) * 1250 - 130
        reach = (420 - depth) * 0.66
        spot = middle + np.array(
            [rng.uniform(-1.15, 1.15) * reach, rng.uniform(-1.0, 0.85) * reach, depth]
        )
        heading = np.array([rng.normal(0, 1), rng.normal(0.15, 0.5), rng.normal(0.35, 0.5)])
        made += _spray(rng, spot, heading, float(rng.uniform(90, 170)))
    for _ in range(14):
        depth = -float(rng.uniform(150, 1100))
        foot = middle + np.array([rng.uniform(-1, 1) * (380 - depth) * 0.7, -700, depth])
        s = np.linspace(0, 1, 9)
        line = foot + np.column_stack([rng.normal(0, 60) * s, 1300 * s, rng.normal(0, 60) * s])
        made.append(tube(line, 6.0 - 2.5 * s, part="stem", material="stem", sides=10))
    for _ in range(int(rng.integers(2, 6))):
        depth = -float(rng.uniform(650, 1250))
        spot = middle + np.array(
            [
                rng.uniform(-1, 1) * (420 - depth) * 0.55,
                rng.uniform(-0.8, 0.9) * (420 - depth) * 0.5,
                depth,
            ]
        )
        far = bloom(
            form="decorative",
            seed=int(rng.integers(1 << 20)),
            widest_mm=float(rng.uniform(70, 130)),
        )
        turn = rotation("x", rng.uniform(-70, 20)) @ rotation("y", rng.uniform(-50, 50))
        shade = f"far {rng.choice(['red', 'pink', 'yellow'])}"
        made += [
            replace(moved(m, turn, spot), material=shade, part="far bloom", colour=None)
            for m in far.parts
        ]
    hedge = plate(7000, 5200, part="hedge", material="dark", top=-1700.0, left_top=(-3400, -2600))
    return [*made, hedge]


def own_stem(rng: np.random.Generator, layout: Layout, *, leaves: bool = True) -> list[Mesh]:
    """The bloom's stem through the slot and down behind the card, with its leaves, and the cane."""
    x, y = layout.subject_at
    back = min(float(m.points[:, 2].min()) for m in layout.subject)
    s = np.linspace(0, 1, 24)
    drop = np.column_stack(
        [
            x + 14 * s**2 * rng.normal(0, 1),
            y - 520 * np.maximum(s - 0.12, 0),
            back + 8 - 70 * np.sin(np.pi / 2 * np.minimum(s * 5, 1)),
        ]
    )
    made = [tube(drop, np.full(24, 3.4) + 1.2 * s, part="stem", material="stem", sides=14)]
    if layout.axis is not None:
        # A bloom seen from the side brings its own.
        made, leaves = [], False
    for side in (-1, 1) if leaves else ():
        low = np.array([x + side * 4, y - rng.uniform(70, 150), back - 60])
        heading = np.array([side * 1.0, rng.uniform(-0.35, 0.30), rng.uniform(-0.05, 0.12)])
        made += _spray(rng, low, heading, float(rng.uniform(140, 185)))
    if layout.held == "behind":
        cane = np.column_stack([np.full(24, 121.0), 60 - 700 * s, np.full(24, -8.5)])
        knots = 1 + 0.16 * np.exp(-((((s * 6.2) % 1.0 - 0.5) / 0.05) ** 2))
        made.append(tube(cane, 5.0 * knots, part="cane", material="cane", sides=16))
        for height in (112.0, 268.0):
            loop = np.column_stack(
                [
                    np.linspace(113.5, 128.5, 8),
                    np.full(8, -height),
                    0.7 + 0.3 * np.sin(np.linspace(0, np.pi, 8)),
                ]
            )
            made.append(tube(loop, np.full(8, 0.9), part="string", material="string", sides=8))
    elif layout.held == "level":
        cane = np.column_stack([np.full(24, 52.0), -20 - 500 * s, np.full(24, -7.5)])
        made.append(tube(cane, np.full(24, 4.2), part="cane", material="cane", sides=16))
    return made


def kept_behind(mesh: Mesh) -> Mesh:
    """A leaf pressed back where it would lie over the card, as the grower does before shooting."""
    points = mesh.points.copy()
    above = points[:, 2] > -7.0
    points[above, 2] = -7.0 + np.minimum(0.04 * (points[above, 2] + 7.0), 5.0)
    return replace(mesh, points=points)


def greenery(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    """All that is green round a bloom, none of it before the card."""
    green = own_stem(rng, layout) + _foliage(rng, layout)
    return [kept_behind(m) if m.part == "leaf" else m for m in green]
