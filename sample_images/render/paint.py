"""One shot painted by Blender's Cycles into linear light: run with the Python that has ``bpy``."""

from __future__ import annotations

import argparse
import tempfile
from pathlib import Path

import bpy
import numpy as np
from camera import HEIGHT_PX, WIDTH_PX
from layout import Layout, lay_out
from lights import light_up
from mathutils import Matrix
from meshes import Mesh
from nodes import MM
from shots import shot_named
from surfaces import material_for
from surroundings import surroundings

__all__ = ["paint"]


def _object(mesh: Mesh, *, textures: Path, tag: int) -> bpy.types.Object:
    data = bpy.data.meshes.new(mesh.part)
    count = len(mesh.quads)
    data.vertices.add(len(mesh.points))
    data.vertices.foreach_set("co", (mesh.points * MM).astype(np.float32).ravel())
    data.loops.add(count * 4)
    data.loops.foreach_set("vertex_index", mesh.quads.astype(np.int32).ravel())
    data.polygons.add(count)
    data.polygons.foreach_set("loop_start", np.arange(0, count * 4, 4, dtype=np.int32))
    data.polygons.foreach_set("use_smooth", np.full(count, mesh.smooth))
    if mesh.uv is not None:
        layer = data.uv_layers.new(name="uv")
        layer.data.foreach_set("uv", mesh.uv[mesh.quads.ravel()].astype(np.float32).ravel())
    if mesh.colour is not None:
        tint = data.attributes.new("tint", "FLOAT_VECTOR", "POINT")
        tint.data.foreach_set("vector", mesh.colour.astype(np.float32).ravel())
    data.update(calc_edges=True)
    data.materials.append(material_for(mesh.material, textures=textures, tag=tag))
    made = bpy.data.objects.new(mesh.part, data)
    bpy.context.scene.collection.objects.link(made)
    return made


def _set_camera(layout: Layout) -> None:
    seen = layout.camera
    data = bpy.data.cameras.new("camera")
    data.sensor_fit = "HORIZONTAL"
    data.lens = seen.focal35_mm
    # The diagonal of the sensor is full frame's, in this picture's own shape.
    data.sensor_width = float(np.hypot(36, 24)) * WIDTH_PX / float(np.hypot(WIDTH_PX, HEIGHT_PX))
    data.clip_start, data.clip_end = 0.01, 50
    data.dof.use_dof = True
    tops = [float(m.points[:, 2].max()) for m in layout.subject if m.part != "clutter"]
    lift = 0.45 * max(tops, default=0.0)
    data.dof.focus_distance = (float(layout.camera.eye[2]) - lift) * MM
    bloom = layout.shot.subject == "bloom"
    opening_mm = 2.4 if not bloom else 3.5 if layout.shot.neighbour else 6.0
    data.dof.aperture_fstop = data.lens / (layout.shot.opening_mm or opening_mm)
    eye = bpy.data.objects.new("camera", data)
    frame = np.eye(4)
    frame[:3, 0], frame[:3, 1], frame[:3, 2] = seen.right, -seen.down, -seen.ahead
    frame[:3, 3] = seen.eye * MM
    eye.matrix_world = Matrix(frame.tolist())
    bpy.context.scene.collection.objects.link(eye)
    bpy.context.scene.camera = eye


def _use(device: str) -> None:
    """Paint on the processor, or on all graphics cards of a kind (CUDA, OPTIX, HIP, METAL)."""
    scene = bpy.context.scene
    scene.cycles.device = "CPU" if device == "CPU" else "GPU"
    if device != "CPU":
        cycles = bpy.context.preferences.addons["cycles"].preferences
        cycles.compute_device_type = device
        cycles.get_devices()
        for card in cycles.devices:
            card.use = card.type == device


def _settings(*, scale: float, samples: int, threads: int, device: str, bounces: int) -> None:
    scene = bpy.context.scene
    scene.render.engine = "CYCLES"
    _use(device)
    scene.cycles.samples = samples
    scene.cycles.use_adaptive_sampling = True
    scene.cycles.adaptive_threshold = 0.02
    scene.cycles.use_denoising = True
    scene.cycles.denoiser = "OPENIMAGEDENOISE"
    scene.cycles.max_bounces = bounces
    scene.cycles.diffuse_bounces = (bounces + 1) // 2
    scene.cycles.sample_clamp_indirect = 8
    scene.cycles.pixel_filter_type = "BLACKMAN_HARRIS"
    scene.cycles.filter_width = 1.3
    scene.render.threads_mode = "FIXED"
    scene.render.threads = threads
    scene.render.resolution_x, scene.render.resolution_y = (
        round(WIDTH_PX * scale),
        round(HEIGHT_PX * scale),
    )
    scene.render.image_settings.file_format = "OPEN_EXR"
    scene.render.image_settings.color_depth = "32"


def paint(
    layout: Layout,
    *,
    textures: Path,
    scale: float,
    samples: int,
    threads: int,
    device: str,
    bounces: int = 8,
) -> np.ndarray:
    """(H, W, 3) float32 linear light of a scene; ``bounces`` is how often light is followed."""
    bpy.ops.wm.read_factory_settings(use_empty=True)
    tag = layout.shot.tag or 0
    for mesh in [*layout.subject, *surroundings(layout)]:
        _object(mesh, textures=textures, tag=tag)
    light_up(layout.shot)
    _set_camera(layout)
    _settings(scale=scale, samples=samples, threads=threads, device=device, bounces=bounces)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "light.exr"
        bpy.context.scene.render.filepath = str(file)
        bpy.ops.render.render(write_still=True)
        image = bpy.data.images.load(str(file))
        wide, high = image.size
        flat = np.empty(wide * high * 4, np.float32)
        image.pixels.foreach_get(flat)
    return flat.reshape(high, wide, 4)[::-1, :, :3]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shots", nargs="+")
    parser.add_argument("--textures", type=Path, required=True)
    parser.add_argument("--into", type=Path, required=True)
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--samples", type=int, default=64)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--device", default="CPU")
    given = parser.parse_args()
    for name in given.shots:
        shot = shot_named(name)
        file = given.into / f"{Path(shot.file).stem}.npy"
        if file.exists():
            continue
        light = paint(
            lay_out(shot),
            textures=given.textures,
            scale=given.scale,
            samples=given.samples,
            threads=given.threads,
            device=given.device,
        )
        with file.with_suffix(".part").open("wb") as out:
            np.save(out, light.astype(np.float16))
        file.with_suffix(".part").rename(file)


if __name__ == "__main__":
    main()
