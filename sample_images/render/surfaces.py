"""Materials for the renderer: petals, skins, leaves, bench wood, sacking, slate, print, soil."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import bpy

__all__ = ["Palette", "material_for"]

MM = 0.001

Palette = dict[str, tuple[float, float, float]]
"""A bloom's colours, linear: foot, middle, tip of the petals, and their back."""

PALETTES: dict[int, Palette] = {
    31: {"foot": (0.86, 0.52, 0.13), "middle": (0.86, 0.37, 0.11), "tip": (0.83, 0.27, 0.11)},
    32: {"foot": (0.26, 0.007, 0.011), "middle": (0.36, 0.010, 0.016), "tip": (0.46, 0.022, 0.030)},
    33: {"foot": (0.80, 0.52, 0.03), "middle": (0.82, 0.63, 0.10), "tip": (0.84, 0.78, 0.50)},
    34: {"foot": (0.52, 0.06, 0.20), "middle": (0.70, 0.16, 0.36), "tip": (0.76, 0.27, 0.47)},
}


class Nodes:
    """A material's node tree with short words for what is used here."""

    def __init__(self, name: str) -> None:
        self.material = bpy.data.materials.new(name)
        self.material.use_nodes = True
        self.tree = self.material.node_tree
        self.tree.nodes.clear()
        self.out = self.tree.nodes.new("ShaderNodeOutputMaterial")

    def add(self, kind: str, **values: Any) -> Any:
        """A node with its inputs set by name; sockets are linked, other values stored."""
        node = self.tree.nodes.new(f"ShaderNode{kind}")
        for key, value in values.items():
            if key.startswith("set_"):
                setattr(node, key[4:], value)
                continue
            place = int(key[1:]) if key[0] == "i" and key[1:].isdigit() else key.replace("_", " ")
            socket = node.inputs[place]
            if isinstance(value, bpy.types.NodeSocket):
                self.tree.links.new(value, socket)
            elif isinstance(value, tuple) and len(value) == 3 and socket.type == "RGBA":
                socket.default_value = (*value, 1.0)
            else:
                socket.default_value = value
        return node

    def ramp(self, fac: Any, stops: list[tuple[float, tuple[float, float, float]]]) -> Any:
        node = self.add("ValToRGB", Fac=fac)
        ramp = node.color_ramp
        while len(ramp.elements) < len(stops):
            ramp.elements.new(0.5)
        for element, (at, colour) in zip(ramp.elements, stops, strict=True):
            element.position, element.color = at, (*colour, 1.0)
        return node.outputs["Color"]

    def noise(self, vector: Any, scale: float, *, detail: float = 6.0, rough: float = 0.55, warp: float = 0.0) -> Any:
        return self.add("TexNoise", Vector=vector, Scale=scale, Detail=detail, Roughness=rough, Distortion=warp).outputs["Fac"]

    def stretched(self, vector: Any, scale: tuple[float, float, float]) -> Any:
        return self.add("Mapping", Vector=vector, Scale=scale).outputs["Vector"]

    def maths(self, operation: str, a: Any, b: Any = 0.0) -> Any:
        return self.add("Math", set_operation=operation, i0=a, i1=b).outputs[0]

    def mix(self, fac: Any, a: Any, b: Any, blend: str = "MIX") -> Any:
        return self.add("MixRGB", set_blend_type=blend, Fac=fac, Color1=a, Color2=b).outputs["Color"]

    def bump(self, height: Any, *, strength: float, depth_mm: float, normal: Any = None) -> Any:
        node = self.add("Bump", Height=height, Strength=strength, Distance=depth_mm * MM)
        if normal is not None:
            self.tree.links.new(normal, node.inputs["Normal"])
        return node.outputs["Normal"]

    def surface(self, shader: Any) -> bpy.types.Material:
        self.tree.links.new(shader, self.out.inputs["Surface"])
        return self.material

    @property
    def here(self) -> Any:
        """Position in metres, in object coordinates (objects sit at the origin)."""
        return self.add("TexCoord").outputs["Object"]

    @property
    def uv(self) -> Any:
        return self.add("TexCoord").outputs["UV"]

    def attribute(self) -> tuple[Any, Any, Any]:
        split = self.add("SeparateXYZ", i0=self.add("Attribute", set_attribute_name="tint").outputs["Vector"])
        return split.outputs[0], split.outputs[1], split.outputs[2]


def _petal(palette: Palette, name: str) -> bpy.types.Material:
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
        "BsdfPrincipled", Base_Color=colour, Roughness=0.46, Normal=veins, Sheen_Weight=0.18, Sheen_Roughness=0.4,
    )
    skin.inputs["Specular IOR Level"].default_value = 0.28
    through = n.add("BsdfTranslucent", Color=n.mix(0.5, colour, palette["tip"]), Normal=veins)
    return n.surface(n.add("MixShader", Fac=0.34, i1=skin.outputs[0], i2=through.outputs[0]).outputs[0])


def _disc() -> bpy.types.Material:
    n = Nodes("disc")
    colour = n.add("Attribute", set_attribute_name="tint").outputs["Color"]
    return n.surface(n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.6).outputs[0])


def _skin() -> bpy.types.Material:
    """Tuber skin: tan to brown, wrinkled across, with soil dried on in patches."""
    n = Nodes("skin")
    shade, along, chance = n.attribute()
    wrinkle = n.noise(n.stretched(n.uv, (0.42, 0.7, 1.0)), 1.0, detail=5.0, rough=0.62, warp=0.4)
    fine = n.noise(n.here, 900.0, detail=4.0)
    patch = n.noise(n.here, 62.0, detail=7.0, rough=0.66)
    base = n.ramp(
        n.maths("ADD", n.maths("MULTIPLY", shade, 0.7), n.maths("MULTIPLY", n.maths("SUBTRACT", wrinkle, 0.3), 0.55)),
        [(0.12, (0.075, 0.036, 0.017)), (0.42, (0.20, 0.105, 0.048)), (0.68, (0.34, 0.195, 0.092)), (1.0, (0.47, 0.30, 0.155))],
    )
    base = n.mix(n.maths("MULTIPLY", chance, 0.30), base, (0.27, 0.125, 0.06))
    earth = n.ramp(patch, [(0.44, (0, 0, 0)), (0.57, (1, 1, 1))])
    towards = n.ramp(along, [(0.0, (1, 1, 1)), (0.20, (0.4, 0.4, 0.4)), (0.6, (0.25, 0.25, 0.25)), (1.0, (0.8, 0.8, 0.8))])
    muddy = n.mix(1.0, earth, n.maths("ADD", 0.42, n.maths("MULTIPLY", towards, 0.5)), "MULTIPLY")
    soil = n.ramp(fine, [(0.3, (0.032, 0.021, 0.013)), (0.7, (0.105, 0.072, 0.045))])
    colour = n.mix(muddy, base, soil)
    normal = n.bump(wrinkle, strength=0.75, depth_mm=1.5)
    normal = n.bump(n.maths("ADD", fine, n.maths("MULTIPLY", earth, 1.2)), strength=0.55, depth_mm=0.8, normal=normal)
    rough = n.maths("ADD", 0.58, n.maths("MULTIPLY", muddy, 0.32))
    skin = n.add("BsdfPrincipled", Base_Color=colour, Roughness=rough, Normal=normal)
    skin.inputs["Specular IOR Level"].default_value = 0.30
    return n.surface(skin.outputs[0])


def _plain(name: str, low: tuple[float, float, float], high: tuple[float, float, float], *, scale: float, stretch: tuple[float, float, float] = (1, 1, 1), rough: float = 0.8, depth_mm: float = 0.4) -> bpy.types.Material:
    """Two colours by noise and a bump of the same noise."""
    n = Nodes(name)
    mottle = n.noise(n.stretched(n.here, stretch), scale, detail=7.0, rough=0.62)
    colour = n.ramp(mottle, [(0.32, low), (0.68, high)])
    shader = n.add("BsdfPrincipled", Base_Color=colour, Roughness=rough, Normal=n.bump(mottle, strength=0.7, depth_mm=depth_mm))
    shader.inputs["Specular IOR Level"].default_value = 0.25
    return n.surface(shader.outputs[0])


def _leaf() -> bpy.types.Material:
    n = Nodes("leaf")
    split = n.add("SeparateXYZ", i0=n.uv)
    side = n.maths("ABSOLUTE", n.maths("SUBTRACT", split.outputs[1], 0.5))
    slant = n.maths("SUBTRACT", split.outputs[0], n.maths("MULTIPLY", side, 0.75))
    veins = n.maths("ABSOLUTE", n.maths("SINE", n.maths("MULTIPLY", slant, 44.0)))
    rib = n.ramp(side, [(0.0, (1, 1, 1)), (0.035, (0, 0, 0))])
    vein = n.mix(1.0, n.ramp(veins, [(0.0, (0.8, 0.8, 0.8)), (0.16, (0, 0, 0))]), rib, "LIGHTEN")
    _, _, chance = n.attribute()
    mottle = n.noise(n.here, 60.0, detail=4.0)
    green = n.ramp(n.maths("ADD", n.maths("MULTIPLY", chance, 0.6), n.maths("MULTIPLY", mottle, 0.4)), [(0.1, (0.022, 0.062, 0.012)), (0.55, (0.045, 0.115, 0.018)), (0.95, (0.11, 0.17, 0.03))])
    colour = n.mix(n.maths("MULTIPLY", vein, 0.45), green, (0.16, 0.24, 0.07))
    normal = n.bump(n.maths("MULTIPLY", vein, -1.0), strength=0.6, depth_mm=1.0)
    face = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.42, Normal=normal)
    through = n.add("BsdfTranslucent", Color=n.mix(0.6, colour, (0.25, 0.40, 0.03)))
    return n.surface(n.add("MixShader", Fac=0.30, i1=face.outputs[0], i2=through.outputs[0]).outputs[0])


def _wood() -> bpy.types.Material:
    """Old bench planks: grey-brown grain along x, stains, dirt in the grain."""
    n = Nodes("wood")
    tint, _, chance = n.attribute()
    shift = n.add("CombineXYZ", X=n.maths("MULTIPLY", chance, 7.0), Y=n.maths("MULTIPLY", tint, 5.0), Z=0.0).outputs[0]
    place = n.add("VectorMath", set_operation="ADD", i0=n.here, i1=shift).outputs[0]
    bend = n.noise(n.stretched(place, (3.0, 14.0, 3.0)), 1.0, detail=2.0)
    warped = n.add("VectorMath", set_operation="ADD", i0=place, i1=n.add("CombineXYZ", Y=n.maths("MULTIPLY", bend, 0.022)).outputs[0]).outputs[0]
    grain = n.noise(n.stretched(warped, (3.5, 190.0, 60.0)), 1.0, detail=8.0, rough=0.62)
    fibre = n.noise(n.stretched(warped, (26.0, 1500.0, 300.0)), 1.0, detail=3.0)
    stain = n.noise(place, 6.0, detail=5.0)
    both = n.maths("ADD", n.maths("MULTIPLY", grain, 0.55), n.maths("MULTIPLY", fibre, 0.45))
    check = n.noise(n.stretched(warped, (2.2, 75.0, 20.0)), 1.0, detail=3.0)
    split = n.ramp(check, [(0.30, (1, 1, 1)), (0.335, (0, 0, 0))])
    colour = n.ramp(both, [(0.34, (0.052, 0.037, 0.027)), (0.47, (0.155, 0.115, 0.082)), (0.60, (0.27, 0.215, 0.16)), (0.8, (0.36, 0.30, 0.235))])
    colour = n.mix(n.maths("MULTIPLY", n.ramp(stain, [(0.45, (0, 0, 0)), (0.75, (1, 1, 1))]), 0.55), colour, (0.085, 0.062, 0.045))
    colour = n.mix(1.0, colour, n.ramp(tint, [(0.0, (0.72, 0.70, 0.68)), (1.0, (1.08, 1.02, 0.95))]), "MULTIPLY")
    colour = n.mix(n.maths("MULTIPLY", split, 0.8), colour, (0.018, 0.013, 0.010))
    normal = n.bump(n.maths("SUBTRACT", both, split), strength=0.8, depth_mm=1.2)
    wood = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.74, Normal=normal)
    wood.inputs["Specular IOR Level"].default_value = 0.3
    return n.surface(wood.outputs[0])


def _sacking() -> bpy.types.Material:
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
    over = n.maths("MULTIPLY", n.maths("SINE", n.maths("MULTIPLY", split.outputs[0], pitch / 2)), n.maths("SINE", n.maths("MULTIPLY", split.outputs[1], pitch / 2)))
    lift = n.maths("ADD", 0.5, n.maths("MULTIPLY", over, 0.5))
    height = n.mix(lift, threads[0], threads[1])
    gap = n.maths("MAXIMUM", threads[0], threads[1])
    hair = n.noise(n.stretched(n.uv, (0.35, 2.2, 1.0)), 1.0, detail=5.0)
    patch = n.noise(n.uv, 0.012, detail=5.0)
    tone = n.maths("ADD", n.maths("MULTIPLY", hair, 0.6), n.maths("MULTIPLY", patch, 0.5))
    colour = n.ramp(tone, [(0.32, (0.12, 0.075, 0.038)), (0.55, (0.27, 0.18, 0.098)), (0.78, (0.40, 0.29, 0.175))])
    colour = n.mix(n.ramp(gap, [(0.25, (1, 1, 1)), (0.62, (0, 0, 0))]), colour, (0.02, 0.013, 0.008))
    normal = n.bump(n.maths("ADD", height, n.maths("MULTIPLY", hair, 0.4)), strength=0.9, depth_mm=1.1)
    return n.surface(n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.92, Normal=normal).outputs[0])


def _slate() -> bpy.types.Material:
    n = Nodes("slate")
    layers = n.noise(n.stretched(n.here, (9.0, 9.0, 3.0)), 1.0, detail=9.0, rough=0.6, warp=0.7)
    grit = n.noise(n.here, 420.0, detail=5.0)
    dust = n.noise(n.here, 17.0, detail=8.0, rough=0.7)
    scratch = n.noise(n.stretched(n.here, (12.0, 420.0, 1.0)), 1.0, detail=2.0)
    colour = n.ramp(n.maths("ADD", n.maths("MULTIPLY", layers, 0.7), n.maths("MULTIPLY", grit, 0.3)), [(0.3, (0.036, 0.041, 0.048)), (0.55, (0.070, 0.077, 0.086)), (0.8, (0.125, 0.130, 0.135))])
    colour = n.mix(n.maths("MULTIPLY", n.ramp(dust, [(0.50, (0, 0, 0)), (0.72, (1, 1, 1))]), 0.45), colour, (0.17, 0.14, 0.11))
    colour = n.mix(n.maths("MULTIPLY", n.ramp(scratch, [(0.68, (0, 0, 0)), (0.74, (1, 1, 1))]), 0.25), colour, (0.2, 0.2, 0.2))
    steps = n.ramp(layers, [(0.42, (0.2, 0.2, 0.2)), (0.46, (0.5, 0.5, 0.5)), (0.56, (0.55, 0.55, 0.55)), (0.59, (0.9, 0.9, 0.9))])
    normal = n.bump(n.maths("ADD", steps, n.maths("MULTIPLY", grit, 0.25)), strength=0.6, depth_mm=2.2)
    stone = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.56, Normal=normal)
    stone.inputs["Specular IOR Level"].default_value = 0.4
    return n.surface(stone.outputs[0])


def _print(name: str, picture: Path) -> bpy.types.Material:
    """Ink on matt paper: the printed page as it is, greyed as paper and ink are."""
    n = Nodes(name)
    image = bpy.data.images.load(str(picture), check_existing=True)
    image.colorspace_settings.name = "sRGB"
    ink = n.add("TexImage", Vector=n.uv, set_image=image, set_interpolation="Linear", set_extension="EXTEND").outputs["Color"]
    fibre = n.noise(n.here, 2500.0, detail=2.0)
    smudge = n.noise(n.here, 11.0, detail=6.0, rough=0.65)
    colour = n.ramp(ink, [(0.0, (0.018, 0.018, 0.020)), (1.0, (0.80, 0.795, 0.775))])
    dirt = n.maths("MULTIPLY", n.ramp(smudge, [(0.50, (0, 0, 0)), (0.82, (1, 1, 1))]), 0.42)
    colour = n.mix(dirt, colour, n.mix(1.0, colour, (0.60, 0.50, 0.38), "MULTIPLY"))
    paper = n.add("BsdfPrincipled", Base_Color=colour, Roughness=0.8, Normal=n.bump(fibre, strength=0.25, depth_mm=0.1))
    paper.inputs["Specular IOR Level"].default_value = 0.2
    return n.surface(paper.outputs[0])


def material_for(name: str, *, textures: Path, tag: int) -> bpy.types.Material:
    """The material of this name, made once; ``petal`` takes the colours of the shot's seedling."""
    if name in bpy.data.materials:
        return bpy.data.materials[name]
    if name.startswith("print "):
        return _print(name, textures / f"{name.removeprefix('print ')}.png")
    if name == "petal":
        return _petal(PALETTES[tag], name)
    made = {"disc": _disc, "skin": _skin, "leaf": _leaf, "wood": _wood, "sacking": _sacking, "slate": _slate}
    if name in made:
        return made[name]()
    plain: dict[str, dict[str, Any]] = {
        "root": {"low": (0.10, 0.06, 0.03), "high": (0.24, 0.15, 0.08), "scale": 300.0},
        "stalk": {"low": (0.14, 0.12, 0.045), "high": (0.28, 0.21, 0.10), "scale": 60.0, "stretch": (3, 3, 0.4)},
        "pith": {"low": (0.20, 0.16, 0.08), "high": (0.48, 0.42, 0.27), "scale": 200.0},
        "soil": {"low": (0.028, 0.018, 0.011), "high": (0.085, 0.057, 0.036), "scale": 500.0, "rough": 0.95},
        "stone": {"low": (0.16, 0.15, 0.13), "high": (0.34, 0.32, 0.28), "scale": 120.0},
        "straw": {"low": (0.30, 0.20, 0.08), "high": (0.50, 0.38, 0.18), "scale": 90.0},
        "dry leaf": {"low": (0.075, 0.038, 0.014), "high": (0.22, 0.115, 0.04), "scale": 90.0, "depth_mm": 1.0},
        "string": {"low": (0.30, 0.23, 0.13), "high": (0.50, 0.41, 0.27), "scale": 900.0, "rough": 0.95},
        "stem": {"low": (0.045, 0.085, 0.018), "high": (0.10, 0.135, 0.035), "scale": 60.0, "rough": 0.5},
        "cane": {"low": (0.33, 0.23, 0.09), "high": (0.52, 0.40, 0.19), "scale": 40.0, "stretch": (6, 1, 6), "rough": 0.5},
        "peg": {"low": (0.42, 0.27, 0.13), "high": (0.60, 0.43, 0.24), "scale": 90.0, "stretch": (1, 8, 8), "rough": 0.6},
        "wire": {"low": (0.35, 0.35, 0.36), "high": (0.45, 0.45, 0.46), "scale": 80.0, "rough": 0.35},
        "board edge": {"low": (0.30, 0.25, 0.19), "high": (0.40, 0.34, 0.26), "scale": 300.0},
        "far red": {"low": (0.30, 0.01, 0.02), "high": (0.42, 0.03, 0.04), "scale": 40.0},
        "far pink": {"low": (0.55, 0.10, 0.25), "high": (0.75, 0.30, 0.45), "scale": 40.0},
        "far yellow": {"low": (0.70, 0.42, 0.03), "high": (0.85, 0.60, 0.10), "scale": 40.0},
        "dark": {"low": (0.010, 0.018, 0.006), "high": (0.035, 0.055, 0.016), "scale": 3.0},
        "box": {"low": (0.17, 0.115, 0.065), "high": (0.34, 0.25, 0.155), "scale": 30.0, "stretch": (1.0, 12.0, 12.0)},
    }
    return _plain(name, **plain[name])
