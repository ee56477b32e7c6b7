"""Clumps of dahlia tubers as meshes: crown, cut stalk, tubers over one another, hair roots."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from meshes import Floats, Mesh, grid_faces, lumps, rotation, tube
from plane_measures import widest

__all__ = ["Clump", "clump", "clump_of_spread"]

THIN_MM = 4.0
"""A tuber ends, for the truth, where it is this thick: beyond it is a root."""

_SHAPE_AT = np.array([0.0, 0.07, 0.17, 0.31, 0.48, 0.65, 0.80, 0.92, 1.0])
_SHAPE = np.array([0.42, 0.33, 0.42, 0.77, 1.0, 0.98, 0.82, 0.55, 0.0])


@dataclass(frozen=True, kw_only=True, eq=False)
class Clump:
    """A clump resting on z = 0 about the origin.

    ``lines`` are the tubers' (N, 3) centre lines from where each leaves the crown to where it is
    4 mm thick.
    """

    parts: tuple[Mesh, ...]
    lines: tuple[Floats, ...]

    @property
    def outline_points(self) -> Floats:
        """All points of crown and tubers: what is measured."""
        kept = [m.points for m in self.parts if m.part == "crown" or m.part.startswith("tuber")]
        return np.vstack(kept)


def _profile(s: Floats, *, belly: float, lean: float, tip: float) -> Floats:
    fine = np.linspace(0, 1, 200)
    shape = np.interp(fine, _SHAPE_AT, _SHAPE)
    kernel = np.hanning(25)
    smooth = np.convolve(np.pad(shape, 12, mode="edge"), kernel / kernel.sum(), mode="valid")
    return np.maximum(np.interp(s**lean, fine, smooth) * belly, tip)


def _tuber_line(
    rng: np.random.Generator, heading: float, length: float, start: float, s: Floats
) -> Floats:
    """The centre line seen from above: it leaves the crown radially and bends a little."""
    bend = np.radians(rng.normal(0, 24))
    wobble = np.radians(rng.normal(0, 9))
    angle = heading + bend * s**1.4 + wobble * np.sin(2 * np.pi * s * rng.uniform(0.6, 1.1))
    step = length * np.gradient(s)
    x = start * np.cos(heading) + np.cumsum(step * np.cos(angle)) - step[0]
    y = start * np.sin(heading) + np.cumsum(step * np.sin(angle)) - step[0]
    return np.stack([x, y], 1)


class _Pile:
    """Heights of what lies there already, on a millimetre grid."""

    def __init__(self, reach: float) -> None:
        self.reach = reach
        self.top = np.zeros((int(2 * reach) + 1,) * 2)

    def _cells(self, xy: Floats) -> tuple[Floats, Floats]:
        cells = np.clip(np.rint(xy + self.reach).astype(int), 0, len(self.top) - 1)
        return cells[..., 0], cells[..., 1]

    def under(self, xy: Floats, radius: Floats) -> Floats:
        """Highest point below each sample of a tuber, looked for across most of its width."""
        around = np.linspace(0, 2 * np.pi, 12, endpoint=False)
        ring = np.stack([np.cos(around), np.sin(around)], 1)
        probe = np.concatenate([xy[:, None], xy[:, None] + ring * 0.55 * radius[:, None, None]], 1)
        return self.top[self._cells(probe)].max(1)

    def add(self, points: Floats) -> None:
        np.maximum.at(self.top, self._cells(points[:, :2]), points[:, 2])


def _root(
    rng: np.random.Generator, at: Floats, heading: float, length: float, thick: float
) -> Mesh:
    s = np.linspace(0, 1, 16)
    angle = heading + np.cumsum(rng.normal(0, 0.16, 16)) + rng.normal(0, 0.5) * s
    step = length / 16
    centre = np.stack([np.cumsum(np.cos(angle)) * step, np.cumsum(np.sin(angle)) * step, 0 * s], 1)
    centre += at - centre[0]
    centre[:, 2] = np.maximum(at[2] * (1 - s) ** 1.3, 0.5) + np.abs(rng.normal(0, 0.6, 16)) * s
    radius = thick / 2 * (1 - 0.86 * s**0.7)
    return tube(centre, radius, part="root", material="root", sides=8)


def clump(
    *, seed: int, tubers: int, scale: float = 1.0, plumpness: float = 1.0, evenness: float = 0.8
) -> Clump:
    """Grow a clump; ``scale`` 1 gives tubers of about 95 mm.

    ``plumpness`` widens the tubers, ``evenness`` (0 to 1) says how regularly they go round the
    crown.
    """
    rng = np.random.default_rng(seed)
    crown_r = 20.5 * scale * rng.uniform(0.92, 1.08)
    crown_z = 15.0 * scale
    pile = _Pile(330.0)
    s = np.linspace(0, 1, 56)
    order = rng.permutation(tubers)
    headings = (
        (np.arange(tubers) / tubers + rng.normal(0, 0.75 * (1.35 - evenness), tubers) / tubers)
        * 2
        * np.pi
    )
    parts: list[Mesh] = []
    lines: list[Floats] = []
    low = int(np.ceil(tubers * 0.62))
    for rank, index in enumerate(order):
        length = 95.0 * scale * np.clip(rng.normal(1.0, 0.19), 0.58, 1.3)
        belly = 15.8 * scale * plumpness * np.clip(rng.normal(1.0, 0.19), 0.62, 1.35)
        upper = rank >= low
        radius = _profile(s, belly=belly, lean=rng.uniform(0.82, 1.25), tip=THIN_MM / 2)
        flat = rng.uniform(0.84, 1.0)
        start_z = crown_z + (9.0 * scale if upper else 0.0)
        bow = rng.uniform(0.0, 3.0) * scale + (3.0 * scale if upper else 0.0)
        arch = 4 * bow * s * (1 - s)
        # An upper tuber lies on others, but settles where it need not stand up; a lower one lies
        # where there is room.
        rest = rng.uniform(14.0, 32.0) * scale if upper else 0.0
        xy, end_z = np.empty((0, 2)), np.inf
        for _ in range(12):
            aside = (
                rng.choice([-1, 1]) * rng.uniform(0.15, 0.6) * 6 / tubers
                if upper
                else rng.normal(0, 0.16)
            )
            tried = _tuber_line(rng, headings[index] + aside, length, 0.55 * crown_r, s)
            need = radius * flat + pile.under(tried, radius) - 1.2
            lifted = ((need - start_z * (1 - s) - arch) / s.clip(0.01))[s > 0.4].max()
            lifted = float(np.clip(lifted, THIN_MM / 2, 36.0 * scale))
            if abs(lifted - rest) < abs(end_z - rest):
                xy, end_z = tried, lifted
        centre = np.column_stack([xy, start_z * (1 - s) + end_z * s + arch])
        skin = tube(centre, radius, part=f"tuber {index}", material="skin", sides=36, flatten=flat)
        points = skin.points
        mid = np.repeat(np.vstack([centre[:1], centre, centre[-1:]]), 36, axis=0)
        out = points - mid
        bulge = 0.075 * lumps(rng, points, wavelength=46.0 * scale, octaves=2)
        rings = 0.013 * np.sin(
            skin.uv[:, 0] * 2 * np.pi / (5.2 * scale)
            + 2.1 * lumps(rng, points, wavelength=19, octaves=1)
        )
        fade = np.clip((np.linalg.norm(out, axis=1) - THIN_MM / 2) / 5.0, 0, 1)
        points = mid + out * (1 + fade * (bulge + rings))[:, None]
        shade = np.clip(
            0.5 + 0.22 * lumps(rng, points, wavelength=38, octaves=3) + rng.normal(0, 0.12), 0, 1
        )
        colour = np.column_stack(
            [
                shade,
                np.repeat(np.concatenate([[0], s, [1]]), 36),
                np.full(len(points), rng.uniform()),
            ]
        )
        parts.append(
            Mesh(
                part=f"tuber {index}",
                material="skin",
                points=points,
                quads=skin.quads,
                uv=skin.uv,
                colour=colour,
            )
        )
        pile.add(points)
        outside = np.flatnonzero(np.hypot(*xy.T) > crown_r)[0]
        lines.append(centre[outside:])
        tail_heading = np.arctan2(*(xy[-1] - xy[-4])[::-1])
        parts.append(_root(rng, centre[-1], tail_heading, rng.uniform(18, 62), 3.4))
        for _ in range(rng.integers(1, 4)):
            where = rng.integers(30, 55)
            sideways = tail_heading + rng.choice([-1, 1]) * rng.uniform(0.4, 1.3)
            at = centre[where] + radius[where] * 0.6 * np.array(
                [np.cos(sideways), np.sin(sideways), -0.4]
            )
            parts.append(_root(rng, at, sideways, rng.uniform(10, 34), 1.3))
    parts.append(_crown(rng, crown_r, crown_z + 3 * scale))
    parts.extend(_stalks(rng, crown_r, crown_z + 3 * scale, scale))
    return Clump(parts=tuple(parts), lines=tuple(lines))


def _crown(rng: np.random.Generator, radius: float, z: float) -> Mesh:
    rows, sides = 26, 40
    polar = np.linspace(0.001, np.pi - 0.001, rows)
    turn = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    p, t = np.meshgrid(polar, turn, indexing="ij")
    ball = np.stack([np.sin(p) * np.cos(t), np.sin(p) * np.sin(t), 0.9 * np.cos(p)], -1).reshape(
        -1, 3
    )
    size = 1 + 0.075 * lumps(rng, ball * 20, wavelength=17, octaves=3)
    points = ball * radius * size[:, None]
    points[:, 2] = np.maximum(points[:, 2] + z, 1.0)
    shade = np.clip(0.32 + 0.16 * lumps(rng, points, wavelength=12, octaves=2), 0, 1)
    colour = np.column_stack([shade, np.zeros(len(points)), np.full(len(points), 0.5)])
    uv = np.column_stack([p.ravel() * radius, t.ravel()])
    return Mesh(
        part="crown",
        material="skin",
        points=points,
        quads=grid_faces(rows, sides, closed=True),
        uv=uv,
        colour=colour,
    )


def _stalks(rng: np.random.Generator, crown_r: float, z: float, scale: float) -> list[Mesh]:
    """A cut stalk of about 25 mm above the crown, hollow, and the scar of an older one."""
    made: list[Mesh] = []
    for number in range(2):
        slim = min(1.0, scale / 0.7)
        tall = (
            (crown_r * 0.75 + 25.0 * slim) if number == 0 else (crown_r * 0.8 + rng.uniform(4, 9))
        )
        thick = slim * (rng.uniform(8.0, 10.0) if number == 0 else rng.uniform(4.0, 6.0))
        s = np.linspace(0, 1, 14)
        foot = (
            np.array([0.0, 0.0, z])
            if number == 0
            else np.array([*(rng.normal(0, 0.4, 2) * crown_r), z])
        )
        lean = rotation("z", rng.uniform(0, 360)) @ rotation("x", rng.uniform(2, 11))
        centre = np.column_stack([0 * s, 0 * s, s * tall]) @ lean.T + foot
        radius = thick * (1.12 - 0.16 * np.sqrt(s)) * (1 + 0.02 * rng.normal(size=14))
        wall = tube(centre, radius, part="stalk", material="stalk", sides=22, capped=False)
        down = np.array([1.0, 0.985, 0.93, 0.75])
        inner_line = centre[0] + (centre[-1] - centre[0]) * down[:, None]
        inner_r = radius[-1] * np.array([0.985, 0.66, 0.6, 0.05])
        made += [
            wall,
            tube(inner_line, inner_r, part="stalk", material="pith", sides=22, capped=False),
        ]
    return made


def clump_of_spread(
    *, spread_mm: float, seed: int, tubers: int, plumpness: float, evenness: float
) -> Clump:
    """A clump scaled until its spread, seen along the card's normal, is ``spread_mm``."""
    scale = spread_mm / 245.0
    for _ in range(12):
        made = clump(seed=seed, tubers=tubers, scale=scale, plumpness=plumpness, evenness=evenness)
        found = widest(made.outline_points[:, :2])
        if abs(found - spread_mm) < 0.02:
            return made
        scale *= spread_mm / found
    msg = f"seed {seed}: a tuber settles elsewhere at every scale; take another seed"
    raise ValueError(msg)
