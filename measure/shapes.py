"""Procedural blooms and clumps of known size, for drawn scenes and for fitting the domes."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar, Literal

import numpy as np
from numpy.typing import NDArray

from measure.planar import ring_of, square_to, widest_of

__all__ = ["Bloom", "BloomForm", "Clump", "grow_bloom", "grow_clump"]

Places = NDArray[np.float64]
BloomForm = Literal["single", "waterlily", "decorative", "cactus", "ball", "pompon"]

_GOLDEN = math.pi * (3.0 - math.sqrt(5.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Recipe:
    """Ranges of a form, lengths over the bloom's radius: (low, high) of one bloom to the next."""

    petals: int
    front: tuple[float, float]
    behind: tuple[float, float]
    rise: tuple[float, float]
    last_deg: tuple[float, float]
    width: float
    jitter: float
    point: float


# Depths are our judgement: a ball nearly as deep as wide; a decorative mostly about half as deep as
# wide, seldom the three quarters that judges call ideal; a single flat but for its cup.
_RECIPES: Mapping[BloomForm, _Recipe] = MappingProxyType(
    {
        "single": _Recipe(
            petals=8,
            front=(-0.10, 0.26),
            behind=(0.1, 0.1),
            rise=(0.12, 0.26),
            last_deg=(84.0, 96.0),
            width=0.72,
            jitter=0.03,
            point=0.45,
        ),
        "waterlily": _Recipe(
            petals=42,
            front=(0.28, 0.56),
            behind=(0.14, 0.40),
            rise=(0.22, 0.42),
            last_deg=(94.0, 114.0),
            width=0.46,
            jitter=0.025,
            point=0.3,
        ),
        "decorative": _Recipe(
            petals=110,
            front=(0.42, 0.80),
            behind=(0.22, 0.58),
            rise=(0.26, 0.48),
            last_deg=(96.0, 126.0),
            width=0.40,
            jitter=0.025,
            point=0.2,
        ),
        "cactus": _Recipe(
            petals=100,
            front=(0.42, 0.84),
            behind=(0.22, 0.58),
            rise=(0.24, 0.46),
            last_deg=(94.0, 124.0),
            width=0.15,
            jitter=0.045,
            point=0.1,
        ),
        "ball": _Recipe(
            petals=160,
            front=(0.70, 0.98),
            behind=(0.58, 0.92),
            rise=(0.54, 0.80),
            last_deg=(112.0, 136.0),
            width=0.30,
            jitter=0.016,
            point=0.5,
        ),
        "pompon": _Recipe(
            petals=170,
            front=(0.82, 1.04),
            behind=(0.74, 1.0),
            rise=(0.68, 0.94),
            last_deg=(122.0, 148.0),
            width=0.26,
            jitter=0.012,
            point=0.6,
        ),
    }
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bloom:
    """A bloom with its axis along the third coordinate and its back at height 0, in mm.

    ``petals`` are closed polygons (K, 3), back ones first; ``shades`` are from 0 to 1.
    """

    form: BloomForm
    petals: tuple[Places, ...]
    shades: tuple[float, ...]

    @property
    def points(self) -> Places:
        """(N, 3) all petal edges."""
        return np.concatenate(self.petals)

    def moved(self, *, to_mm: tuple[float, float, float], lean: Places | None = None) -> Bloom:
        """The bloom elsewhere; ``lean`` is a rotation (3, 3) about its back."""
        turn = np.eye(3) if lean is None else lean
        moved = tuple(p @ turn.T + np.asarray(to_mm) for p in self.petals)
        return Bloom(form=self.form, petals=moved, shades=self.shades)

    @property
    def widest_mm(self) -> float:
        """Widest measure of its shape along the third coordinate: the true one in a scene."""
        return widest_of(self.points[:, :2]).length

    @property
    def diameter_mm(self) -> float:
        """Mean of the widest measure and the one square to it."""
        flat = self.points[:, :2]
        callipers = widest_of(flat)
        across = square_to(flat, flat[callipers.second] - flat[callipers.first])
        return (callipers.length + across) / 2.0

    @property
    def ring_mm(self) -> float:
        """Smallest ring that it passes."""
        return ring_of(self.points[:, :2])


def grow_bloom(form: BloomForm, *, widest_mm: float, seed: int) -> Bloom:
    """A bloom of this form, scaled to its widest measure along its axis."""
    rng = np.random.default_rng(seed)
    recipe = _RECIPES[form]
    front, behind, rise, last_deg = (
        rng.uniform(*span) for span in (recipe.front, recipe.behind, recipe.rise, recipe.last_deg)
    )
    flat = form == "single"
    lopsided = rng.uniform(0, 2 * math.pi)
    lopsided_by = rng.uniform(0.0, 0.03)
    petals: list[Places] = []
    order: list[float] = []
    for k in range(recipe.petals):
        q = (k + 0.5) / recipe.petals
        polar = math.radians(last_deg if flat else 6.0 + (last_deg - 6.0) * q**0.6)
        polar += rng.normal(0, 0.02)
        turn = (k * 2 * math.pi / recipe.petals) if flat else k * _GOLDEN
        turn += rng.normal(0, 0.03)
        reach = 1.0 + rng.normal(0, recipe.jitter) + lopsided_by * math.cos(turn - lopsided)
        if flat:
            tip = np.array([reach, rise + front * rng.normal(1.0, 0.15)])
            foot = np.array([0.15, rise])
        else:
            height = front if polar < math.pi / 2 else behind
            tip = np.array([reach * math.sin(polar), rise + reach * height * math.cos(polar)])
            foot = np.array([0.12 * math.sin(polar), 0.6 * rise])
        petals.append(_petal(foot, tip, turn, recipe, rng))
        order.append(float(petals[-1][:, 2].mean()))
    # The green cup that the petals stand in is the back, unless petals bend down past it.
    around = np.linspace(0.0, 2 * math.pi, 12, endpoint=False)
    petals.append(np.column_stack([0.13 * np.cos(around), 0.13 * np.sin(around), 0.0 * around]))
    order.append(-1.0)
    back = min(float(p[:, 2].min()) for p in petals)
    made = [p - np.array([0.0, 0.0, back]) for p in petals]
    scale = widest_mm / widest_of(np.concatenate(made)[:, :2]).length
    sequence = np.argsort(order)
    return Bloom(
        form=form,
        petals=tuple(made[i] * scale for i in sequence),
        shades=tuple(float(rng.uniform(0.75, 1.0)) for _ in sequence),
    )


def _petal(
    foot: Places, tip: Places, turn: float, recipe: _Recipe, rng: np.random.Generator
) -> Places:
    """A closed polygon: a leaf shape along a slightly bowed line from foot to tip."""
    s = np.linspace(0.0, 1.0, 9)
    chord = tip - foot
    bow = rng.normal(0.05, 0.02) * float(np.linalg.norm(chord))
    forward = np.array([-chord[1], chord[0]]) / max(float(np.linalg.norm(chord)), 1e-9)
    if forward[1] < 0:
        forward = -forward
    line = foot + s[:, None] * chord + (4 * s * (1 - s) * bow)[:, None] * forward
    size = recipe.width * (0.35 + 0.65 * min(1.0, float(tip[0])))
    half = 0.5 * size * np.interp(s, [0, 0.3, 0.7, 0.92, 1.0], [0.4, 0.85, 1, 0.75, recipe.point])
    cup = 0.12 * half
    right = np.column_stack([line[:, 0] - cup, half, line[:, 1] + cup])
    left = np.column_stack([line[:, 0] - cup, -half, line[:, 1] + cup])
    edge = np.concatenate([right, [[tip[0], 0.0, tip[1]]], left[::-1]])
    c, n = math.cos(turn), math.sin(turn)
    x, y, z = edge.T
    return np.column_stack([c * x - n * y, n * x + c * y, z])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clump:
    """A clump lying on height 0, about the origin, in mm.

    Each body is (N, 3) surface points of balls on a line, ``POINTS_A_BALL`` of each; the first is
    the crown. ``lengths_mm`` is of each tuber from where it leaves the crown.
    """

    POINTS_A_BALL: ClassVar[int] = 140

    bodies: tuple[Places, ...]
    lengths_mm: tuple[float, ...]

    @property
    def points(self) -> Places:
        """(N, 3) all surface points."""
        return np.concatenate(self.bodies)

    @property
    def spread_mm(self) -> float:
        """Widest measure along the third coordinate."""
        return widest_of(self.points[:, :2]).length

    def moved(self, *, to_mm: tuple[float, float, float], turned_deg: float = 0.0) -> Clump:
        """The clump elsewhere, turned about its crown."""
        c, s = math.cos(math.radians(turned_deg)), math.sin(math.radians(turned_deg))
        turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
        return Clump(
            bodies=tuple(b @ turn.T + np.asarray(to_mm) for b in self.bodies),
            lengths_mm=self.lengths_mm,
        )


def grow_clump(*, spread_mm: float, tubers: int, seed: int, standing: bool = False) -> Clump:
    """Tubers like spindles round a crown, lying down outwards, scaled to the spread.

    ``standing``: some of them are stiff and stand off the ground the way they grew. How many and
    how high is our judgement; no source gives it.
    """
    rng = np.random.default_rng(seed)
    stiff = np.random.default_rng([seed, 80])
    share = stiff.uniform(0.1, 0.6) if standing else 0.0
    crown = 17.0
    bodies = [_spindle(np.array([[0.0, 0.0, 9.0], [0.0, 0.0, 26.0]]), np.array([crown, crown]))]
    lengths = []
    start = rng.uniform(0, 2 * math.pi)
    for k in range(tubers):
        turn = start + (k + rng.normal(0, 0.18)) * 2 * math.pi / tubers
        length = 95.0 * float(np.clip(rng.normal(1.0, 0.16), 0.6, 1.35))
        belly = 14.0 * float(np.clip(rng.normal(1.0, 0.15), 0.7, 1.35))
        s = np.linspace(0.0, 1.0, 14)
        radius = belly * np.interp(s, [0, 0.12, 0.45, 0.8, 1.0], [0.4, 0.45, 1.0, 0.7, 0.15])
        bend = rng.normal(0, 0.35)
        heading = turn + bend * s
        step = length / 13
        x = 0.6 * crown * math.cos(turn) + np.cumsum(np.cos(heading)) * step
        y = 0.6 * crown * math.sin(turn) + np.cumsum(np.sin(heading)) * step
        # A tuber is stiff: it rests on its belly, and its thin end stays off the bench.
        arch = 4.0 * rng.uniform(0.0, 4.0) * s * (1 - s)
        rest = (0.92 * radius - 16.0 * (1 - s) - arch)[2:] / s[2:]
        # Some lie across a neighbour, and end higher.
        end = max(2.0, float(rest.max())) + float(rng.choice([0.0, 0.0, rng.uniform(6.0, 32.0)]))
        if stiff.random() < share:
            end += length * math.sin(math.radians(stiff.uniform(0.0, 30.0)))
        z = 16.0 * (1 - s) + end * s + arch
        bodies.append(_spindle(np.column_stack([x, y, z]), radius))
        lengths.append(length - 0.4 * crown)
    made = Clump(bodies=tuple(bodies), lengths_mm=tuple(lengths))
    scale = spread_mm / made.spread_mm
    return Clump(
        bodies=tuple(b * scale for b in bodies),
        lengths_mm=tuple(length * scale for length in lengths),
    )


def _spindle(line: Places, radius: Places) -> Places:
    """Points of balls strung on a line: their hull along any sight is the spindle's outline."""
    polar = np.linspace(0.0, math.pi, 7)
    round_about = np.linspace(0.0, 2 * math.pi, 20, endpoint=False)
    p, t = np.meshgrid(polar, round_about, indexing="ij")
    ball = np.column_stack(
        [(np.sin(p) * np.cos(t)).ravel(), (np.sin(p) * np.sin(t)).ravel(), np.cos(p).ravel()]
    )
    placed: Places = (line[:, None] + radius[:, None, None] * ball).reshape(-1, 3)
    return placed
