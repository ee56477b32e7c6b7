"""What lies and grows round the subject: benches, soil, leaves, foliage, peg, cane, string."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bloom_shapes import bloom
from layout import BOARD_MM, CARDS, TAG_MM, Layout, card_plates
from meshes import Floats, Mesh, grid_faces, lumps, moved, plate, rotation, tube

__all__ = ["surroundings"]

LEAF_OUTLINE = (0.06, 0.50, 0.86, 1.0, 0.93, 0.76, 0.52, 0.27, 0.02)


def _tinted(count: int, tint: tuple[float, float, float]) -> Floats:
    return np.tile(np.asarray(tint, float), (count, 1))


def leaf(rng: np.random.Generator, length: float, *, material: str = "leaf", curl: float = 1.0) -> Mesh:
    """A toothed leaflet along +x with its face to +z, drooping at the tip."""
    long, across = 25, 9
    s = np.linspace(0, 1, long)
    v = np.linspace(-1, 1, across)
    half = np.interp(s, np.linspace(0, 1, len(LEAF_OUTLINE)), LEAF_OUTLINE) * length * rng.uniform(0.22, 0.29)
    teeth = 1 + 0.085 * ((np.arange(long) % 3) - 1) * (s > 0.12)
    droop = -length * rng.uniform(0.05, 0.32) * curl * s**2
    y = (half * teeth)[:, None] * v
    z = droop[:, None] + 0.30 * np.abs(y) * rng.uniform(0.2, 1.1) + 0.02 * length * np.sin(9 * s + rng.uniform(0, 6))[:, None] * v**2
    x = np.broadcast_to((s * length)[:, None], y.shape) - 0.10 * np.abs(y)
    points = np.stack([x, y, z], -1).reshape(-1, 3)
    uv = np.stack(np.broadcast_arrays(s[:, None], v[None] * 0.5 + 0.5), -1).reshape(-1, 2)
    return Mesh(part="leaf", material=material, points=points, quads=grid_faces(long, across), uv=uv, colour=_tinted(len(points), (0, 0, rng.uniform())))


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
        depth = -float(rng.uniform(0.0, 1.0)) ** 1.2 * 1250 - 130
        reach = (420 - depth) * 0.66
        spot = middle + np.array([rng.uniform(-1.15, 1.15) * reach, rng.uniform(-1.0, 0.85) * reach, depth])
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
        spot = middle + np.array([rng.uniform(-1, 1) * (420 - depth) * 0.55, rng.uniform(-0.8, 0.9) * (420 - depth) * 0.5, depth])
        far = bloom(form="decorative", seed=int(rng.integers(1 << 20)), widest_mm=float(rng.uniform(70, 130)))
        turn = rotation("x", rng.uniform(-70, 20)) @ rotation("y", rng.uniform(-50, 50))
        shade = f"far {rng.choice(['red', 'pink', 'yellow'])}"
        made += [replace(moved(m, turn, spot), material=shade, part="far bloom", colour=None) for m in far.parts]
    hedge = plate(7000, 5200, part="hedge", material="dark", top=-1700.0, left_top=(-3400, -2600))
    return [*made, hedge]


def _own_stem(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    """The bloom's stem through the slot and down behind the card, with its leaves, and the cane."""
    x, y = layout.subject_at
    back = min(float(m.points[:, 2].min()) for m in layout.subject)
    s = np.linspace(0, 1, 24)
    drop = np.column_stack([x + 14 * s**2 * rng.normal(0, 1), y - 520 * np.maximum(s - 0.12, 0), back + 8 - 70 * np.sin(np.pi / 2 * np.minimum(s * 5, 1))])
    made = [tube(drop, np.full(24, 3.4) + 1.2 * s, part="stem", material="stem", sides=14)]
    for side in (-1, 1):
        low = np.array([x + side * 4, y - rng.uniform(70, 150), back - 60])
        heading = np.array([side * 1.0, rng.uniform(-0.35, 0.30), rng.uniform(-0.05, 0.12)])
        made += _spray(rng, low, heading, float(rng.uniform(140, 185)))
    if layout.held == "behind":
        cane = np.column_stack([np.full(24, 121.0), 60 - 700 * s, np.full(24, -8.5)])
        knots = 1 + 0.16 * np.exp(-(((s * 6.2) % 1.0 - 0.5) / 0.05) ** 2)
        made.append(tube(cane, 5.0 * knots, part="cane", material="cane", sides=16))
        for height in (112.0, 268.0):
            loop = np.column_stack([np.linspace(113.5, 128.5, 8), np.full(8, -height), 0.7 + 0.3 * np.sin(np.linspace(0, np.pi, 8))])
            made.append(tube(loop, np.full(8, 0.9), part="string", material="string", sides=8))
    elif layout.held == "level":
        cane = np.column_stack([np.full(24, 52.0), -20 - 500 * s, np.full(24, -7.5)])
        made.append(tube(cane, np.full(24, 4.2), part="cane", material="cane", sides=16))
    return made


def _kept_behind(mesh: Mesh) -> Mesh:
    """A leaf pressed back where it would lie over the card, as the grower does before shooting."""
    points = mesh.points.copy()
    above = points[:, 2] > -7.0
    points[above, 2] = -7.0 + np.minimum(0.04 * (points[above, 2] + 7.0), 5.0)
    return replace(mesh, points=points)


def _card(layout: Layout) -> list[Mesh]:
    card = CARDS[layout.shot.card]
    made = card_plates(layout.shot.card)
    backing = [moved(m, None, (0, 0, -BOARD_MM)) for m in made]
    made += [Mesh(part="board", material="board edge", points=m.points, quads=m.quads, uv=m.uv, smooth=False) for m in backing]
    edge = np.array([[0, 0], [card.width, 0], [card.width, -card.height], [0, -card.height]], float)
    for a, b in zip(edge, np.roll(edge, -1, axis=0), strict=True):
        wall = np.array([[*a, 0], [*b, 0], [*b, -BOARD_MM], [*a, -BOARD_MM]], float)
        made.append(Mesh(part="board", material="board edge", points=wall, quads=np.array([[0, 1, 2, 3]]), smooth=False))
    return made


def _tag(number: int, at: tuple[float, float, float, float]) -> list[Mesh]:
    x, y, z, turn = at
    face = plate(*TAG_MM, part="tag", material=f"print tag-{number:04d}")
    middle = np.array([TAG_MM[0] / 2, -TAG_MM[1] / 2, 0])
    turned = moved(moved(face, None, -middle), rotation("z", turn), middle + np.array([x, y, z]))
    under = moved(turned, None, (0, 0, -0.35))
    return [turned, Mesh(part="tag", material="board edge", points=under.points, quads=under.quads, smooth=False)]


def _block(low: Floats, high: Floats, material: str) -> Mesh:
    x, y, z = np.meshgrid(*zip(low, high, strict=True), indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), z.ravel()], 1)
    quads = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    return Mesh(part="block", material=material, points=points, quads=quads, uv=points[:, :2].copy(), smooth=False)


def _peg(layout: Layout, rng: np.random.Generator) -> list[Mesh]:
    """A small wooden peg over the card's edge, its jaw on the end of the tag that has the hole."""
    card = CARDS[layout.shot.card]
    x, y, _, _ = layout.tags[layout.shot.tag or 0]
    at_top = -y < card.height / 2
    made = []
    for z in (1.0, -BOARD_MM - 6.0):
        block = _block(np.array([-13.5, -4.2, z]), np.array([34.0, 4.2, z + 5.2]), "peg")
        taper = block.points.copy()
        taper[taper[:, 0] < 0, 2] += 2.0 * (taper[taper[:, 0] < 0, 2] > z + 1) * -1
        made.append(Mesh(part="peg", material="peg", points=taper, quads=block.quads, uv=block.uv, smooth=False))
    s = np.linspace(0, 2 * np.pi * 3, 40)
    coil = np.column_stack([6 + 3.0 * np.cos(s), -4.6 + 9.2 * s / s[-1], 1.2 + 5.8 * np.sin(s) * 0.9 - 1.0])
    made.append(tube(coil, np.full(40, 0.55), part="wire", material="wire", sides=8))
    turn = rotation("z", (90 if at_top else -90) + rng.normal(0, 4))
    at = (x + 4.6, 0.0 if at_top else -card.height, 0.0)
    return [moved(m, turn, at) for m in made]


def _crumbs(rng: np.random.Generator, centre: tuple[float, float], spread: float, count: int, *, floor: float, clear: Floats | None) -> list[Mesh]:
    """Crumbs of soil, thickest near the clump; none on the card."""
    polar = np.linspace(0.01, np.pi - 0.01, 7)
    turn = np.linspace(0, 2 * np.pi, 9, endpoint=False)
    p, t = np.meshgrid(polar, turn, indexing="ij")
    ball = np.stack([np.sin(p) * np.cos(t), np.sin(p) * np.sin(t), np.cos(p)], -1).reshape(-1, 3)
    clouds, quads = [], []
    while len(clouds) < count:
        size = float(np.clip(rng.lognormal(-0.35, 0.75), 0.35, 5.0))
        at = np.array(centre) + rng.normal(0, spread, 2) * rng.uniform(0.4, 1.5)
        if clear is not None and clear[0] - 4 < at[0] < clear[1] + 4 and clear[2] - 4 < at[1] < clear[3] + 4:
            continue
        shape = ball * (1 + 0.28 * lumps(rng, ball, wavelength=2.2, octaves=2))[:, None] * size * rng.uniform(0.6, 1.1, 3)
        quads.append(grid_faces(7, 9, closed=True) + 63 * len(clouds))
        clouds.append(shape + [at[0], at[1], floor + 0.45 * size])
    return [Mesh(part="clutter", material="soil", points=np.vstack(clouds), quads=np.vstack(quads))]


def _planks(rng: np.random.Generator) -> list[Mesh]:
    made = []
    y = -820.0
    while y < 620:
        wide = float(rng.uniform(88, 128))
        s = np.linspace(-0.5, 0.5, 15)
        edge = np.minimum((0.5 - np.abs(s)) * wide, 3.0)
        height = -BOARD_MM - 0.12 * (3.0 - edge) ** 2 - 0.5 * rng.uniform() - np.where(np.abs(s) > 0.49, 14.0, 0.0)
        x = np.linspace(-900, 1200, 60)
        wobble = 0.35 * np.sin(x / rng.uniform(90, 210) + rng.uniform(0, 6))
        across = np.broadcast_to(y + wide / 2 + s * (wide - rng.uniform(1.5, 4.0)), (60, 15))
        points = np.stack([np.broadcast_to(x[:, None], (60, 15)), across, height[None] + 0 * wobble[:, None]], -1).reshape(-1, 3)
        points[:, 1] += np.repeat(wobble, 15)
        made.append(Mesh(part="bench", material="wood", points=points, quads=grid_faces(60, 15), uv=points[:, :2].copy(), colour=_tinted(len(points), (rng.uniform(), 0, rng.uniform()))))
        y += wide
    turn = rotation("z", float(rng.uniform(-6, 6)))
    made = [moved(m, turn) for m in made]
    return [*made, plate(3000, 3000, part="bench", material="soil", top=-40, left_top=(-1500, -1500))]


def _cloth(rng: np.random.Generator, material: str, flat: Floats, *, folds: float) -> list[Mesh]:
    """A sheet that is flat where card and clump lie and falls into soft folds beyond."""
    n = 220
    x, y = np.meshgrid(np.linspace(-620, 900, n), np.linspace(-760, 560, n), indexing="ij")
    spot = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1)
    away = np.maximum.reduce([flat[0] - spot[:, 0], spot[:, 0] - flat[1], flat[2] - spot[:, 1], spot[:, 1] - flat[3], np.zeros(n * n)])
    heave = lumps(rng, spot * [1, 0.45, 1] @ rotation("z", rng.uniform(0, 180)).T, wavelength=260, octaves=3)
    fine = lumps(rng, spot, wavelength=70, octaves=2) * 0.12
    spot[:, 2] = -BOARD_MM - 0.2 + (heave + fine - 1.2) * folds * np.clip(away / 90, 0, 1) ** 1.5
    uv = spot[:, :2] @ rotation("z", rng.uniform(-12, 12))[:2, :2].T
    return [Mesh(part="bench", material=material, points=spot, quads=grid_faces(n, n)[:, ::-1].copy(), uv=uv)]


def _ground(rng: np.random.Generator, layout: Layout, flat: Floats) -> list[Mesh]:
    surface = layout.shot.surface
    if surface == "sacking":
        return _cloth(rng, "sacking", flat, folds=7.0)
    if surface == "slate":
        return _cloth(rng, "slate", flat, folds=0.8)
    return _planks(rng)


def _string(rng: np.random.Generator, at: tuple[float, float], length: float) -> Mesh:
    s = np.linspace(0, 1, 60)
    angle = np.cumsum(rng.normal(0, 0.12, 60)) + rng.uniform(0, 6) + 3.0 * np.sin(3 * s)
    line = np.column_stack([at[0] + np.cumsum(np.cos(angle)) * length / 60, at[1] + np.cumsum(np.sin(angle)) * length / 60, np.full(60, -BOARD_MM + 1.1)])
    return tube(line, np.full(60, 0.9), part="clutter", material="string", sides=8)


def _flat_area(layout: Layout) -> Floats:
    clouds = [m.points for m in layout.subject] or [np.zeros((1, 3))]
    if layout.shot.card:
        card = CARDS[layout.shot.card]
        clouds.append(np.array([[0, 0, 0], [card.width, -card.height, 0]], float))
    cloud = np.vstack(clouds)
    return np.array([cloud[:, 0].min() - 12, cloud[:, 0].max() + 12, cloud[:, 1].min() - 12, cloud[:, 1].max() + 12])


def _on_bench(rng: np.random.Generator, layout: Layout) -> list[Mesh]:
    made = _ground(rng, layout, _flat_area(layout))
    card = CARDS.get(layout.shot.card)
    clear = np.array([0, card.width, -card.height, 0]) if card else None
    if layout.shot.subject == "tag":
        clear = np.array([-34.0, 34, -22, 18])
    made += _crumbs(rng, layout.subject_at, 105 if layout.subject else 60, 420 if layout.subject else 90, floor=-BOARD_MM, clear=clear)
    for _ in range(int(rng.integers(1, 4))):
        away, turn = rng.uniform(150, 230), rng.uniform(0, 2 * np.pi)
        spot = np.array([layout.subject_at[0] + away * np.cos(turn), layout.subject_at[1] + away * np.sin(turn), -BOARD_MM + 1.0])
        if clear is not None and clear[0] - 70 < spot[0] < clear[1] + 70 and clear[2] - 70 < spot[1] < clear[3] + 70:
            continue
        dry = leaf(rng, float(rng.uniform(35, 70)), material="dry leaf", curl=-0.6)
        made.append(moved(dry, rotation("z", rng.uniform(0, 360)), spot))
    if rng.uniform() < 0.6:
        beyond = layout.subject_at[0] + (140 if layout.shot.side == "right" else -200)
        made.append(_string(rng, (beyond, layout.subject_at[1] - rng.uniform(60, 150)), float(rng.uniform(90, 190))))
    return made


def _tray(rng: np.random.Generator) -> list[Mesh]:
    """Sides of the tray and the compost in it."""
    long, wide, high = 262.0, 168.0, 46.0
    made = [
        _block(np.array([-long, y, -30.0]), np.array([long, y + 11, high - 30]), "box") for y in (-wide - 11, wide)
    ]
    made += [_block(np.array([x, -wide, -30.0]), np.array([x + 11, wide, high - 30]), "box") for x in (-long, long - 11)]
    n = 120
    x, y = np.meshgrid(np.linspace(-long, long, n), np.linspace(-wide, wide, n), indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), 0 * x.ravel()], 1)
    points[:, 2] = 1.0 + 1.6 * lumps(rng, points, wavelength=60, octaves=4)
    made.append(Mesh(part="compost", material="soil", points=points, quads=grid_faces(n, n)[:, ::-1].copy()))
    made += [moved(m, None, (0, 0, 1.0)) for m in _crumbs(rng, (0, 0), 120, 700, floor=1.0, clear=None)]
    return made


def surroundings(layout: Layout) -> list[Mesh]:
    """Everything in the scene but the subject itself."""
    shot = layout.shot
    rng = np.random.default_rng(shot.seed * 31 + (shot.tag or 0))
    made: list[Mesh] = []
    if shot.card:
        made += _card(layout)
        if shot.pegged:
            made += _peg(layout, rng)
    for number, at in layout.tags.items():
        made += _tag(number, at)
        if number == shot.neighbour or (shot.subject == "bloom" and not shot.card):
            x, y, z, _ = at
            tie = np.column_stack([np.linspace(x + 30, x + 8, 8), np.linspace(y - 3, y + 90, 8), np.linspace(z, z - 30, 8)])
            made.append(tube(tie, np.full(8, 0.9), part="string", material="string", sides=8))
    if shot.surface == "foliage":
        green = _own_stem(rng, layout) + _foliage(rng, layout)
        return made + [_kept_behind(m) if m.part == "leaf" else m for m in green]
    made += [m for m in _on_bench(rng, layout)] if shot.subject != "tray" else [*_planks_below(rng), *_tray(rng)]
    if shot.subject == "tag":
        x, y, z, _ = layout.tags[shot.tag or 0]
        s = np.linspace(0, 1, 40)
        tie = np.column_stack([x + 5 - 95 * s, y - 17 + 30 * np.sin(3.4 * s) + 8 * s, z + 0.9 + 3 * np.exp(-s * 12)])
        made.append(tube(tie, np.full(40, 0.9), part="string", material="string", sides=8))
    return made


def _planks_below(rng: np.random.Generator) -> list[Mesh]:
    return [moved(m, None, (0, 0, -28.0)) for m in _planks(rng)]
