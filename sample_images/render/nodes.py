"""A renderer's material as a tree of nodes, with short words for what is used here."""

from __future__ import annotations

from typing import Any

import bpy

__all__ = ["MM", "Nodes", "mottled"]

MM = 0.001
"""Metres, the renderer's unit, in a millimetre."""


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

    def noise(
        self,
        vector: Any,
        scale: float,
        *,
        detail: float = 6.0,
        rough: float = 0.55,
        warp: float = 0.0,
    ) -> Any:
        return self.add(
            "TexNoise", Vector=vector, Scale=scale, Detail=detail, Roughness=rough, Distortion=warp
        ).outputs["Fac"]

    def stretched(self, vector: Any, scale: tuple[float, float, float]) -> Any:
        return self.add("Mapping", Vector=vector, Scale=scale).outputs["Vector"]

    def maths(self, operation: str, a: Any, b: Any = 0.0) -> Any:
        return self.add("Math", set_operation=operation, i0=a, i1=b).outputs[0]

    def mix(self, fac: Any, a: Any, b: Any, blend: str = "MIX") -> Any:
        return self.add("MixRGB", set_blend_type=blend, Fac=fac, Color1=a, Color2=b).outputs[
            "Color"
        ]

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
        split = self.add(
            "SeparateXYZ", i0=self.add("Attribute", set_attribute_name="tint").outputs["Vector"]
        )
        return split.outputs[0], split.outputs[1], split.outputs[2]


def mottled(
    name: str,
    low: tuple[float, float, float],
    high: tuple[float, float, float],
    *,
    scale: float,
    stretch: tuple[float, float, float] = (1, 1, 1),
    rough: float = 0.8,
    depth_mm: float = 0.4,
) -> bpy.types.Material:
    """Two colours by noise and a bump of the same noise."""
    n = Nodes(name)
    mottle = n.noise(n.stretched(n.here, stretch), scale, detail=7.0, rough=0.62)
    colour = n.ramp(mottle, [(0.32, low), (0.68, high)])
    shader = n.add(
        "BsdfPrincipled",
        Base_Color=colour,
        Roughness=rough,
        Normal=n.bump(mottle, strength=0.7, depth_mm=depth_mm),
    )
    shader.inputs["Specular IOR Level"].default_value = 0.25
    return n.surface(shader.outputs[0])
