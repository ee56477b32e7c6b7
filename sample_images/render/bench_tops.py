"""Materials of what things are laid on: planks, sacking, slate, concrete, a sheet, damp soil."""

from __future__ import annotations

import bpy
from nodes import Nodes

__all__ = ["concrete", "damp_soil", "sacking", "sheet", "slate", "wood"]


def wood() -> bpy.types.Material:
    """Old bench planks: grey-brown grain along x, stains, dirt in the grain."""
    n = Nodes("wood")
    tint, _, chance = n.attribute()
    shift = n.add(
        "CombineXYZ", X=n.maths("MULTIPLY", chance, 7.0), Y=n.maths("MULTIPLY", tint, 5.0), Z=0.0
    ).outputs[0]
    place = n.add("VectorMath", set_operation="ADD", i0=n.here, i1=shift).outputs[0]
    bend = n.noise(n.stretched(place, (3.0, 14.0, 3.0)), 1.0, detail=2.0)
    warped = n.add(
        "VectorMath",
        set_operation="ADD",
        i0=place,
        i1=n.add("CombineXYZ", Y=n.maths("MULTIPLY", bend, 0.022)).outputs[0],
    ).outputs[0]
    grain = n.noise(n.stretched(warped, (3.5, 190.0, 60.0)), 1.0, detail=8.0, rough=0.62)
    fibre = n.noise(n.stretched(warped, (26.0, 1500.0, 300.0)), 1.0, detail=3.0)
    stain = n.noise(place, 6.0, detail=5.0)
    both = n.maths("ADD", n.maths("MULTIPLY", grain, 0.55), n.maths("MULTIPLY", fibre, 0.45))
    check = n.noise(n.stretched(warped, (2.2, 75.0, 20.0)), 1.0, detail=3.0)
    split = n.ramp(check, [(0.30, (1, 1, 1)), (0.335, (0, 0, 0))])
    colour = n.ramp(
        both,
        [
            (0.34, (0.052, 0.037, 0.027)),
            (0.47, (0.155, 0.115, 0.082)),
            (0.60, (0.27, 0.215, 0.16)),
            (0.8, (0.36, 0.30, 0.235)),
        ],
    )
    colour = n.mix(
        n.maths("MULTIPLY", n.ramp(stain, [(0.45, (0, 0, 0)), (0.75, (1, 1, 1))]), 0.55),
        colour,
        (0.085, 0.062, 0.045),
    )
    colour = n.mix(
        1.0,
        colour,
        n.ramp(tint, [(0.0, (0.72, 0.70, 0.68)), (1.0, (1.08, 1.02, 0.95))]),
        "MULTIPLY",
    )
    colour = n.mix(n.maths("MULTIPLY", split, 0.8), colour, (0.018, 0.013, 0.010))
    normal = n.bump(n.maths("SUBTRACT", both, split), strength=0.8, depth_mm=1.2)
    wood = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.74, Normal=normal)
    wood.inputs["Specular IOR Level"].default_value = 0.3
    return n.surface(wood.outputs[0])


def sacking() -> bpy.types.Material:
    """Jute: two crossing sets of uneven threads with dark holes between them."""
    n = Nodes("sacking")
    split = n.add("SeparateXYZ", i0=n.uv)
    drift = n.noise(n.uv, 0.035, detail=4.0)
    fray = n.noise(n.uv, 0.9, detail=2.0)
    pitch = 2 * 3.14159265 / 2.6
    threads = []
    for axis in (0, 1):
        waver = n.maths("ADD", n.maths("MULTIPLY", drift, 9.0), n.maths("MULTIPLY", fray, 0.8))
        across = n.maths("MULTIPLY", n.maths("ADD", split.outputs[axis], waver), pitch / 2)
        threads.append(n.maths("ABSOLUTE", n.maths("SINE", across)))
    over = n.maths(
        "MULTIPLY",
        n.maths("SINE", n.maths("MULTIPLY", split.outputs[0], pitch / 2)),
        n.maths("SINE", n.maths("MULTIPLY", split.outputs[1], pitch / 2)),
    )
    lift = n.maths("ADD", 0.5, n.maths("MULTIPLY", over, 0.5))
    height = n.mix(lift, threads[0], threads[1])
    gap = n.maths("MAXIMUM", threads[0], threads[1])
    hair = n.noise(n.stretched(n.uv, (0.35, 2.2, 1.0)), 1.0, detail=5.0)
    patch = n.noise(n.uv, 0.012, detail=5.0)
    tone = n.maths("ADD", n.maths("MULTIPLY", hair, 0.6), n.maths("MULTIPLY", patch, 0.5))
    colour = n.ramp(
        tone,
        [(0.32, (0.12, 0.075, 0.038)), (0.55, (0.27, 0.18, 0.098)), (0.78, (0.40, 0.29, 0.175))],
    )
    colour = n.mix(
        n.ramp(gap, [(0.25, (1, 1, 1)), (0.62, (0, 0, 0))]), colour, (0.02, 0.013, 0.008)
    )
    normal = n.bump(
        n.maths("ADD", height, n.maths("MULTIPLY", hair, 0.4)), strength=0.9, depth_mm=1.1
    )
    return n.surface(
        n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.92, Normal=normal).outputs[0]
    )


def slate() -> bpy.types.Material:
    n = Nodes("slate")
    layers = n.noise(n.stretched(n.here, (9.0, 9.0, 3.0)), 1.0, detail=9.0, rough=0.6, warp=0.7)
    grit = n.noise(n.here, 420.0, detail=5.0)
    dust = n.noise(n.here, 17.0, detail=8.0, rough=0.7)
    scratch = n.noise(n.stretched(n.here, (12.0, 420.0, 1.0)), 1.0, detail=2.0)
    colour = n.ramp(
        n.maths("ADD", n.maths("MULTIPLY", layers, 0.7), n.maths("MULTIPLY", grit, 0.3)),
        [(0.3, (0.036, 0.041, 0.048)), (0.55, (0.070, 0.077, 0.086)), (0.8, (0.125, 0.130, 0.135))],
    )
    colour = n.mix(
        n.maths("MULTIPLY", n.ramp(dust, [(0.50, (0, 0, 0)), (0.72, (1, 1, 1))]), 0.45),
        colour,
        (0.17, 0.14, 0.11),
    )
    colour = n.mix(
        n.maths("MULTIPLY", n.ramp(scratch, [(0.68, (0, 0, 0)), (0.74, (1, 1, 1))]), 0.25),
        colour,
        (0.2, 0.2, 0.2),
    )
    steps = n.ramp(
        layers,
        [
            (0.42, (0.2, 0.2, 0.2)),
            (0.46, (0.5, 0.5, 0.5)),
            (0.56, (0.55, 0.55, 0.55)),
            (0.59, (0.9, 0.9, 0.9)),
        ],
    )
    normal = n.bump(
        n.maths("ADD", steps, n.maths("MULTIPLY", grit, 0.25)), strength=0.6, depth_mm=2.2
    )
    stone = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.56, Normal=normal)
    stone.inputs["Specular IOR Level"].default_value = 0.4
    return n.surface(stone.outputs[0])


def concrete() -> bpy.types.Material:
    """A cast floor: pale grey, blotched by damp, pitted, with sand showing."""
    n = Nodes("concrete")
    blotch = n.noise(n.here, 9.0, detail=5.0, rough=0.6)
    sand = n.noise(n.here, 700.0, detail=2.0)
    pits = n.ramp(n.noise(n.here, 130.0, detail=2.0), [(0.27, (1, 1, 1)), (0.31, (0, 0, 0))])
    tone = n.maths("ADD", n.maths("MULTIPLY", blotch, 0.75), n.maths("MULTIPLY", sand, 0.25))
    colour = n.ramp(
        tone,
        [(0.32, (0.15, 0.145, 0.135)), (0.52, (0.30, 0.29, 0.27)), (0.72, (0.42, 0.41, 0.385))],
    )
    colour = n.mix(n.maths("MULTIPLY", pits, 0.7), colour, (0.07, 0.065, 0.06))
    normal = n.bump(n.maths("SUBTRACT", sand, pits), strength=0.5, depth_mm=0.8)
    return n.surface(
        n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.85, Normal=normal).outputs[0]
    )


def sheet() -> bpy.types.Material:
    """A washed cotton sheet: off-white, finely woven, with old stains."""
    n = Nodes("sheet")
    weave = n.noise(n.stretched(n.uv, (2.2, 0.35, 1.0)), 1.0, detail=2.0)
    stain = n.noise(n.uv, 0.011, detail=4.0, rough=0.6)
    colour = n.ramp(weave, [(0.3, (0.56, 0.56, 0.55)), (0.7, (0.70, 0.70, 0.685))])
    marks = n.ramp(stain, [(0.55, (0, 0, 0)), (0.75, (1, 1, 1))])
    colour = n.mix(n.maths("MULTIPLY", marks, 0.45), colour, (0.42, 0.35, 0.26))
    normal = n.bump(weave, strength=0.3, depth_mm=0.4)
    return n.surface(
        n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.9, Normal=normal).outputs[0]
    )


def damp_soil() -> bpy.types.Material:
    """Dug ground after rain: dark crumbs, lighter where they have dried."""
    n = Nodes("damp soil")
    crumbs = n.noise(n.here, 210.0, detail=4.0, rough=0.65)
    clods = n.noise(n.here, 38.0, detail=3.0)
    tone = n.maths("ADD", n.maths("MULTIPLY", crumbs, 0.6), n.maths("MULTIPLY", clods, 0.4))
    colour = n.ramp(
        tone,
        [(0.33, (0.018, 0.012, 0.008)), (0.52, (0.052, 0.035, 0.023)), (0.72, (0.13, 0.09, 0.06))],
    )
    normal = n.bump(crumbs, strength=0.9, depth_mm=2.2)
    return n.surface(
        n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.8, Normal=normal).outputs[0]
    )
