"""Dahlia seeds as meshes: dark, oblong, a little wider at one end; spread out, or in a heap."""

from __future__ import annotations

import numpy as np
from meshes import Floats, Mesh, moved, rotation, tube

__all__ = ["heaped_seeds", "spread_seeds"]


def _seed(rng: np.random.Generator) -> Mesh:
    """One seed along x about the origin, lying on z = 0; about 9.5 x 2.8 x 1.5 mm."""
    long = 9.5 * float(np.clip(rng.normal(1, 0.09), 0.75, 1.25))
    wide = 1.4 * float(np.clip(rng.normal(1, 0.12), 0.7, 1.3))
    s = np.linspace(0, 1, 18)
    bow = rng.normal(0, 0.35) * np.sin(np.pi * s)
    line = np.column_stack([(s - 0.5) * long, bow, np.full(18, 0.55 * wide)])
    shape = np.sin(np.pi * np.clip(s, 0.02, 0.985) ** rng.uniform(0.75, 0.95)) ** 0.55
    skin = tube(line, wide * shape, part="seed", material="seed", sides=14, flatten=0.55)
    return moved(skin, rotation("x", rng.normal(0, 9)))


def spread_seeds(
    rng: np.random.Generator, count: int, *, low: Floats, high: Floats, apart_mm: float = 11.5
) -> list[Mesh]:
    """Seeds lying by themselves between two corners (x, y); ``ValueError`` where they don't fit."""
    spots: list[Floats] = []
    for _ in range(20_000):
        spot = rng.uniform(low, high)
        if all(np.hypot(*(spot - other)) >= apart_mm for other in spots):
            spots.append(spot)
        if len(spots) == count:
            return [
                moved(_seed(rng), rotation("z", rng.uniform(0, 360)), (*spot, -2.0))
                for spot in spots
            ]
    msg = f"only {len(spots)} of {count} seeds fit there"
    raise ValueError(msg)


def heaped_seeds(rng: np.random.Generator, count: int, *, middle: Floats) -> list[Mesh]:
    """Seeds poured out on one spot, lying on one another."""
    made = []
    for k in range(count):
        out = rng.normal(0, 13, 2)
        high = max(0.0, 12.0 * (1 - np.hypot(*out) / 26) * k / count)
        lean = rotation("z", rng.uniform(0, 360)) @ rotation("y", rng.normal(0, 14))
        made.append(moved(_seed(rng), lean, (*(middle + out), high - 1.6)))
    return made
