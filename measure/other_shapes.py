"""Blooms and clumps built by rules of their own, to which no prior was ever fitted.

A bloom is a stack of lobed slices between two superellipse profiles, one before its widest part and
one behind it; a clump is a fan of ellipsoids, some laid across others, or a stiff bunch of tubers
that was put down and rests on its lowest three. Nothing is shared with ``measure.shapes`` but the
containers.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull

from measure.planar import widest_of
from measure.shapes import Bloom, BloomForm, Clump

__all__ = ["bunch_clump", "pile_clump", "stack_bloom"]

Floats = NDArray[np.float64]
Span = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stack:
    """Ranges from one bloom of a form to the next, lengths as shares of the diameter.

    ``depth`` is from back to front; ``behind`` the share of it that lies behind the widest part;
    ``front_power`` and ``back_power`` are the profiles' exponents (2: an ellipse, more: fuller);
    ``lobes`` are petals in a row, ``scallop`` how far they stand out over the gaps between them.
    """

    depth: Span
    behind: Span
    front_power: Span
    back_power: Span
    lobes: Span
    scallop: Span
    ragged: float


# How deep a form is: of fully double decoratives the American society calls three quarters of the
# diameter ideal; balls and pompons are globular by definition. All else is judgement, made from
# what the forms look like and without looking at the priors.
_STACKS: Mapping[BloomForm, _Stack] = MappingProxyType(
    {
        "single": _Stack(
            depth=(0.14, 0.32),
            behind=(0.45, 0.75),
            front_power=(1.6, 2.6),
            back_power=(1.2, 2.0),
            lobes=(8, 9),
            scallop=(0.10, 0.20),
            ragged=0.015,
        ),
        "waterlily": _Stack(
            depth=(0.28, 0.46),
            behind=(0.30, 0.50),
            front_power=(1.6, 2.4),
            back_power=(1.4, 2.2),
            lobes=(9, 13),
            scallop=(0.05, 0.10),
            ragged=0.012,
        ),
        "decorative": _Stack(
            depth=(0.40, 0.72),
            behind=(0.25, 0.48),
            front_power=(1.7, 2.5),
            back_power=(1.5, 2.4),
            lobes=(12, 18),
            scallop=(0.03, 0.08),
            ragged=0.012,
        ),
        "cactus": _Stack(
            depth=(0.38, 0.68),
            behind=(0.25, 0.50),
            front_power=(1.5, 2.2),
            back_power=(1.4, 2.2),
            lobes=(16, 24),
            scallop=(0.10, 0.22),
            ragged=0.030,
        ),
        "ball": _Stack(
            depth=(0.66, 0.92),
            behind=(0.40, 0.52),
            front_power=(1.9, 2.4),
            back_power=(1.8, 2.6),
            lobes=(14, 20),
            scallop=(0.015, 0.04),
            ragged=0.008,
        ),
        "pompon": _Stack(
            depth=(0.80, 1.0),
            behind=(0.44, 0.56),
            front_power=(1.9, 2.3),
            back_power=(1.9, 2.6),
            lobes=(12, 18),
            scallop=(0.015, 0.04),
            ragged=0.006,
        ),
    }
)


def stack_bloom(form: BloomForm, *, widest_mm: float, seed: int, slices: int = 36) -> Bloom:
    """A bloom of this form, scaled to its widest measure along its axis."""
    rng = np.random.default_rng([seed, 77])
    kind = _STACKS[form]
    depth, behind, front_power, back_power, scallop = (
        rng.uniform(*span)
        for span in (kind.depth, kind.behind, kind.front_power, kind.back_power, kind.scallop)
    )
    lobes = int(rng.integers(round(kind.lobes[0]), round(kind.lobes[1]) + 1))
    turn = np.linspace(0.0, 2.0 * math.pi, 240, endpoint=False)
    oval, oval_at = abs(rng.normal(0.0, 0.015)), rng.uniform(0.0, math.pi)
    lopsided, lopsided_at = abs(rng.normal(0.0, 0.02)), rng.uniform(0.0, 2.0 * math.pi)
    tall = rng.uniform(0.0, 0.06)
    rings: list[Floats] = []
    shades: list[float] = []
    rows = 5
    stands_out = rng.normal(0.0, kind.ragged, (rows, lobes))
    for level in np.sin(np.linspace(-0.499 * math.pi, 0.5 * math.pi, slices)):
        power = front_power if level >= 0 else back_power
        radius = 0.5 * max(0.0, 1.0 - abs(float(level)) ** power) ** (1.0 / power)
        if radius < 0.01:
            continue
        height = depth * (behind + float(level) * ((1.0 - behind) if level >= 0 else behind))
        row = int((float(level) + 1.0) * 0.5 * (rows - 1) + 0.5)
        phase = row * 2.399963 + 0.4 * float(level)
        lobe = np.abs(np.cos(0.5 * lobes * (turn + phase)))
        which = np.floor(lobes * (turn + phase) / (2.0 * math.pi)).astype(int) % lobes
        rim = (1.0 - scallop * (1.0 - lobe)) * (1.0 + stands_out[row][which] * lobe)
        rim = rim * (1.0 + oval * np.cos(2.0 * (turn - oval_at)))
        rim = rim * (1.0 + lopsided * np.cos(turn - lopsided_at))
        # One side may stand up to an eighth taller than the other.
        z = height * (1.0 + tall * np.cos(turn - oval_at))
        rings.append(np.column_stack([radius * rim * np.cos(turn), radius * rim * np.sin(turn), z]))
        shades.append(0.72 + 0.28 * (0.5 + 0.5 * float(level)) - 0.05 * (len(rings) % 2))
    back = min(float(ring[:, 2].min()) for ring in rings)
    scale = widest_mm / widest_of(np.concatenate(rings)[:, :2]).length
    return Bloom(
        form=form,
        petals=tuple((ring - np.array([0.0, 0.0, back])) * scale for ring in rings),
        shades=tuple(shades),
    )


def pile_clump(*, spread_mm: float, tubers: int, seed: int) -> Clump:
    """Ellipsoids fanned out from a long crown, the later ones across the earlier ones."""
    rng = np.random.default_rng([seed, 78])
    along = rng.uniform(0.0, 2.0 * math.pi)
    ridge = np.array([math.cos(along), math.sin(along), 0.0]) * rng.uniform(8.0, 20.0)
    crown_line = np.array([[0.0, 0.0, 14.0], [0.0, 0.0, 22.0]])
    crown_line = np.concatenate([crown_line - ridge, crown_line + ridge])
    bodies = [_string(crown_line, np.full(4, rng.uniform(11.0, 16.0)))]
    lengths = []
    gone: list[tuple[float, float]] = []
    fan = rng.uniform(1.2, math.pi)
    for _ in range(tubers):
        heading = along + math.pi / 2.0 + rng.uniform(-fan, fan)
        length = 90.0 * rng.lognormal(0.0, 0.22)
        belly = length * rng.uniform(0.11, 0.20)
        foot = ridge * rng.uniform(-1.0, 1.0)
        across = sum(abs(math.remainder(heading - h, 2.0 * math.pi)) < 0.45 for h, _ in gone)
        lies_on = max(
            (b for h, b in gone if abs(math.remainder(heading - h, 2 * math.pi)) < 0.45),
            default=0.0,
        )
        gone.append((heading, belly))
        s = np.linspace(0.02, 0.98, 12)
        fullest = rng.uniform(0.35, 0.6)
        skewed = np.where(s < fullest, s / fullest, (1.0 - s) / (1.0 - fullest))
        radius = belly * np.sqrt(np.maximum(1.0 - (1.0 - skewed) ** 2, 0.03))
        # The belly rests on the bench, or on the tuber that it lies across; the tip sinks again.
        rest = belly + (1.2 * lies_on if across else 0.0)
        end = max(float(radius[-1]), rest * rng.uniform(0.35, 1.0))
        z = np.interp(s, [0.0, fullest, 1.0], [16.0, rest, end])
        out = 9.0 + length * s
        bend = heading + rng.normal(0.0, 0.12) * s
        line = foot + np.column_stack([out * np.cos(bend), out * np.sin(bend), z])
        bodies.append(_string(line, radius))
        lengths.append(length)
    made = Clump(bodies=tuple(bodies), lengths_mm=tuple(lengths))
    scale = spread_mm / made.spread_mm
    return Clump(
        bodies=tuple(body * scale for body in bodies),
        lengths_mm=tuple(length * scale for length in lengths),
    )


def bunch_clump(*, spread_mm: float, tubers: int, seed: int) -> Clump:
    """Stiff tubers joined at a crown, put down and left to rest on the lowest three parts.

    All others stand clear of the ground, as high as they happened to grow. At what angles tubers
    grow, and how a clump is put down, is our judgement: no source gives it.
    """
    rng = np.random.default_rng([seed, 79])
    crown = rng.uniform(13.0, 20.0) * (1.0 + 0.03 * max(tubers - 6, 0))
    lines = [np.array([[0.0, 0.0, -0.3], [0.0, 0.0, 0.3]]) * crown]
    thick = [np.full(2, crown)]
    hang = rng.uniform(-30.0, 5.0)
    lengths: list[float] = []
    ways: list[Floats] = []
    for _ in range(tubers):
        length = 92.0 * rng.lognormal(0.0, 0.2)
        belly = length * rng.uniform(0.11, 0.19)
        # Of some ways to grow the one with most room beside those that are there already.
        tried = [_way(rng.uniform(0, 360), rng.normal(hang, 7.0)) for _ in range(6)]
        way = max(tried, key=lambda w: min((float(np.linalg.norm(w - o)) for o in ways), default=0))
        ways.append(way)
        s = np.linspace(0.0, 1.0, 12)
        fullest = rng.uniform(0.35, 0.6)
        rounded = np.sin(np.pi / 2 * np.where(s < fullest, s / fullest, (1 - s) / (1 - fullest)))
        radius = belly * np.maximum(rounded, 0.3 - 0.12 * s) ** 0.8
        aside = rng.normal(0.0, 0.1, 3) * length
        lines.append((0.55 * crown + length * s)[:, None] * way + (s**2)[:, None] * aside)
        thick.append(radius)
        lengths.append(length)
    tilt, towards = np.radians([rng.normal(0.0, 8.0), rng.uniform(0, 360)])
    if rng.random() < 0.1:
        tilt += math.pi
    down = np.array(
        [math.sin(tilt) * math.cos(towards), math.sin(tilt) * math.sin(towards), -math.cos(tilt)]
    )
    turn = _at_rest(np.concatenate(lines), np.concatenate(thick), down=down)
    bodies = [_string(line @ turn.T, radius) for line, radius in zip(lines, thick, strict=True)]
    lowest = np.array([0.0, 0.0, min(float(body[:, 2].min()) for body in bodies)])
    made = Clump(bodies=tuple(body - lowest for body in bodies), lengths_mm=tuple(lengths))
    scale = spread_mm / made.spread_mm
    return Clump(
        bodies=tuple(body * scale for body in made.bodies),
        lengths_mm=tuple(length * scale for length in lengths),
    )


def _way(heading_deg: float, upwards_deg: float) -> Floats:
    """(3,) unit vector."""
    heading, up = math.radians(heading_deg), math.radians(upwards_deg)
    flat = math.cos(up)
    return np.array([flat * math.cos(heading), flat * math.sin(heading), math.sin(up)])


def _at_rest(line: Floats, radius: Floats, *, down: Floats) -> Floats:
    """(3, 3) rotation that lays balls, put down with ``down`` below, where they come to rest.

    A stiff body rolls for as long as that brings its centre of gravity lower.
    """
    weight = radius**2 / np.sum(radius**2)
    skin = _string(line, radius) - weight @ line
    skin = skin[ConvexHull(skin).vertices]
    step = math.radians(12.0)
    while step > math.radians(0.02):
        side = np.cross(down, [1.0, 0.0, 0.0] if abs(down[0]) < 0.7 else [0.0, 1.0, 0.0])
        side /= np.linalg.norm(side)
        around = np.arange(12) * (2.0 * math.pi / 12)
        aside = np.outer(np.cos(around), side) + np.outer(np.sin(around), np.cross(down, side))
        tried = np.concatenate([down[None], math.cos(step) * down + math.sin(step) * aside])
        best = int(np.argmin((skin @ tried.T).max(axis=0)))
        down = tried[best]
        if best == 0:
            step /= 2.0
    ahead = np.cross([0.0, 1.0, 0.0] if abs(down[1]) < 0.7 else [1.0, 0.0, 0.0], down)
    ahead /= np.linalg.norm(ahead)
    return np.array([ahead, np.cross(ahead, down), -down])


def _string(line: Floats, radius: Floats) -> Floats:
    """Points of balls along a line, spread over each as a spiral (``Clump.POINTS_A_BALL`` each)."""
    count = Clump.POINTS_A_BALL
    z = 1.0 - 2.0 * (np.arange(count) + 0.5) / count
    turn = np.arange(count) * math.pi * (3.0 - math.sqrt(5.0))
    flat = np.sqrt(1.0 - z * z)
    ball = np.column_stack([flat * np.cos(turn), flat * np.sin(turn), z])
    placed: Floats = (line[:, None] + radius[:, None, None] * ball).reshape(-1, 3)
    return placed
