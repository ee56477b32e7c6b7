"""Benches and what lies on them: planks, cloth, slate, soil, dry leaves, string, a tray."""

from __future__ import annotations

import numpy as np
from greenery import leaf
from layout import BOARD_MM, CARDS, Layout
from meshes import Floats, Mesh, block, grid_faces, lumps, moved, plate, rotation, tube

__all__ = ["on_bench", "tray"]


def _crumbs(
    rng: np.random.Generator,
    centre: tuple[float, float],
    spread: float,
    count: int,
    *,
    floor: float,
    clear: Floats | None,
) -> list[Mesh]:
    """Crumbs of soil, thickest near the clump; none on the card."""
    polar = np.linspace(0.01, np.pi - 0.01, 7)
    turn = np.linspace(0, 2 * np.pi, 9, endpoint=False)
    p, t = np.meshgrid(polar, turn, indexing="ij")
    ball = np.stack([np.sin(p) * np.cos(t), np.sin(p) * np.sin(t), np.cos(p)], -1).reshape(-1, 3)
    clouds, quads = [], []
    while len(clouds) < count:
        size = float(np.clip(rng.lognormal(-0.35, 0.75), 0.35, 5.0))
        at = np.array(centre) + rng.normal(0, spread, 2) * rng.uniform(0.4, 1.5)
        if (
            clear is not None
            and clear[0] - 4 < at[0] < clear[1] + 4
            and clear[2] - 4 < at[1] < clear[3] + 4
        ):
            continue
        shape = (
            ball
            * (1 + 0.28 * lumps(rng, ball, wavelength=2.2, octaves=2))[:, None]
            * size
            * rng.uniform(0.6, 1.1, 3)
        )
        quads.append(grid_faces(7, 9, closed=True) + 63 * len(clouds))
        clouds.append(shape + np.array([at[0], at[1], floor + 0.45 * size]))
    return [Mesh(part="clutter", material="soil", points=np.vstack(clouds), quads=np.vstack(quads))]


def _planks(rng: np.random.Generator) -> list[Mesh]:
    made = []
    y = -820.0
    while y < 620:
        wide = float(rng.uniform(88, 128))
        s = np.linspace(-0.5, 0.5, 15)
        edge = np.minimum((0.5 - np.abs(s)) * wide, 3.0)
        height = (
            -BOARD_MM
            - 0.12 * (3.0 - edge) ** 2
            - 0.5 * rng.uniform()
            - np.where(np.abs(s) > 0.49, 14.0, 0.0)
        )
        x = np.linspace(-900, 1200, 60)
        wobble = 0.35 * np.sin(x / rng.uniform(90, 210) + rng.uniform(0, 6))
        across = np.broadcast_to(y + wide / 2 + s * (wide - rng.uniform(1.5, 4.0)), (60, 15))
        points = np.stack(
            [np.broadcast_to(x[:, None], (60, 15)), across, height[None] + 0 * wobble[:, None]], -1
        ).reshape(-1, 3)
        points[:, 1] += np.repeat(wobble, 15)
        made.append(
            Mesh(
                part="bench",
                material="wood",
                points=points,
                quads=grid_faces(60, 15),
                uv=points[:, :2].copy(),
                colour=np.tile([rng.uniform(), 0.0, rng.uniform()], (len(points), 1)),
            )
        )
        y += wide
    turn = rotation("z", float(rng.uniform(-6, 6)))
    made = [moved(m, turn) for m in made]
    return [
        *made,
        plate(3000, 3000, part="bench", material="soil", top=-40, left_top=(-1500, -1500)),
    ]


def _cloth(rng: np.random.Generator, material: str, flat: Floats, *, folds: float) -> list[Mesh]:
    """A sheet that is flat where card and clump lie and falls into soft folds beyond."""
    n = 220
    x, y = np.meshgrid(np.linspace(-620, 900, n), np.linspace(-760, 560, n), indexing="ij")
    spot = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1)
    away = np.maximum.reduce(
        [
            flat[0] - spot[:, 0],
            spot[:, 0] - flat[1],
            flat[2] - spot[:, 1],
            spot[:, 1] - flat[3],
            np.zeros(n * n),
        ]
    )
    heave = lumps(
        rng, spot * [1, 0.45, 1] @ rotation("z", rng.uniform(0, 180)).T, wavelength=260, octaves=3
    )
    fine = lumps(rng, spot, wavelength=70, octaves=2) * 0.12
    spot[:, 2] = -BOARD_MM - 0.2 + (heave + fine - 1.2) * folds * np.clip(away / 90, 0, 1) ** 1.5
    uv = spot[:, :2] @ rotation("z", rng.uniform(-12, 12))[:2, :2].T
    return [
        Mesh(
            part="bench",
            material=material,
            points=spot,
            quads=grid_faces(n, n)[:, ::-1].copy(),
            uv=uv,
        )
    ]


def _ground(rng: np.random.Generator, layout: Layout, flat: Floats) -> list[Mesh]:
    surface = layout.shot.surface
    if surface == "sacking":
        return _cloth(rng, "sacking", flat, folds=7.0)
    if surface == "slate":
        return _cloth(rng, "slate", flat, folds=0.8)
    if surface == "sheet":
        return _cloth(rng, "sheet", flat, folds=9.0)
    if surface == "concrete":
        return _cloth(rng, "concrete", flat, folds=0.4)
    if surface == "damp soil":
        return _cloth(rng, "damp soil", flat, folds=4.0)
    return _planks(rng)


def _string(rng: np.random.Generator, at: tuple[float, float], length: float) -> Mesh:
    s = np.linspace(0, 1, 60)
    angle = np.cumsum(rng.normal(0, 0.12, 60)) + rng.uniform(0, 6) + 3.0 * np.sin(3 * s)
    line = np.column_stack(
        [
            at[0] + np.cumsum(np.cos(angle)) * length / 60,
            at[1] + np.cumsum(np.sin(angle)) * length / 60,
            np.full(60, -BOARD_MM + 1.1),
        ]
    )
    return tube(line, np.full(60, 0.9), part="clutter", material="string", sides=8)


def _flat_area(layout: Layout) -> Floats:
    clouds = [m.points for m in layout.subject] or [np.zeros((1, 3))]
    if layout.shot.card:
        card = CARDS[layout.shot.card]
        clouds.append(np.array([[0, 0, 0], [card.width, -card.height, 0]], float))
    cloud = np.vstack(clouds)
    return np.array(
        [
            cloud[:, 0].min() - 12,
            cloud[:, 0].max() + 12,
            cloud[:, 1].min() - 12,
            cloud[:, 1].max() + 12,
        ]
    )


def _touches(mesh: Mesh, layout: Layout, *, gap_mm: float = 12.0) -> bool:
    """Whether a mesh lies within ``gap_mm`` of what is measured, as seen from above."""
    if layout.shot.subject != "clump":
        return False
    apart = layout.measured_points[::7, None] - mesh.points[None, ::3, :2]
    return bool((np.hypot(apart[..., 0], apart[..., 1]) < gap_mm).any())


def on_bench(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    made = _ground(rng, layout, _flat_area(layout))
    card = CARDS.get(layout.shot.card)
    clear = np.array([0, card.width, -card.height, 0]) if card else None
    if layout.shot.subject == "tag":
        clear = np.array([-34.0, 34, -22, 18])
    made += _crumbs(
        rng,
        layout.subject_at,
        105 if layout.subject else 60,
        420 if layout.subject else 90,
        floor=-BOARD_MM,
        clear=clear,
    )
    for _ in range(int(rng.integers(1, 4))):
        away, turn = rng.uniform(150, 230), rng.uniform(0, 2 * np.pi)
        spot = np.array(
            [
                layout.subject_at[0] + away * np.cos(turn),
                layout.subject_at[1] + away * np.sin(turn),
                -BOARD_MM + 1.0,
            ]
        )
        if (
            clear is not None
            and clear[0] - 70 < spot[0] < clear[1] + 70
            and clear[2] - 70 < spot[1] < clear[3] + 70
        ):
            continue
        dry = leaf(rng, float(rng.uniform(35, 70)), material="dry leaf", curl=-0.6)
        dry = moved(dry, rotation("z", rng.uniform(0, 360)), spot)
        if not _touches(dry, layout):
            made.append(dry)
    if rng.uniform() < 0.6:
        beyond = layout.subject_at[0] + (140 if layout.shot.side == "right" else -200)
        string = _string(
            rng, (beyond, layout.subject_at[1] - rng.uniform(60, 150)), float(rng.uniform(90, 190))
        )
        if not _touches(string, layout):
            made.append(string)
    return made


def tray(rng: np.random.Generator) -> list[Mesh]:
    """A shallow wooden tray of compost on the bench."""
    long, wide, high = 262.0, 168.0, 46.0
    made = [moved(m, None, (0, 0, -28.0)) for m in _planks(rng)]
    made += [
        block(np.array([-long, y, -30.0]), np.array([long, y + 11, high - 30]), "box")
        for y in (-wide - 11, wide)
    ]
    made += [
        block(np.array([x, -wide, -30.0]), np.array([x + 11, wide, high - 30]), "box")
        for x in (-long, long - 11)
    ]
    n = 120
    x, y = np.meshgrid(np.linspace(-long, long, n), np.linspace(-wide, wide, n), indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1)
    points[:, 2] = 1.0 + 1.6 * lumps(rng, points, wavelength=60, octaves=4)
    made.append(
        Mesh(part="compost", material="soil", points=points, quads=grid_faces(n, n)[:, ::-1].copy())
    )
    made += [
        moved(m, None, (0, 0, 1.0)) for m in _crumbs(rng, (0, 0), 120, 700, floor=1.0, clear=None)
    ]
    return made
