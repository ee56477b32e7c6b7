"""Blooms seen from the side, drawn with known depth: axis up the card, card level or behind."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial.transform import Rotation

from measure.planar import hull_of
from measure.pose import Pose, find_pose
from measure.results import Held, Optics, Outline, Picture, Points, Printing
from measure.scenes import Colour
from measure.shapes import Bloom, BloomForm, grow_bloom
from measure.staging import BloomScene, exact_marks, stage_bloom

READ = Printing(across_mm=100.0, along_mm=100.0, u_percent=0.15)
FORMS: tuple[BloomForm, ...] = ("single", "waterlily", "decorative", "cactus", "ball", "pompon")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideScene:
    """A bloom from the side, its true sizes, and the (2, 3) ends of its stem."""

    scene: BloomScene
    depth_mm: float
    across_mm: float
    axis_deg: float
    stem_mm: NDArray[np.float64]

    def outline(self) -> Points:
        """The hull of the true outline with points a few pixels apart."""
        pixels = self.scene.camera.project(self.scene.bloom.points)
        corners = pixels[hull_of(pixels)]
        ring = np.vstack([corners, corners[:1]])
        along = np.r_[0.0, np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))]
        wanted = np.linspace(0.0, along[-1], 400, endpoint=False)
        return np.column_stack([np.interp(wanted, along, ring[:, k]) for k in (0, 1)])

    def seen(self) -> Outline:
        return Outline(points=self.outline(), confidence=1.0, edge_sigma_px=0.0)

    def pose(self, *, told: float = 1.0, seed: int = 0) -> Pose:
        """``told`` is what the file says of the focal length over the truth."""
        return find_pose(
            exact_marks(self.scene, corner_sigma_px=0.03, seed=seed),
            size_px=self.scene.camera.size_px,
            optics=Optics(focal35_mm=told * self.scene.camera.focal35_mm),
            printing=READ,
        )

    def picture(self, *, colour: Colour = (205, 90, 50), stem: bool = True) -> Picture:
        canvas = self.scene.canvas(colour=colour)
        if stem:
            low, high = self.stem_mm
            half = np.array([2.5, 0.0, 0.0])
            canvas.fill(np.array([low - half, low + half, high + half, high - half]), (70, 110, 50))
        # Petals lie before the stem's end, and close together, with none of the card between them.
        shades = [(0.8, self.outline())]
        bloom = self.scene.bloom
        for petal, shade in zip(bloom.petals, bloom.shades, strict=True):
            shades.append((shade, self.scene.camera.project(petal)))
        for shade, seen in shades:
            red, green, blue = (round(shade * c) for c in colour)
            canvas.fill_seen(seen, (red, green, blue))
        return canvas.finish()


def side_scene(
    form: BloomForm,
    *,
    widest_mm: float = 110.0,
    seed: int = 1,
    held: Held = "level",
    off_mm: float = 0.0,
    in_plane_deg: float = 0.0,
    towards_deg: float = 0.0,
    spin_deg: float = 0.0,
    distance_mm: float = 450.0,
    tilt_deg: float = 5.0,
    tilt_towards_deg: float = 240.0,
    thicker: float = 1.0,
    grow: Callable[..., Bloom] = grow_bloom,
) -> SideScene:
    """A bloom of this form before the bloom card, its front towards the card's top.

    ``in_plane_deg`` turns its axis to the card's right, ``towards_deg`` leans it towards the
    camera; ``off_mm`` is added to the height that ``held`` says. ``thicker`` is how much further
    it reaches towards the camera and away from it than to its sides.
    """
    staged = stage_bloom(
        form,
        widest_mm=widest_mm,
        seed=seed,
        grow=grow,
        distance_mm=distance_mm,
        tilt_deg=tilt_deg,
        tilt_towards_deg=tilt_towards_deg,
        size_px=(2000, 1500),
    )
    spun = staged.bloom.points @ Rotation.from_euler("z", spin_deg, degrees=True).as_matrix().T
    # The axis, which points at the camera, is laid up the card: height becomes -y, y height.
    laid = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, -1.0], [0.0, 1.0, 0.0]])
    turn = (
        Rotation.from_euler("z", in_plane_deg, degrees=True)
        * Rotation.from_euler("x", towards_deg, degrees=True)
    ).as_matrix() @ laid
    spin = (
        np.diag([1.0, thicker, 1.0]) @ Rotation.from_euler("z", spin_deg, degrees=True).as_matrix()
    )
    bloom = staged.bloom.moved(to_mm=(0.0, 0.0, 0.0), lean=turn @ spin)
    low, high = bloom.points.min(axis=0), bloom.points.max(axis=0)
    middle = (low + high) / 2.0
    height = {"level": -middle[2], "behind": 3.0 - low[2], "bench": -low[2]}[held] + off_mm
    to_mm = (100.0 - middle[0], 60.0 - middle[1], height)
    depth = float(np.ptp(staged.bloom.points[:, 2]))
    up = turn @ np.array([0.0, 0.0, 1.0])
    # The back of the bloom is where its axis meets the green cup.
    back = turn @ np.array([*staged.bloom.points[:, :2].mean(axis=0), 0.0]) + np.asarray(to_mm)
    return SideScene(
        scene=BloomScene(
            camera=staged.camera,
            bloom=bloom.moved(to_mm=to_mm),
            design=staged.design,
            stretch=staged.stretch,
        ),
        depth_mm=depth,
        across_mm=float(np.ptp(spun[:, 0])),
        axis_deg=in_plane_deg,
        stem_mm=np.array([back - 90.0 * up, back + 0.3 * depth * up]),
    )
