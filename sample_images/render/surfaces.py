"""The material of every object by its name, and the printed page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy
from bench_tops import concrete, damp_soil, sacking, sheet, slate, wood
from nodes import Nodes, mottled
from petal_colours import COLOURS
from tissues import PALETTES, disc, leaf, petal, skin

__all__ = ["material_for"]


def _print(name: str, picture: Path) -> bpy.types.Material:
    """Ink on matt paper: the printed page as it is, greyed as paper and ink are."""
    n = Nodes(name)
    image = bpy.data.images.load(str(picture), check_existing=True)
    image.colorspace_settings.name = "sRGB"
    ink = n.add(
        "TexImage", Vector=n.uv, set_image=image, set_interpolation="Linear", set_extension="EXTEND"
    ).outputs["Color"]
    fibre = n.noise(n.here, 2500.0, detail=2.0)
    smudge = n.noise(n.here, 11.0, detail=6.0, rough=0.65)
    colour = n.ramp(ink, [(0.0, (0.018, 0.018, 0.020)), (1.0, (0.80, 0.795, 0.775))])
    dirt = n.maths("MULTIPLY", n.ramp(smudge, [(0.50, (0, 0, 0)), (0.82, (1, 1, 1))]), 0.42)
    colour = n.mix(dirt, colour, n.mix(1.0, colour, (0.60, 0.50, 0.38), "MULTIPLY"))
    paper = n.add(
        "BsdfPrincipled",
        Base_Color=colour,
        Roughness=0.8,
        Normal=n.bump(fibre, strength=0.25, depth_mm=0.1),
    )
    paper.inputs["Specular IOR Level"].default_value = 0.2
    return n.surface(paper.outputs[0])


def material_for(name: str, *, textures: Path, tag: int) -> bpy.types.Material:
    """The material of this name, made once; ``petal`` takes the colours of the shot's seedling."""
    if name in bpy.data.materials:
        return bpy.data.materials[name]
    if name.startswith("print "):
        return _print(name, textures / f"{name.removeprefix('print ')}.png")
    if name == "petal":
        return petal(PALETTES[tag], name)
    if name.startswith("petal "):
        return petal(COLOURS[name.removeprefix("petal ")], name)
    made = {
        "disc": disc,
        "skin": skin,
        "leaf": leaf,
        "wood": wood,
        "sacking": sacking,
        "slate": slate,
        "concrete": concrete,
        "sheet": sheet,
        "damp soil": damp_soil,
    }
    if name in made:
        return made[name]()
    plain: dict[str, dict[str, Any]] = {
        "root": {"low": (0.10, 0.06, 0.03), "high": (0.24, 0.15, 0.08), "scale": 300.0},
        "stalk": {
            "low": (0.14, 0.12, 0.045),
            "high": (0.28, 0.21, 0.10),
            "scale": 60.0,
            "stretch": (3, 3, 0.4),
        },
        "pith": {"low": (0.20, 0.16, 0.08), "high": (0.48, 0.42, 0.27), "scale": 200.0},
        "soil": {
            "low": (0.028, 0.018, 0.011),
            "high": (0.085, 0.057, 0.036),
            "scale": 500.0,
            "rough": 0.95,
        },
        "stone": {"low": (0.16, 0.15, 0.13), "high": (0.34, 0.32, 0.28), "scale": 120.0},
        "straw": {"low": (0.30, 0.20, 0.08), "high": (0.50, 0.38, 0.18), "scale": 90.0},
        "dry leaf": {
            "low": (0.075, 0.038, 0.014),
            "high": (0.22, 0.115, 0.04),
            "scale": 90.0,
            "depth_mm": 1.0,
        },
        "string": {
            "low": (0.30, 0.23, 0.13),
            "high": (0.50, 0.41, 0.27),
            "scale": 900.0,
            "rough": 0.95,
        },
        "stem": {
            "low": (0.045, 0.085, 0.018),
            "high": (0.10, 0.135, 0.035),
            "scale": 60.0,
            "rough": 0.5,
        },
        "cane": {
            "low": (0.33, 0.23, 0.09),
            "high": (0.52, 0.40, 0.19),
            "scale": 40.0,
            "stretch": (6, 1, 6),
            "rough": 0.5,
        },
        "peg": {
            "low": (0.42, 0.27, 0.13),
            "high": (0.60, 0.43, 0.24),
            "scale": 90.0,
            "stretch": (1, 8, 8),
            "rough": 0.6,
        },
        "wire": {
            "low": (0.35, 0.35, 0.36),
            "high": (0.45, 0.45, 0.46),
            "scale": 80.0,
            "rough": 0.35,
        },
        "board edge": {"low": (0.30, 0.25, 0.19), "high": (0.40, 0.34, 0.26), "scale": 300.0},
        "far red": {"low": (0.30, 0.01, 0.02), "high": (0.42, 0.03, 0.04), "scale": 40.0},
        "far pink": {"low": (0.55, 0.10, 0.25), "high": (0.75, 0.30, 0.45), "scale": 40.0},
        "far yellow": {"low": (0.70, 0.42, 0.03), "high": (0.85, 0.60, 0.10), "scale": 40.0},
        "hand": {
            "low": (0.44, 0.22, 0.14),
            "high": (0.58, 0.32, 0.22),
            "scale": 45.0,
            "rough": 0.55,
        },
        "paper": {"low": (0.74, 0.74, 0.73), "high": (0.80, 0.80, 0.79), "scale": 25.0},
        "seed": {"low": (0.016, 0.011, 0.008), "high": (0.060, 0.042, 0.030), "scale": 700.0},
        "wall": {"low": (0.42, 0.33, 0.25), "high": (0.56, 0.46, 0.37), "scale": 14.0},
        "dark": {"low": (0.010, 0.018, 0.006), "high": (0.035, 0.055, 0.016), "scale": 3.0},
        "box": {
            "low": (0.17, 0.115, 0.065),
            "high": (0.34, 0.25, 0.155),
            "scale": 30.0,
            "stretch": (1.0, 12.0, 12.0),
        },
    }
    return mottled(name, **plain[name])
