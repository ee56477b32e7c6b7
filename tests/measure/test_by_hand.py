"""Sizes by hand: a drawn outline, two calliper ends, a tape's or a ring's reading."""

import math
from typing import Literal

import numpy as np
import pytest

from measure.bloom import size_bloom
from measure.by_callipers import size_by_hand_callipers
from measure.by_hand import ByHandError, placed_px, size_by_hand_outline, size_by_tape
from measure.own_depth import OwnDepth
from measure.planar import widest_of
from measure.pose import Pose, find_pose
from measure.quality import Flag
from measure.results import Outline, Points, Printing
from measure.staging import BloomScene, ClumpScene, exact_marks, stage_bloom, stage_clump
from tests.measure.side_scenes import FORMS, side_scene

READ = Printing(across_mm=100.0, along_mm=100.0, u_percent=0.15)


def pose_of(scene: BloomScene | ClumpScene) -> Pose:
    return find_pose(
        exact_marks(scene), size_px=scene.camera.size_px, optics=scene.optics, printing=READ
    )


def clicked(outline: Points, count: int, *, sigma_px: float = 0.0, seed: int = 0) -> Points:
    """So many points on the outline, evenly by number, each off by so much."""
    at = np.linspace(0, len(outline), count, endpoint=False).astype(int)
    return outline[at] + np.random.default_rng(seed).normal(0.0, sigma_px, (count, 2))


def test_the_true_outline_by_hand_gives_what_it_gives_automatically() -> None:
    scene = stage_bloom("ball", widest_mm=100.0, seed=5)
    pose, points = pose_of(scene), scene.outline()
    plain = size_bloom(
        Outline(points=points, confidence=1.0, edge_sigma_px=0.0),
        pose=pose,
        form="ball",
        printing=READ,
    )
    made = size_by_hand_outline(
        points, of="bloom", pose=pose, form="ball", printing=READ, placed_sigma_px=0.0
    )
    for name, size in plain.sizes.items():
        assert made.sizes[name].value == pytest.approx(size.value, rel=0.004), name
    assert made.settings["by_hand"] == "outline"
    assert Flag.OUTLINE_UNSURE not in made.flags


def test_twelve_points_round_a_bloom_do_not_cut_it_short() -> None:
    # Straight lines between 12 points on a circle hold sin(30)*12/(2 pi) = 95.5 % of its area.
    scene = stage_bloom("ball", widest_mm=100.0, seed=5)
    pose, points = pose_of(scene), scene.outline()
    whole, few = (
        size_by_hand_outline(
            clicked(points, count),
            of="bloom",
            pose=pose,
            form="ball",
            printing=READ,
            placed_sigma_px=0.0,
        )
        for count in (400, 12)
    )
    assert few.sizes["area_cm2"].value == pytest.approx(whole.sizes["area_cm2"].value, rel=0.015)


def test_many_points_are_surer_than_few_and_a_mouse_than_a_finger() -> None:
    scene = stage_bloom("decorative", widest_mm=100.0, seed=5)
    pose, points = pose_of(scene), scene.outline()

    def placing(count: int, sigma: float) -> float:
        made = size_by_hand_outline(
            clicked(points, count),
            of="bloom",
            pose=pose,
            form="decorative",
            printing=READ,
            placed_sigma_px=sigma,
        )
        return float(made.sizes["area_cm2"].components["placing"])

    assert placed_px(pose, "finger") > 2.0 * placed_px(pose, "mouse")
    mouse, finger = placed_px(pose, "mouse"), placed_px(pose, "finger")
    assert placing(100, mouse) < 0.6 * placing(12, mouse)
    assert placing(24, mouse) < 0.6 * placing(24, finger)


def test_points_placed_by_hand_scatter_as_they_claim() -> None:
    scene = stage_bloom("ball", widest_mm=110.0, seed=2)
    pose, points = pose_of(scene), scene.outline()
    sigma = placed_px(pose, "finger")

    def sized(seed: int, sigma_px: float) -> tuple[float, float]:
        made = size_by_hand_outline(
            clicked(points, 24, sigma_px=sigma_px, seed=seed),
            of="bloom",
            pose=pose,
            form="ball",
            printing=READ,
            placed_sigma_px=sigma_px,
        )
        size = made.sizes["diameter_mm"]
        return size.value, size.components["placing"]

    exact, _ = sized(0, 0.0)
    off = [((value - exact) / u) for value, u in (sized(seed, sigma) for seed in range(40))]
    assert np.std(off) == pytest.approx(1.0, abs=0.35)
    assert abs(np.mean(off)) < 0.8


@pytest.mark.parametrize("tilt_deg", [3.0, 14.0])
def test_callipers_on_a_bloom_hold_its_widest(tilt_deg: float) -> None:
    pulls = []
    for seed, form in enumerate(FORMS):
        scene = stage_bloom(form, widest_mm=105.0, seed=30 + seed, tilt_deg=tilt_deg)
        points = scene.outline()
        ends = widest_of(points)
        made = size_by_hand_callipers(
            points[[ends.first, ends.second]],
            of="bloom",
            pose=pose_of(scene),
            form=form,
            printing=READ,
        )
        assert set(made.sizes) == {"widest_mm"}
        size = made.sizes["widest_mm"]
        pulls.append((size.value - scene.bloom.widest_mm) / size.u)
    assert np.abs(pulls).max() < 2.0


def test_callipers_take_the_blooms_own_depth() -> None:
    scene = stage_bloom("pompon", widest_mm=60.0, seed=3)
    points = scene.outline()
    ends = widest_of(points)
    pose = pose_of(scene)
    guessed, known = (
        size_by_hand_callipers(
            points[[ends.first, ends.second]], of="bloom", pose=pose, depth=depth, printing=READ
        ).sizes["widest_mm"]
        for depth in (None, OwnDepth(mm=float(np.ptp(scene.bloom.points[:, 2])), u_mm=2.0))
    )
    assert known.u < guessed.u
    assert abs(known.value - 60.0) < abs(guessed.value - 60.0)


def test_callipers_on_a_clump_hold_its_spread() -> None:
    pulls = []
    for seed in range(6):
        scene = stage_clump(spread_mm=230.0, seed=60 + seed, tilt_deg=8.0)
        points = scene.outline()
        ends = widest_of(points)
        made = size_by_hand_callipers(
            points[[ends.first, ends.second]], of="clump", pose=pose_of(scene), printing=READ
        )
        size = made.sizes["spread_mm"]
        assert set(made.sizes) == {"spread_mm"}
        assert {"placing", "choosing", "lift", "depth times tilt"} <= set(size.components)
        pulls.append((size.value - 230.0) / size.u)
    assert np.abs(pulls).max() < 2.2


def test_a_clump_by_hand_outline() -> None:
    scene = stage_clump(spread_mm=230.0, seed=2)
    made = size_by_hand_outline(
        clicked(scene.outline(), 150), of="clump", pose=pose_of(scene), printing=READ
    )
    low, high = made.sizes["spread_mm"].interval95
    assert low < 230.0 < high
    assert made.settings["points"] == 150.0


@pytest.mark.parametrize("held", ["level", "behind"])
def test_a_bloom_from_the_side_by_hand(held: Literal["level", "behind"]) -> None:
    made_of = side_scene("ball", held=held, seed=8, widest_mm=90.0)
    pose = made_of.pose()
    outline = made_of.outline()
    drawn = size_by_hand_outline(
        clicked(outline, 40), of="bloom-side", pose=pose, held=held, printing=READ
    )
    top, bottom = outline[outline[:, 1].argmin()], outline[outline[:, 1].argmax()]
    ends = np.array([[outline[:, 0].mean(), y] for y in (top[1], bottom[1])])
    measured = size_by_hand_callipers(ends, of="bloom-side", pose=pose, held=held, printing=READ)
    assert set(measured.sizes) == {"depth_mm"}
    for made in (drawn, measured):
        low, high = made.sizes["depth_mm"].interval95
        assert low < made_of.depth_mm < high


@pytest.mark.parametrize(
    ("points", "said"),
    [
        (np.zeros((8, 2)), "0 different points are too few"),
        (np.array([[0, 0], [9, 0], [9, 9]]), "3 different points are too few"),
        (np.array([[0, 0], [50, 50], [50, 0], [0, 50], [-20, 25]]), "crosses itself"),
        (np.full((6, 2), np.nan), "list of places"),
        (np.zeros((6, 3)), "list of places"),
    ],
)
def test_what_is_no_outline_is_refused(points: Points, said: str) -> None:
    pose = pose_of(stage_bloom("ball"))
    with pytest.raises(ByHandError, match=said) as refused:
        size_by_hand_outline(points, of="bloom", pose=pose, printing=READ)
    assert "five points" in refused.value.remedy


def test_what_are_no_callipers_is_refused() -> None:
    pose = pose_of(stage_bloom("ball"))
    with pytest.raises(ByHandError, match="two ends, apart"):
        size_by_hand_callipers(np.ones((2, 2)), of="bloom", pose=pose, printing=READ)


def test_a_tape_and_a_ring() -> None:
    tape, ring = size_by_tape(120.0, kind="tape"), size_by_tape(120.0, kind="ring")
    for size in (tape, ring):
        assert size.value == 120.0
        assert size.u == pytest.approx(math.hypot(*size.components.values()))
        assert size.interval95[0] < 120.0 < size.interval95[1]
    assert size_by_tape(200.0, kind="tape").u > tape.u
    with pytest.raises(ByHandError, match="A ring can't read -3 mm"):
        size_by_tape(-3.0, kind="ring")
