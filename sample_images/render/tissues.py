"""Materials that grow: petals, disc, tuber skin, leaves."""

from __future__ import annotations

import bpy
from nodes import Nodes
from petal_colours import Palette

__all__ = ["PALETTES", "disc", "leaf", "petal", "skin"]

PALETTES: dict[int, Palette] = {
    31: {"foot": (0.86, 0.52, 0.13), "middle": (0.86, 0.37, 0.11), "tip": (0.83, 0.27, 0.11)},
    32: {"foot": (0.26, 0.007, 0.011), "middle": (0.36, 0.010, 0.016), "tip": (0.46, 0.022, 0.030)},
    33: {"foot": (0.80, 0.52, 0.03), "middle": (0.82, 0.63, 0.10), "tip": (0.84, 0.78, 0.50)},
    34: {"foot": (0.52, 0.06, 0.20), "middle": (0.70, 0.16, 0.36), "tip": (0.76, 0.27, 0.47)},
}


def petal(palette: Palette, name: str) -> bpy.types.Material:
    n = Nodes(name)
    along, _, chance = n.attribute()
    streak = n.noise(n.stretched(n.uv, (2.0, 42.0, 1.0)), 1.0, detail=3.0)
    spot = n.noise(n.here, 90.0, detail=3.0)
    fac = n.maths("ADD", along, n.maths("MULTIPLY", n.maths("SUBTRACT", streak, 0.5), 0.35))
    colour = n.ramp(fac, [(0.0, palette["foot"]), (0.48, palette["middle"]), (1.0, palette["tip"])])
    shade = n.maths("ADD", 0.90, n.maths("MULTIPLY", chance, 0.18))
    colour = n.mix(1.0, colour, n.ramp(shade, [(0.0, (0, 0, 0)), (1.0, (1, 1, 1))]), "MULTIPLY")
    colour = n.mix(n.maths("MULTIPLY", spot, 0.18), colour, palette["foot"])
    veins = n.bump(streak, strength=0.5, depth_mm=0.7)
    skin = n.add(
        "BsdfPrincipled",
        Base_Color=colour,
        Roughness=0.46,
        Normal=veins,
        Sheen_Weight=0.18,
        Sheen_Roughness=0.4,
    )
    skin.inputs["Specular IOR Level"].default_value = 0.28
    through = n.add("BsdfTranslucent", Color=n.mix(0.5, colour, palette["tip"]), Normal=veins)
    return n.surface(
        n.add("MixShader", Fac=0.34, i1=skin.outputs[0], i2=through.outputs[0]).outputs[0]
    )


def disc() -> bpy.types.Material:
    n = Nodes("disc")
    colour = n.add("Attribute", set_attribute_name="tint").outputs["Color"]
    return n.surface(n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.6).outputs[0])


def skin() -> bpy.types.Material:
    """Tuber skin: tan to brown, wrinkled across, with soil dried on in patches."""
    n = Nodes("skin")
    shade, along, chance = n.attribute()
    wrinkle = n.noise(n.stretched(n.uv, (0.42, 0.7, 1.0)), 1.0, detail=5.0, rough=0.62, warp=0.4)
    fine = n.noise(n.here, 900.0, detail=4.0)
    patch = n.noise(n.here, 62.0, detail=7.0, rough=0.66)
    base = n.ramp(
        n.maths(
            "ADD",
            n.maths("MULTIPLY", shade, 0.7),
            n.maths("MULTIPLY", n.maths("SUBTRACT", wrinkle, 0.3), 0.55),
        ),
        [
            (0.12, (0.075, 0.036, 0.017)),
            (0.42, (0.20, 0.105, 0.048)),
            (0.68, (0.34, 0.195, 0.092)),
            (1.0, (0.47, 0.30, 0.155)),
        ],
    )
    base = n.mix(n.maths("MULTIPLY", chance, 0.30), base, (0.27, 0.125, 0.06))
    earth = n.ramp(patch, [(0.44, (0, 0, 0)), (0.57, (1, 1, 1))])
    towards = n.ramp(
        along,
        [
            (0.0, (1, 1, 1)),
            (0.20, (0.4, 0.4, 0.4)),
            (0.6, (0.25, 0.25, 0.25)),
            (1.0, (0.8, 0.8, 0.8)),
        ],
    )
    muddy = n.mix(1.0, earth, n.maths("ADD", 0.42, n.maths("MULTIPLY", towards, 0.5)), "MULTIPLY")
    soil = n.ramp(fine, [(0.3, (0.032, 0.021, 0.013)), (0.7, (0.105, 0.072, 0.045))])
    colour = n.mix(muddy, base, soil)
    normal = n.bump(wrinkle, strength=0.75, depth_mm=1.5)
    normal = n.bump(
        n.maths("ADD", fine, n.maths("MULTIPLY", earth, 1.2)),
        strength=0.55,
        depth_mm=0.8,
        normal=normal,
    )
    rough = n.maths("ADD", 0.58, n.maths("MULTIPLY", muddy, 0.32))
    skin = n.add("BsdfPrincipled", Base_Color=colour, Roughness=rough, Normal=normal)
    skin.inputs["Specular IOR Level"].default_value = 0.30
    return n.surface(skin.outputs[0])


def leaf() -> bpy.types.Material:
    n = Nodes("leaf")
    split = n.add("SeparateXYZ", i0=n.uv)
    side = n.maths("ABSOLUTE", n.maths("SUBTRACT", split.outputs[1], 0.5))
    slant = n.maths("SUBTRACT", split.outputs[0], n.maths("MULTIPLY", side, 0.75))
    veins = n.maths("ABSOLUTE", n.maths("SINE", n.maths("MULTIPLY", slant, 44.0)))
    rib = n.ramp(side, [(0.0, (1, 1, 1)), (0.035, (0, 0, 0))])
    vein = n.mix(1.0, n.ramp(veins, [(0.0, (0.8, 0.8, 0.8)), (0.16, (0, 0, 0))]), rib, "LIGHTEN")
    _, _, chance = n.attribute()
    mottle = n.noise(n.here, 60.0, detail=4.0)
    green = n.ramp(
        n.maths("ADD", n.maths("MULTIPLY", chance, 0.6), n.maths("MULTIPLY", mottle, 0.4)),
        [(0.1, (0.022, 0.062, 0.012)), (0.55, (0.045, 0.115, 0.018)), (0.95, (0.11, 0.17, 0.03))],
    )
    colour = n.mix(n.maths("MULTIPLY", vein, 0.45), green, (0.16, 0.24, 0.07))
    normal = n.bump(n.maths("MULTIPLY", vein, -1.0), strength=0.6, depth_mm=1.0)
    face = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.42, Normal=normal)
    through = n.add("BsdfTranslucent", Color=n.mix(0.6, colour, (0.25, 0.40, 0.03)))
    return n.surface(
        n.add("MixShader", Fac=0.30, i1=face.outputs[0], i2=through.outputs[0]).outputs[0]
    )
