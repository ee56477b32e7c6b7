"""Every form of bloom in its own colours, in either of the two ways of building."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from bloom_shapes import bloom
from meshes import Mesh, tube
from whorls import WHORL_FORMS, whorl_bloom

__all__ = ["FORMS", "bloom_of"]

FORMS = tuple(WHORL_FORMS)
"""The forms that can be built, in both ways."""

_GOLDEN = np.pi * (3 - np.sqrt(5))


def _collar(rng: np.random.Generator, radius: float) -> Mesh:
    """A ruff of short narrow petals round the disc: the single's own petals, made small."""
    small = bloom(form="single", seed=int(rng.integers(1 << 30)), widest_mm=2 * radius * 0.5)
    petals = small.parts[0]
    sets = []
    for turn in (0.0, np.pi / 8):
        c, s = np.cos(turn), np.sin(turn)
        spun = petals.points @ np.array([[c, s, 0.0], [-s, c, 0.0], [0, 0, 1.0]])
        spun[:, 2] = spun[:, 2] * 2.2 + 0.16 * radius
        sets.append(spun)
    count = len(petals.points)
    assert petals.uv is not None
    assert petals.colour is not None
    return replace(
        petals,
        material="collar",
        points=np.vstack(sets),
        quads=np.vstack([petals.quads, petals.quads + count]),
        uv=np.vstack([petals.uv] * 2),
        colour=np.vstack([petals.colour] * 2),
    )


def _cushion(rng: np.random.Generator, radius: float) -> list[Mesh]:
    """An anemone-flowered bloom's dome of open tubes over its disc."""
    made = []
    for k in range(190):
        q = np.sqrt((k + 0.5) / 190)
        turn = k * _GOLDEN + rng.normal(0, 0.05)
        lean = 0.95 * q
        way = np.array([np.sin(lean) * np.cos(turn), np.sin(lean) * np.sin(turn), np.cos(lean)])
        s = np.linspace(0, 1, 5)
        base = np.array([0.0, 0.0, 0.1 * radius]) + 0.18 * radius * way * [1, 1, 0.4]
        tall = radius * (0.36 - 0.05 * q) * rng.uniform(0.92, 1.08)
        line = base + s[:, None] * way * tall
        thick = radius * 0.022 * np.array([0.8, 0.9, 1.0, 1.25, 1.0])
        shade = rng.uniform(0.8, 1.0)
        made.append(
            tube(line, thick, part="disc", material="disc", sides=6,
                 colour=(0.80 * shade, 0.50 * shade, 0.08))
        )  # fmt: skip
    return made


def _spiral(form: str, seed: int, widest_mm: float, openness: float) -> tuple[Mesh, ...]:
    plain = "single" if form in ("collerette", "anemone") else form
    parts = list(bloom(form=plain, seed=seed, widest_mm=widest_mm, openness=openness).parts)
    rng = np.random.default_rng(seed + 3)
    if form == "collerette":
        parts.append(_collar(rng, widest_mm / 2))
    if form == "anemone":
        parts += _cushion(rng, widest_mm / 2)
    return tuple(parts)


def bloom_of(
    *, form: str, build: str, colour: str, seed: int, widest_mm: float, openness: float = 1.0
) -> tuple[Mesh, ...]:
    """A bloom's parts, axis along +z, back at z = 0, about ``widest_mm`` across.

    ``build`` is "spiral" (tips on a spheroid in golden-angle order) or "whorl"; ``colour`` names
    one of ``petal_colours.COLOURS``.
    """
    parts = (
        whorl_bloom(form=form, seed=seed, widest_mm=widest_mm)
        if build == "whorl"
        else _spiral(form, seed, widest_mm, openness)
    )
    named = {"petal": f"petal {colour}", "collar": "petal cream"}
    return tuple(replace(m, material=named.get(m.material, m.material)) for m in parts)
