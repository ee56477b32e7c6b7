"""A second way to build blooms: flat-laid blades that are bent into arcs and set in whorls.

Nothing is shared with ``bloom_shapes``: no spheroid that the tips lie on, no golden angle. What a
bloom measures follows from how long its petals are and how far each whorl is opened and bent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from meshes import Floats, Mesh, grid_faces

__all__ = ["WHORL_FORMS", "whorl_bloom"]

_LONG, _ACROSS = 22, 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Whorls:
    """How a form's whorls run, each pair from the outermost to the innermost.

    ``opened`` is the petals' angle from the axis where they leave the stem end, in degrees, and
    ``bent`` how far they turn on their way to the tip (outwards and back positive). ``length`` is
    a share of the outermost petals'. ``broad`` is a petal's width as a share of its own length,
    ``fullest`` where along it that lies, ``blunt`` how square its tip is. ``cup`` draws its edges
    up (down where negative), as a share of the width; ``stalk`` is the height from which the inner
    whorls start, as a share of the outermost length.
    """

    whorls: int
    petals: tuple[int, int]
    opened: tuple[float, float]
    bent: tuple[float, float]
    length: tuple[float, float]
    broad: tuple[float, float]
    fullest: float
    blunt: float
    cup: tuple[float, float]
    stalk: float
    disc: float = 0.0
    collar: float = 0.0
    cushion: float = 0.0


WHORL_FORMS: dict[str, Whorls] = {
    "single": Whorls(whorls=1, petals=(8, 8), opened=(72, 72), bent=(14, 14), length=(1, 1),
                     broad=(0.72, 0.72), fullest=0.62, blunt=0.6, cup=(0.05, 0.05), stalk=0.0,
                     disc=0.27),
    "collerette": Whorls(whorls=1, petals=(8, 8), opened=(76, 76), bent=(10, 10), length=(1, 1),
                         broad=(0.74, 0.74), fullest=0.60, blunt=0.7, cup=(0.04, 0.04), stalk=0.0,
                         disc=0.24, collar=0.46),
    "anemone": Whorls(whorls=2, petals=(9, 9), opened=(80, 72), bent=(12, 8), length=(1, 0.9),
                      broad=(0.56, 0.56), fullest=0.58, blunt=0.5, cup=(0.05, 0.06), stalk=0.05,
                      disc=0.30, cushion=0.55),
    "decorative": Whorls(whorls=11, petals=(15, 5), opened=(110, 4), bent=(16, -20),
                         length=(1, 0.42), broad=(0.46, 0.60), fullest=0.60, blunt=0.40,
                         cup=(0.03, 0.24), stalk=0.26),
    "ball": Whorls(whorls=13, petals=(17, 6), opened=(128, 4), bent=(14, 0), length=(0.94, 0.82),
                   broad=(0.50, 0.55), fullest=0.66, blunt=0.75, cup=(0.22, 0.34), stalk=0.38),
    "pompon": Whorls(whorls=13, petals=(15, 6), opened=(146, 4), bent=(10, 0), length=(0.9, 0.88),
                     broad=(0.56, 0.58), fullest=0.70, blunt=0.85, cup=(0.30, 0.40), stalk=0.32),
    "cactus": Whorls(whorls=10, petals=(16, 6), opened=(104, 3), bent=(14, -14), length=(1, 0.45),
                     broad=(0.20, 0.24), fullest=0.36, blunt=0.05, cup=(-0.42, -0.30), stalk=0.26),
    "semi-cactus": Whorls(whorls=10, petals=(15, 6), opened=(105, 3), bent=(12, -16),
                          length=(1, 0.45), broad=(0.30, 0.36), fullest=0.42, blunt=0.10,
                          cup=(-0.16, 0.10), stalk=0.27),
    "waterlily": Whorls(whorls=6, petals=(10, 5), opened=(74, 12), bent=(16, -18),
                        length=(1, 0.58), broad=(0.52, 0.60), fullest=0.56, blunt=0.45,
                        cup=(0.14, 0.24), stalk=0.10),
    "stellar": Whorls(whorls=7, petals=(13, 5), opened=(100, 6), bent=(24, -10), length=(1, 0.45),
                      broad=(0.22, 0.30), fullest=0.45, blunt=0.08, cup=(0.30, 0.34), stalk=0.20),
}  # fmt: skip


def _blade(
    rng: np.random.Generator,
    *,
    length: float,
    opened: float,
    bent: float,
    broad: float,
    fullest: float,
    blunt: float,
    cup: float,
) -> tuple[Floats, Floats]:
    """One petal in the plane of the axis (x outwards, y across, z forward), and its (s, v)."""
    s = np.linspace(0, 1, _LONG)
    angle = np.radians(opened + bent * s)
    step = length / (_LONG - 1)
    x = np.concatenate([[0], np.cumsum(np.sin(angle[:-1]) * step)])
    z = np.concatenate([[0], np.cumsum(np.cos(angle[:-1]) * step)])
    rise = np.clip(s / fullest, 0, 1)
    fall = np.clip((s - fullest) / (1 - fullest), 0, 1)
    half = np.where(
        s < fullest,
        0.34 + 0.66 * np.sin(np.pi / 2 * rise) ** 0.8,
        (1 - fall ** (1.6 + 2.2 * blunt)) ** (0.9 - 0.45 * blunt),
    )
    half = np.maximum(half, 0.012) * broad * length / 2
    v = np.linspace(-1, 1, _ACROSS)
    y = half[:, None] * v
    # Edges drawn up or down, more towards the tip of a rolled petal, and a wave along them.
    roll = cup * 2 * half[:, None] * (0.55 + 0.45 * s[:, None]) * v**2
    wave = rng.normal(0, 0.035) * broad * length * np.sin(2 * np.pi * (1.7 * s + rng.uniform()))
    up = roll + wave[:, None] * np.abs(v) ** 3
    twist = np.radians(rng.normal(0, 7)) * s[:, None]
    y, up = y * np.cos(twist) - up * np.sin(twist), y * np.sin(twist) + up * np.cos(twist)
    points = np.stack(
        [x[:, None] - up * np.cos(angle)[:, None], y, z[:, None] + up * np.sin(angle)[:, None]], -1
    )
    sv = np.stack(np.broadcast_arrays(s[:, None], v[None]), -1)
    return points.reshape(-1, 3), sv.reshape(-1, 2)


def _around(points: Floats, azimuth: float, at: Floats) -> Floats:
    c, s = np.cos(azimuth), np.sin(azimuth)
    turned = points @ np.array([[c, s, 0.0], [-s, c, 0.0], [0, 0, 1.0]])
    return turned + at


class _Petals:
    """Blades gathered into one mesh."""

    def __init__(self) -> None:
        self.clouds: list[Floats] = []
        self.coords: list[Floats] = []
        self.tints: list[Floats] = []

    def add(self, points: Floats, sv: Floats, tint: tuple[float, float]) -> None:
        self.clouds.append(points)
        self.coords.append(np.column_stack([sv[:, 0], sv[:, 1] * 0.5 + 0.5]))
        self.tints.append(np.column_stack([sv[:, 0], np.tile(tint, (len(points), 1))]))

    def mesh(self, part: str, material: str) -> Mesh:
        faces, size = grid_faces(_LONG, _ACROSS), _LONG * _ACROSS
        return Mesh(
            part=part,
            material=material,
            points=np.vstack(self.clouds),
            quads=np.vstack([faces + size * k for k in range(len(self.clouds))]),
            uv=np.vstack(self.coords),
            colour=np.vstack(self.tints),
        )


def _mound(
    rng: np.random.Generator, radius: float, height: float, base: float, tint: Floats
) -> Mesh:
    """A disc or cushion: a low dome of knobs, made as one bumpy sheet with a skirt below."""
    rows, sides = 60, 120
    out = np.linspace(0, 1.0, rows)
    turn = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    q, t = np.meshgrid(out, turn, indexing="ij")
    knobs = np.sin(22 * q * np.pi) * np.sin(t * np.maximum(np.round(26 * q), 5)) * 0.05 * radius
    z = base + height * (1 - q**2.2) + knobs * (q < 0.97)
    z[-1] = base - 0.25 * radius
    points = np.stack([radius * q * np.cos(t), radius * q * np.sin(t), z], -1).reshape(-1, 3)
    shade = rng.uniform(0.75, 1.0, len(points)) * (0.55 + 0.45 * (knobs.ravel() > 0))
    return Mesh(
        part="disc",
        material="disc",
        points=points,
        quads=grid_faces(rows, sides, closed=True),
        uv=points[:, :2].copy(),
        colour=shade[:, None] * tint,
    )


def whorl_bloom(*, form: str, seed: int, widest_mm: float) -> tuple[Mesh, ...]:
    """A bloom with its axis along +z and its back at z = 0, about ``widest_mm`` across.

    The caller scales it to the very size, as seen along the card's normal.
    """
    rng = np.random.default_rng(seed)
    how = WHORL_FORMS[form]
    petals = _Petals()
    long = widest_mm / 2
    shape = rng.normal(0, 1, 4)
    start = rng.uniform(0, 2 * np.pi)
    for k in range(how.whorls):
        q = k / max(how.whorls - 1, 1)

        def between(pair: tuple[float, float], share: float = q) -> float:
            return pair[0] + (pair[1] - pair[0]) * share

        count = round(between(how.petals))
        start += np.pi / count if k else 0.0
        for number in range(count):
            azimuth = start + 2 * np.pi * number / count + rng.normal(0, 0.05)
            size = between(how.length, q**1.3) * np.clip(rng.normal(1, 0.035), 0.9, 1.08)
            points, sv = _blade(
                rng,
                length=long * size,
                opened=between(how.opened, q**0.85) + 3 * shape[0] * (1 - q) + rng.normal(0, 3.2),
                bent=between(how.bent) + 4 * shape[1] + rng.normal(0, 4),
                broad=between(how.broad)
                * (1 + 0.06 * shape[2])
                * np.clip(rng.normal(1, 0.06), 0.85, 1.15),
                fullest=how.fullest,
                blunt=how.blunt,
                cup=between(how.cup) * (1 + 0.1 * shape[3]),
            )
            foot = 0.05 * long * (1 - q) + how.disc * 0.55 * long
            at = np.array(
                [foot * np.cos(azimuth), foot * np.sin(azimuth), how.stalk * long * q**1.1 * 0.8]
            )
            petals.add(_around(points, azimuth, at), sv, (q, rng.uniform()))
    parts = [petals.mesh("petal", "petal")]
    if how.collar:
        ruff = _Petals()
        for number in range(16):
            azimuth = 2 * np.pi * (number + 0.5) / 16 + rng.normal(0, 0.06)
            points, sv = _blade(
                rng,
                length=how.collar * long * rng.uniform(0.85, 1.1),
                opened=50 + rng.normal(0, 7),
                bent=24,
                broad=0.34,
                fullest=0.6,
                blunt=0.4,
                cup=0.12,
            )
            ring = 0.7 * how.disc * long
            at = np.array([ring * np.cos(azimuth), ring * np.sin(azimuth), 0.05 * long])
            ruff.add(_around(points, azimuth, at), sv, (0.5, rng.uniform()))
        parts.append(ruff.mesh("petal", "collar"))
    if how.disc:
        wide = (how.cushion or how.disc) * long
        tall = wide * (0.62 if how.cushion else 0.34)
        tint = np.array([0.70, 0.36, 0.02] if not how.cushion else [0.78, 0.52, 0.06])
        parts.append(_mound(rng, wide, tall, 0.10 * long, tint))
    back = min(float(m.points[:, 2].min()) for m in parts)
    return tuple(
        Mesh(part=m.part, material=m.material, points=m.points - [0, 0, back], quads=m.quads,
             uv=m.uv, colour=m.colour)
        for m in parts
    )  # fmt: skip
