"""What is behind an upright card other than leaves: a bed, the sky, a wall, a hand."""

from __future__ import annotations

import numpy as np
from greenery import kept_behind, own_stem
from layout import Layout
from meshes import Floats, Mesh, grid_faces, lumps, moved, plate, rotation, tube

__all__ = ["backdrop"]


def _bed(rng: np.random.Generator, middle: Floats) -> list[Mesh]:
    """Dug soil behind the card, seen as one bends over the bed: clods and a few stones."""
    n = 160
    x, y = np.meshgrid(np.linspace(-1500, 1500, n), np.linspace(-1200, 1200, n), indexing="ij")
    ground = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1)
    ground[:, 2] = 16 * lumps(rng, ground, wavelength=150, octaves=4)
    turn = rotation("x", float(rng.uniform(-35, -8)))
    back = np.array([middle[0], middle[1], -float(rng.uniform(240, 420))])
    made = [
        moved(
            Mesh(
                part="bed",
                material="damp soil",
                points=ground,
                quads=grid_faces(n, n)[:, ::-1].copy(),
                uv=ground[:, :2].copy(),
            ),
            turn,
            back,
        )
    ]
    for _ in range(40):
        size = float(rng.lognormal(2.0, 0.5))
        at = turn @ np.array([rng.normal(0, 350), rng.normal(0, 300), 0.3 * size]) + back
        s = np.linspace(-1, 1, 9)
        line = np.column_stack([s * size, 0 * s, 0 * s]) @ rotation("z", rng.uniform(0, 180)).T
        made.append(
            tube(line + at, size * 0.8 * np.sqrt(1 - 0.97 * s**2), part="clutter",
                 material="stone", sides=12)
        )  # fmt: skip
    return made


def _wall(rng: np.random.Generator, middle: Floats) -> list[Mesh]:
    wide = plate(5000, 4000, part="wall", material="wall", top=0.0, left_top=(-2500, -2000))
    turn = rotation("y", float(rng.uniform(-12, 12)))
    return [moved(wide, turn, (middle[0], middle[1], -float(rng.uniform(180, 500))))]


def _finger(
    rng: np.random.Generator,
    *,
    root: Floats,
    way: Floats,
    bend: Floats,
    long: float,
    thick: float,
) -> Mesh:
    s = np.linspace(0, 1, 16)
    line = root + s[:, None] * way * long + (s**2)[:, None] * bend * long
    knuckles = 1 + 0.10 * np.exp(-(((s - 0.45) / 0.10) ** 2))
    round_tip = np.sqrt(np.clip(1 - ((s - 0.9) / 0.1).clip(0) ** 2, 0.02, 1))
    shade = thick * knuckles * (1 - 0.18 * s) * round_tip
    return tube(line, shade * rng.uniform(0.96, 1.04), part="hand", material="hand", sides=18)


def _hand(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    """A hand that holds the stem close below the bloom, its palm behind it."""
    x, y = layout.subject_at
    cloud = np.vstack([m.points for m in layout.subject])
    low = float(cloud[:, 1].min())
    back = float(cloud[:, 2].min()) - (22.0 if layout.held == "level" else 40.0)
    side = 1.0 if layout.held == "level" else float(rng.choice([-1, 1]))
    palm_at = np.array([x + side * 58.0, min(low + 28.0, y - 30.0), back - 26.0])
    s = np.linspace(0, 1, 14)
    palm = np.column_stack([palm_at[0] + side * 95 * s, palm_at[1] - 70 * s, palm_at[2] - 8 * s])
    made = [tube(palm, 38 + 10 * np.sin(np.pi * s) - 10 * s, part="hand", material="hand",
                 sides=24, flatten=0.55)]  # fmt: skip
    for k, spread in enumerate((-0.30, -0.02, 0.26, 0.52)):
        root = palm_at + np.array([-side * 4.0, 26.0 - 19.0 * k, 6.0])
        way = np.array([-side * 1.0, spread * -0.5 + 0.2, 0.12])
        made.append(
            _finger(
                rng,
                root=root,
                way=way / np.linalg.norm(way),
                bend=np.array([side * 0.25, -0.15, 0.1]),
                long=float(rng.uniform(62, 78)),
                thick=9.5 - 0.6 * abs(k - 1),
            )
        )
    return made


def backdrop(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    """All that stands behind and round a bloom before a bed, the sky, a wall, or in a hand."""
    middle = np.array([*layout.camera.eye[:2] * 0.4 + np.array(layout.subject_at) * 0.6, 0.0])
    surface = layout.shot.surface
    stem = own_stem(rng, layout, leaves=surface == "sky")
    made = [kept_behind(m) if m.part == "leaf" else m for m in stem]
    if surface == "bed":
        made += _bed(rng, middle)
    elif surface == "wall":
        made += _wall(rng, middle)
    elif surface == "hand":
        made += _hand(rng, layout) + _bed(rng, middle)
    return made
