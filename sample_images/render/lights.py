"""Light on a scene: a clear day, an overcast one, a low evening sun, a shed at dusk."""

from __future__ import annotations

from dataclasses import dataclass

import bpy
import numpy as np
from mathutils import Matrix
from shot import STANDING, Shot

__all__ = ["LIGHTS", "light_up"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Light:
    """Sky colours, linear, above and at the horizon, its strength, and the sun or lamp."""

    above: tuple[float, float, float]
    horizon: tuple[float, float, float]
    sky: float
    sun: tuple[float, float, float] = (1.0, 1.0, 1.0)
    sun_strength: float = 0.0
    sun_degrees: float = 6.0
    sun_from: tuple[float, float, float] = (-0.5, 0.6, 0.8)
    lamp: float = 0.0


LIGHTS = {
    "daylight": Light(
        above=(0.55, 0.72, 1.0),
        horizon=(0.95, 0.97, 1.0),
        sky=0.55,
        sun=(1.0, 0.93, 0.82),
        sun_strength=2.0,
        sun_degrees=7.0,
    ),
    "sun": Light(
        above=(0.42, 0.60, 1.0),
        horizon=(0.85, 0.92, 1.0),
        sky=0.42,
        sun=(1.0, 0.95, 0.86),
        sun_strength=3.4,
        sun_degrees=1.2,
    ),
    "overcast": Light(
        above=(0.90, 0.95, 1.0),
        horizon=(0.80, 0.84, 0.88),
        sky=0.95,
        sun=(1.0, 0.98, 0.95),
        sun_strength=0.55,
        sun_degrees=38.0,
    ),
    "evening": Light(
        above=(0.50, 0.62, 0.85),
        horizon=(1.0, 0.83, 0.64),
        sky=0.50,
        sun=(1.0, 0.76, 0.50),
        sun_strength=1.5,
        sun_degrees=9.0,
        sun_from=(0.75, 0.35, 0.6),
    ),
    "dusk": Light(above=(0.22, 0.27, 0.38), horizon=(0.15, 0.17, 0.22), sky=0.10, lamp=1.0),
}


def light_up(shot: Shot) -> None:
    """Sky and sun, or the shed's lamp and window, in card coordinates.

    A clump's z is up; before foliage the card stands, so that its y is up.
    """
    light = LIGHTS[shot.light]
    standing = shot.surface in STANDING
    rng = np.random.default_rng(shot.seed + 5)
    world = bpy.data.worlds.new("sky")
    world.use_nodes = True
    bpy.context.scene.world = world
    nodes, links = world.node_tree.nodes, world.node_tree.links
    where = nodes.new("ShaderNodeTexCoord")
    split = nodes.new("ShaderNodeSeparateXYZ")
    ramp = nodes.new("ShaderNodeValToRGB")
    links.new(where.outputs["Generated"], split.inputs[0])
    links.new(split.outputs[1 if standing else 2], ramp.inputs["Fac"])
    ramp.color_ramp.elements[0].color = (*light.horizon, 1)
    ramp.color_ramp.elements[1].color = (*light.above, 1)
    ground = ramp.color_ramp.elements.new(0.0)
    ground.color = (0.06, 0.075, 0.04, 1)
    ramp.color_ramp.elements[1].position = 0.06
    background = nodes["Background"]
    links.new(ramp.outputs["Color"], background.inputs["Color"])
    background.inputs["Strength"].default_value = light.sky
    towards = np.array(light.sun_from) + rng.normal(0, 0.10, 3)
    if standing:
        towards = np.array([towards[0], towards[2] * 0.9, 0.55 + 0.4 * towards[1]])
    if light.sun_strength:
        _sun(light, towards)
    if light.lamp:
        _shed(rng)


def _aimed(towards: np.ndarray) -> list[list[float]]:
    back = towards / np.linalg.norm(towards)
    right = np.cross([0.0, 1.0, 0.001], back)
    right /= np.linalg.norm(right)
    frame = np.eye(4)
    frame[:3, 0], frame[:3, 1], frame[:3, 2] = right, np.cross(back, right), back
    return [list(row) for row in frame]


def _sun(light: Light, towards: np.ndarray) -> None:
    data = bpy.data.lights.new("sun", "SUN")
    data.energy, data.color, data.angle = (
        light.sun_strength,
        light.sun,
        float(np.radians(light.sun_degrees)),
    )
    sun = bpy.data.objects.new("sun", data)
    sun.matrix_world = Matrix(_aimed(towards))
    bpy.context.scene.collection.objects.link(sun)


def _shed(rng: np.random.Generator) -> None:
    """A warm lamp above to one side, and what is left of the day through a window."""
    for name, at, size, watts, colour in (
        ("lamp", np.array([-0.35 + rng.normal(0, 0.1), 0.45, 1.5]), 0.28, 9.0, (1.0, 0.66, 0.36)),
        ("window", np.array([1.6, 0.5 + rng.normal(0, 0.2), 1.0]), 0.9, 9.0, (0.55, 0.70, 1.0)),
    ):
        data = bpy.data.lights.new(name, "AREA")
        data.energy, data.size, data.color = watts, size, colour
        frame = np.array(_aimed(at - np.array([0.2, -0.1, 0.0])))
        frame[:3, 3] = at
        lamp = bpy.data.objects.new(name, data)
        lamp.matrix_world = Matrix(frame.tolist())
        bpy.context.scene.collection.objects.link(lamp)
