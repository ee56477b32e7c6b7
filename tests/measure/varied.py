"""Scenes in which everything that a budget names varies, measured from their exact outlines.

What varies by as much as the budget says: printing, corners, focal length, distortion, gap, lean,
the outline's scatter, the shadow's push. What comes from the shapes themselves: depth, rise, tubers
that stand clear of the ground. Half of the shapes are of the kind that the priors were fitted to,
half are built by rules of their own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from measure.bloom import size_bloom
from measure.budget import Method
from measure.clump import size_clump
from measure.lift import BLOOM_SHADOW_MM, CLUMP_OUTLINE_PERCENT, CLUMP_SHADOW_MM
from measure.other_shapes import bunch_clump, pile_clump, stack_bloom
from measure.outline.tubers import TuberCount
from measure.planar import least_width
from measure.pose import Pose, find_pose
from measure.results import Held, Measurement, Optics, Outline, Points, Printing
from measure.shapes import BloomForm, Clump, grow_bloom, grow_clump
from measure.staging import (
    BloomScene,
    ClumpScene,
    exact_marks,
    rim_height_mm,
    stage_bloom,
    stage_clump,
)

__all__ = ["FORMS", "Case", "band", "bloom_case", "bloom_truth", "clump_case", "clump_truth"]

FORMS: tuple[BloomForm, ...] = ("single", "waterlily", "decorative", "cactus", "ball", "pompon")


@dataclass(frozen=True, kw_only=True, eq=False)
class Case:
    """A scene's conditions, what was measured in it, and the truth."""

    strata: Mapping[str, str]
    made: Measurement
    truth: Mapping[str, float]

    def pull(self, name: str) -> float:
        """Error over the claimed standard uncertainty."""
        size = self.made.sizes[name]
        return (size.value - self.truth[name]) / size.u

    def holds(self, name: str) -> bool:
        """Whether the 95 % interval holds the truth."""
        low, high = self.made.sizes[name].interval95
        return low <= self.truth[name] <= high

    def half_percent(self, name: str) -> float:
        """Half the interval's width, in per cent of the size."""
        size = self.made.sizes[name]
        return 50.0 * (size.interval95[1] - size.interval95[0]) / size.value

    def error_percent(self, name: str) -> float:
        """The size's error, in per cent."""
        return 100.0 * (self.made.sizes[name].value / self.truth[name] - 1.0)


def bloom_truth(scene: BloomScene) -> dict[str, float]:
    """Sizes of the bloom as projected along the card's normal."""
    bloom = scene.bloom
    return {
        "widest_mm": bloom.widest_mm,
        "diameter_mm": bloom.diameter_mm,
        "ring_mm": bloom.ring_mm,
    }


def clump_truth(scene: ClumpScene) -> dict[str, float]:
    """Sizes of the clump as projected along the card's normal."""
    return {
        "spread_mm": scene.clump.spread_mm,
        "width_mm": least_width(scene.clump.points[:, :2]),
    }


def bloom_case(seed: int, *, method: Method | None = None) -> Case:
    """A bloom with everything drawn; its form, its generator and its holding by turns."""
    rng = np.random.default_rng([70_000, seed])
    form = FORMS[seed % len(FORMS)]
    other = bool(seed // len(FORMS) % 2)
    told = bool(rng.random() < 0.7)
    held: Held = ("behind", "behind", "bench", "level")[int(rng.integers(4))]
    measured_lift = bool(rng.random() < 0.1)
    widest = float(rng.uniform(35, 62) if form == "pompon" else rng.uniform(60, 180))
    if form == "ball":
        widest = float(rng.uniform(55, 150))
    gap, rim = None, None
    if held == "level" and not measured_lift:
        rim = float(rng.normal(0.0, math.hypot(4.0, 0.02 * widest)))
    else:
        middle, u = (5.0, 5.0) if held == "bench" else (3.0, 3.0)
        gap = max(0.3, float(rng.normal(middle, u)))
    lean = rng.normal(0.0, 5.0, 2)
    view = _View(rng, near_mm=max(260.0, 2.6 * widest), far_mm=700.0)
    scene = stage_bloom(
        form,
        widest_mm=widest,
        seed=9_000 + seed,
        grow=stack_bloom if other else grow_bloom,
        gap_mm=0.0 if gap is None else gap,
        rim_mm=rim,
        lean_deg=(float(lean[0]), float(lean[1])),
        turned_deg=float(rng.uniform(0, 360)),
        **view.staging,
    )
    lift = float(rim_height_mm(scene.bloom) + rng.normal(0.0, 3.0)) if measured_lift else None
    outline = view.outline_of(scene, rng, shadow_mm=BLOOM_SHADOW_MM)
    made = size_bloom(
        outline,
        pose=view.pose_of(scene, rng, seed=seed),
        form=form if told else None,
        held=held,
        lift_mm=lift,
        printing=view.printing,
        method=method,
    )
    slant = float(np.hypot(*lean))
    strata = {
        **view.strata(),
        "form": f"{form}, {'told' if told else 'not told'}",
        "height": "told" if measured_lift else f"card {held}",
        "lean": band(slant, (4.0, 8.0), "deg"),
        "size": band(widest, (60.0, 110.0), "mm"),
        "shapes": ("others" if other else "as fitted") + (", told" if told else ", not told"),
        "kind": "bloom, form told" if told else "bloom, form not told",
    }
    return Case(strata=strata, made=made, truth=bloom_truth(scene))


def clump_case(seed: int, *, method: Method | None = None) -> Case:
    """A clump with everything drawn; its generator by turns, half of them with standing tubers."""
    rng = np.random.default_rng([80_000, seed])
    other, standing = bool(seed % 2), bool(seed // 2 % 2)
    if other:
        grow: Callable[..., Clump] = bunch_clump if standing else pile_clump
    else:
        grow = partial(grow_clump, standing=standing)
    spread = float(rng.uniform(150, 320))
    view = _View(rng, near_mm=max(480.0, 2.4 * spread), far_mm=1000.0)
    tubers = int(rng.integers(4, 12))
    scene = stage_clump(
        spread_mm=spread,
        tubers=tubers,
        seed=5_000 + seed,
        grow=grow,
        laid_deg=float(rng.uniform(0, 360)),
        left=bool(rng.integers(2)),
        turned_deg=float(rng.normal(0, 8)),
        **view.staging,
    )
    outline = view.outline_of(
        scene, rng, shadow_mm=CLUMP_SHADOW_MM, least_doubt=CLUMP_OUTLINE_PERCENT / 100.0
    )
    pose = view.pose_of(scene, rng, seed=seed)
    counted = _counted(tubers)
    made = size_clump(outline, pose=pose, tubers=counted, printing=view.printing, method=method)
    strata = {
        **view.strata(),
        "size": band(spread, (200.0, 260.0), "mm"),
        "shapes": "others" if other else "as fitted",
        "tubers": "some standing" if standing else "lying",
        "kind": "clump",
    }
    return Case(strata=strata, made=made, truth=clump_truth(scene))


def _counted(seen: int) -> TuberCount:
    """All tubers counted, none hidden; the longest is not what is tried."""
    return TuberCount(
        seen=seen,
        u=1.0,
        interval95=(seen - 1, seen + 1),
        hidden=0.0,
        u_hidden=0.5,
        all95=(seen - 1, seen + 2),
        longest_px=float("nan"),
        longest_u_px=0.0,
    )


class _View:
    """One drawn camera, printing and picture quality."""

    def __init__(self, rng: np.random.Generator, *, near_mm: float, far_mm: float) -> None:
        self.lens_told = bool(rng.random() < 0.92)
        focal35 = float(rng.uniform(24, 50))
        if not self.lens_told:
            focal35 = 26.0 * math.exp(float(rng.normal(0.0, 0.25)))
        self.tilt_deg = float(rng.uniform(0.0, 30.0) if rng.random() < 0.5 else rng.uniform(0, 12))
        self.distance_mm = float(rng.uniform(near_mm, far_mm)) * max(1.0, focal35 / 30.0)
        self.read = bool(rng.random() < 0.5)
        u_percent = 0.15 if self.read else 0.6
        self.printing = Printing(u_percent=u_percent)
        self.blur_px = float(rng.uniform(0.5, 2.5))
        self.noise = float(rng.uniform(1.0, 12.0))
        self.background = ("clear", "busy", "alike")[int(rng.integers(3))]
        self.confidence = {"clear": 1.0, "busy": 0.95, "alike": 0.85}[self.background]
        # An edge is placed worse where it is soft, noisy, or much like what lies behind it.
        soft = {"clear": 1.0, "busy": 1.5, "alike": 2.0}[self.background]
        self.edge_px = math.hypot(0.35 * self.blur_px, 0.04 * self.noise * soft)
        self.staging: dict[str, Any] = {
            "distance_mm": self.distance_mm,
            "tilt_deg": self.tilt_deg,
            "tilt_towards_deg": float(rng.uniform(0, 360)),
            "focal35_mm": focal35,
            "distortion": float(rng.normal(0, 0.006)),
            "stretch": 1.0 + float(rng.normal(0, u_percent / 100.0)),
        }

    def pose_of(
        self, scene: BloomScene | ClumpScene, rng: np.random.Generator, *, seed: int
    ) -> Pose:
        """The pose from a card read with scatter, and a focal length as the file tells it."""
        camera = scene.camera
        told = camera.focal35_mm * float(1 + rng.normal(0, 0.04)) if self.lens_told else None
        px_per_mm = camera.focal_px / self.distance_mm
        corner_px = 0.02 + 0.015 * self.blur_px + 0.003 * self.noise
        return find_pose(
            exact_marks(scene, corner_sigma_px=math.hypot(corner_px, 0.05 * px_per_mm), seed=seed),
            size_px=camera.size_px,
            optics=Optics(focal35_mm=told),
            printing=self.printing,
        )

    def outline_of(
        self,
        scene: BloomScene | ClumpScene,
        rng: np.random.Generator,
        *,
        shadow_mm: float,
        least_doubt: float = 0.0,
    ) -> Outline:
        """The exact outline, off by its scatter, a shadow's push and its doubt."""
        exact = scene.outline()
        truth = exact[:: max(1, len(exact) // 1200)]
        normal = _outward(truth)
        push = 1.2247 * self.edge_px * _patches(rng, len(truth))
        mm_per_px = self.distance_mm / scene.camera.focal_px
        light = rng.uniform(0.0, 2.0 * math.pi)
        away = np.maximum(normal @ [math.cos(light), math.sin(light)], 0.0)
        push = push + float(rng.normal(0.0, shadow_mm)) / mm_per_px * away
        swollen = float(rng.normal(0.0, math.hypot(least_doubt, 0.06 * (1.0 - self.confidence))))
        middle = truth.mean(axis=0)
        seen = middle + (1.0 + swollen) * (truth - middle) + push[:, None] * normal
        return Outline(points=seen, confidence=self.confidence, edge_sigma_px=self.edge_px)

    def strata(self) -> dict[str, str]:
        """By what a table is made, for what belongs to the view."""
        return {
            "distance": band(self.distance_mm, (400.0, 550.0, 800.0), "mm"),
            "tilt": band(self.tilt_deg, (6.0, 12.0, 20.0), "deg"),
            "blur": band(self.blur_px, (1.0, 1.8), "px"),
            "noise": band(self.noise, (4.0, 8.0), "levels"),
            "background": self.background,
            "lens": "told" if self.lens_told else "not told",
            "printing": "read with a ruler" if self.read else "not read",
        }


def band(value: float, limits: tuple[float, ...], unit: str) -> str:
    """Which of the ranges between limits a value falls in."""
    for i, limit in enumerate(limits):
        if value < limit:
            return f"under {limit:g} {unit}" if i == 0 else f"{limits[i - 1]:g} to {limit:g} {unit}"
    return f"{limits[-1]:g} {unit} and more"


def _patches(rng: np.random.Generator, count: int, *, patches: int = 48) -> NDArray[np.float64]:
    knots = rng.normal(0.0, 1.0, patches)
    at = np.linspace(0, patches, count, endpoint=False)
    return np.interp(at, np.arange(patches + 1), np.append(knots, knots[0]))


def _outward(outline: Points) -> NDArray[np.float64]:
    along = np.roll(outline, -3, axis=0) - np.roll(outline, 3, axis=0)
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    normal /= np.maximum(np.linalg.norm(normal, axis=1, keepdims=True), 1e-9)
    x, y = outline.T
    turns = float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)))
    return np.asarray(normal if turns > 0 else -normal)
