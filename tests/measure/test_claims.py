"""Claimed uncertainties against the scatter of drawn scenes in which everything unknown varies.

The scenes vary what the budget names, by as much as it says: printing, corner scatter, focal
length, distortion, gap, lean, depth and rise of the form (by the procedural blooms), the outline's
own scatter. Their shapes are ours, and the domes were fitted to other seeds of the same kind; so
this proves the propagation, not the priors.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest

from measure.bloom import size_bloom
from measure.budget import edge_effects
from measure.clump import size_clump
from measure.planar import least_width
from measure.pose import Pose, find_pose
from measure.results import Measurement, Optics, Outline, Points, Printing
from measure.shapes import BloomForm
from measure.staging import BloomScene, ClumpScene, exact_marks, stage_bloom, stage_clump

EDGE_PX = 0.6
FORMS: tuple[BloomForm, ...] = ("single", "waterlily", "decorative", "cactus", "ball", "pompon")


def roughened(outline: Points, rng: np.random.Generator, *, patches: int = 48) -> Points:
    """The outline pushed in and out by independent patches of one standard error each."""
    outline = outline[:: max(1, len(outline) // 1200)]
    along = np.roll(outline, -3, axis=0) - np.roll(outline, 3, axis=0)
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    knots = rng.normal(0.0, EDGE_PX, patches)
    at = np.linspace(0, patches, len(outline), endpoint=False)
    push = np.interp(at, np.arange(patches + 1), np.append(knots, knots[0]))
    return outline + normal * push[:, None] * 1.2247


def pose_of(scene: BloomScene | ClumpScene, rng: np.random.Generator, seed: int) -> Pose:
    told = Optics(focal35_mm=scene.camera.focal35_mm * float(1 + rng.normal(0, 0.04)))
    return find_pose(
        exact_marks(scene, corner_sigma_px=0.05, seed=seed),
        size_px=scene.camera.size_px,
        optics=told,
        printing=Printing(),
    )


def bloom_case(seed: int) -> tuple[Measurement, dict[str, float]]:
    rng = np.random.default_rng(70_000 + seed)
    form = FORMS[seed % len(FORMS)]
    focal35 = float(rng.uniform(24, 50))
    scene = stage_bloom(
        form,
        widest_mm=float(rng.uniform(60, 180)),
        seed=9_000 + seed,
        gap_mm=max(0.3, float(rng.normal(3, 3))),
        lean_deg=(float(rng.normal(0, 5)), float(rng.normal(0, 5))),
        distance_mm=focal35 / 26.0 * float(rng.uniform(330, 600)),
        tilt_deg=abs(float(rng.normal(0, 8))),
        tilt_towards_deg=float(rng.uniform(0, 360)),
        turned_deg=float(rng.uniform(0, 360)),
        focal35_mm=focal35,
        distortion=float(rng.normal(0, 0.006)),
        stretch=1 + float(rng.normal(0, 0.006)),
    )
    outline = Outline(points=roughened(scene.outline(), rng), confidence=1.0, edge_sigma_px=EDGE_PX)
    pose = pose_of(scene, rng, seed)
    made = size_bloom(outline, pose=pose, form=form, held="behind", printing=Printing())
    bloom = scene.bloom
    return made, {
        "widest_mm": bloom.widest_mm,
        "diameter_mm": bloom.diameter_mm,
        "ring_mm": bloom.ring_mm,
    }


def clump_case(seed: int) -> tuple[Measurement, dict[str, float]]:
    rng = np.random.default_rng(80_000 + seed)
    focal35 = float(rng.uniform(24, 40))
    scene = stage_clump(
        spread_mm=float(rng.uniform(150, 320)),
        tubers=int(rng.integers(4, 10)),
        seed=5_000 + seed,
        laid_deg=float(rng.uniform(0, 360)),
        left=bool(rng.integers(2)),
        distance_mm=focal35 / 26.0 * float(rng.uniform(600, 900)),
        tilt_deg=abs(float(rng.normal(0, 8))),
        tilt_towards_deg=float(rng.uniform(0, 360)),
        turned_deg=float(rng.normal(0, 8)),
        focal35_mm=focal35,
        distortion=float(rng.normal(0, 0.006)),
        stretch=1 + float(rng.normal(0, 0.006)),
    )
    outline = Outline(points=roughened(scene.outline(), rng), confidence=1.0, edge_sigma_px=EDGE_PX)
    made = size_clump(outline, pose=pose_of(scene, rng, seed), printing=Printing())
    flat = scene.clump.points[:, :2]
    return made, {"spread_mm": scene.clump.spread_mm, "width_mm": least_width(flat)}


@pytest.mark.parametrize(("case", "count"), [(bloom_case, 90), (clump_case, 70)])
def test_claimed_uncertainty_matches_scatter(
    case: Callable[[int], tuple[Measurement, dict[str, float]]], count: int
) -> None:
    cases = [case(seed) for seed in range(count)]
    for name in cases[0][1]:
        pulls = np.array([(m.sizes[name].value - t[name]) / m.sizes[name].u for m, t in cases])
        inside = np.mean(
            [
                m.sizes[name].interval95[0] <= t[name] <= m.sizes[name].interval95[1]
                for m, t in cases
            ]
        )
        assert np.std(pulls) == pytest.approx(1.0, abs=0.2), name
        assert abs(np.mean(pulls)) < 0.35, name
        assert inside >= 0.88, name


def test_a_ragged_circle_reads_long_and_that_is_taken_off() -> None:
    # trials: the widest of a 100 mm circle with 0.3 mm of independent edge noise reads almost a
    # millimetre long; here the noise comes in 48 pieces, so less.
    turn = np.linspace(0, 2 * math.pi, 960, endpoint=False)
    rng = np.random.default_rng(5)
    left = []
    raw = []
    for seed in range(60):
        knots = rng.normal(0, 0.3, 48)
        push = np.interp(np.arange(960) / 20, np.arange(49), np.append(knots, knots[0])) * 1.2247
        circle = np.column_stack([np.cos(turn), np.sin(turn)]) * (50 + push)[:, None]

        def widest(points: Points) -> dict[str, float]:
            apart = np.linalg.norm(points[::4, None] - points[None, ::4], axis=2)
            return {"widest_mm": float(apart.max())}

        cause, bias = edge_effects(circle, widest, edge_sigma_mm=0.3, seed=seed)
        raw.append(widest(circle)["widest_mm"] - 100.0)
        left.append((raw[-1] - bias["widest_mm"], cause.effects["widest_mm"]))
    assert np.mean(raw) > 0.5
    assert abs(np.mean([value for value, _ in left])) < 0.5 * np.mean(raw)
    off = np.sqrt(np.mean([value**2 for value, _ in left]))
    assert off < 1.3 * np.mean([u for _, u in left])
