"""Sizes of known outlines: single causes of error, and told heights that can't be."""

import numpy as np
import pytest
from scipy.stats import norm

from measure import Printing
from measure.bloom import size_bloom
from measure.clump import size_clump
from measure.lift import CLUMP_END_SCATTER, LiftError
from measure.outline.tubers import TuberCount
from measure.planar import narrowest_of, widest_of
from measure.pose import Pose, find_pose
from measure.results import Measurement, Outline, Points
from measure.staging import BloomScene, ClumpScene, exact_marks, stage_bloom, stage_clump

DISTANCE_MM = 720.0


@pytest.fixture(scope="module")
def from_above() -> Pose:
    """The bench card seen from straight above."""
    return pose_of(stage_clump(distance_mm=DISTANCE_MM, tilt_deg=0.0))


def pose_of(scene: BloomScene | ClumpScene) -> Pose:
    return find_pose(
        exact_marks(scene),
        size_px=scene.camera.size_px,
        optics=scene.optics,
        printing=Printing(),
    )


def rectangle(
    wide_mm: float, high_mm: float, *, middle_mm: tuple[float, float], step_mm: float = 2.0
) -> Points:
    """(N, 2) places on the card's plane round a rectangle."""
    x = np.arange(-wide_mm / 2, wide_mm / 2, step_mm)
    y = np.arange(-high_mm / 2, high_mm / 2, step_mm)
    sides = [
        np.column_stack([x, np.full(len(x), -high_mm / 2)]),
        np.column_stack([np.full(len(y), wide_mm / 2), y]),
        np.column_stack([-x, np.full(len(x), high_mm / 2)]),
        np.column_stack([np.full(len(y), -wide_mm / 2), -y]),
    ]
    return np.asarray(np.concatenate(sides) + np.asarray(middle_mm), dtype=np.float64)


def sized(
    pose: Pose,
    places_mm: Points,
    *,
    lift_mm: float | None = 0.0,
    tubers: TuberCount | None = None,
) -> Measurement:
    pixels = pose.project(np.column_stack([places_mm, np.zeros(len(places_mm))]))
    outline = Outline(points=pixels, confidence=1.0, edge_sigma_px=0.0)
    return size_clump(outline, pose=pose, tubers=tubers, lift_mm=lift_mm, printing=Printing())


def test_the_longest_tuber_has_the_same_coverage_as_every_size(from_above: Pose) -> None:
    counted = TuberCount(
        seen=5,
        u=1.0,
        interval95=(4, 7),
        hidden=0.4,
        u_hidden=0.6,
        all95=(4, 8),
        longest_px=200.0,
        longest_u_px=6.0,
    )
    made = sized(from_above, rectangle(240.0, 100.0, middle_mm=(200.0, 60.0)), tubers=counted)
    # 97.5th percentile of the normal distribution, scipy.
    for name in ("spread_mm", "longest_tuber_mm"):
        size = made.sizes[name]
        low, high = size.interval95
        assert (high - low) / (2.0 * size.u) == pytest.approx(float(norm.ppf(0.975)), rel=1e-6)


@pytest.mark.parametrize("middle_mm", [(-150.0, 60.0), (200.0, 60.0), (200.0, 250.0)])
@pytest.mark.parametrize("upright", [False, True])
def test_uneven_ends_count_along_the_measure_they_belong_to(
    from_above: Pose, middle_mm: tuple[float, float], upright: bool
) -> None:
    # Closed form: an end that rises by h is seen further out along the measure by h times the
    # tangent of the line of sight in that direction; here the width is 100 mm, across the
    # rectangle's long sides, wherever along them its two points happen to be.
    wide, high = (100.0, 240.0) if upright else (240.0, 100.0)
    made = sized(from_above, rectangle(wide, high, middle_mm=middle_mm))
    assert made.sizes["width_mm"].value == pytest.approx(100.0, abs=0.1)
    eye, _ = from_above.rays(np.zeros((1, 2)))
    axis = 0 if upright else 1
    ends = np.array([middle_mm[axis] - 50.0, middle_mm[axis] + 50.0])
    tangents = (ends - eye[axis]) / eye[2]
    scatter_mm = CLUMP_END_SCATTER * made.sizes["spread_mm"].value
    assert made.sizes["width_mm"].components["depth times tilt"] == pytest.approx(
        scatter_mm * float(np.hypot(*tangents)), rel=0.01
    )


@pytest.mark.parametrize("turned_deg", [0.0, 25.0, 90.0])
def test_callipers_tell_the_direction_of_their_measure(turned_deg: float) -> None:
    turn = np.radians(turned_deg)
    turning = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    places = rectangle(240.0, 100.0, middle_mm=(0.0, 0.0)) @ turning.T
    narrow, wide = narrowest_of(places), widest_of(places)
    assert narrow.length == pytest.approx(100.0)
    assert abs(narrow.along @ turning[:, 1]) == pytest.approx(1.0)
    # Pythagoras: the diagonal of 240 by 100 is 260.
    assert wide.length == pytest.approx(260.0)
    for callipers in (narrow, wide):
        across = places[callipers.second] - places[callipers.first]
        assert across @ callipers.along == pytest.approx(callipers.length)


@pytest.mark.parametrize("share", [0.55, 0.98, 1.02, 2.0])
def test_a_height_not_clearly_below_the_lens_is_told(from_above: Pose, share: float) -> None:
    places = rectangle(240.0, 100.0, middle_mm=(200.0, 60.0))
    told = share * DISTANCE_MM
    sentence = f"can't be {told:g} mm when the photo was taken from 720 mm above it. Measure"
    with pytest.raises(LiftError, match=sentence):
        sized(from_above, places, lift_mm=told)
    pixels = from_above.project(np.column_stack([places, np.zeros(len(places))]))
    outline = Outline(points=pixels, confidence=1.0, edge_sigma_px=0.0)
    with pytest.raises(LiftError, match=r"can't be|from -100 to 300 mm"):
        size_bloom(outline, pose=from_above, lift_mm=told, printing=Printing())


def test_a_bloom_of_the_height_of_a_near_lens_is_told() -> None:
    scene = stage_bloom("ball", distance_mm=300.0, tilt_deg=0.0)
    pose = pose_of(scene)
    outline = Outline(points=scene.outline(), confidence=1.0, edge_sigma_px=0.3)
    with pytest.raises(LiftError, match="can't be 200 mm when the photo was taken from 300 mm"):
        size_bloom(outline, pose=pose, lift_mm=200.0, printing=Printing())


@pytest.mark.parametrize("lift_mm", [-20.0, 0.0, 100.0, 300.0])
def test_a_told_height_shrinks_the_sizes_by_its_share_of_the_lens_height(
    from_above: Pose, lift_mm: float
) -> None:
    # Similar triangles: what is h nearer a lens z above reads z / (z - h) too long.
    made = sized(from_above, rectangle(240.0, 100.0, middle_mm=(200.0, 60.0)), lift_mm=lift_mm)
    assert made.sizes["spread_mm"].value == pytest.approx(
        260.0 * (1.0 - lift_mm / DISTANCE_MM), rel=1e-3
    )
