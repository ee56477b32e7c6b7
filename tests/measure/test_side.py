"""Blooms from the side: depth and width held, the stem left out, the axis found."""

import itertools
import math
from types import MappingProxyType

import numpy as np
import pytest

from measure.card.finding import read_marks
from measure.depth_ratio import IDEAL_DEPTH_OVER_DIAMETER, depth_over_diameter
from measure.quality import Flag
from measure.quantity import Size
from measure.results import Held, Measurement, Outline, Picture
from measure.side import measure_bloom_side, size_bloom_side
from measure.side_axis import SideAxis, axis_from, find_stem, symmetry_axis
from tests.measure.side_scenes import FORMS, READ, SideScene, side_scene


def ellipse(across: float, deep: float, *, turn_deg: float, skew: float = 0.0) -> np.ndarray:
    """An ellipse on the card; ``skew`` makes its front narrower than its back."""
    t = np.linspace(0, 2 * math.pi, 360, endpoint=False)
    y = deep / 2 * np.sin(t)
    x = across / 2 * np.cos(t) * (1 - skew * np.sin(t))
    a = math.radians(turn_deg)
    up, right = np.array([math.sin(a), -math.cos(a)]), np.array([math.cos(a), math.sin(a)])
    return np.array([100.0, 60.0]) + x[:, None] * right + y[:, None] * up


def varied(seed: int, held: Held) -> SideScene:
    rng = np.random.default_rng(7_000 + seed)
    return side_scene(
        FORMS[seed % len(FORMS)],
        widest_mm=float(rng.uniform(70, 150)),
        seed=900 + seed,
        held=held,
        off_mm=float(rng.normal(0, 3)) if held == "level" else abs(float(rng.normal(0, 2))),
        in_plane_deg=float(rng.normal(0, 8)),
        towards_deg=float(rng.normal(0, 7)),
        spin_deg=float(rng.uniform(0, 360)),
        distance_mm=float(rng.uniform(380, 600)),
        tilt_deg=abs(float(rng.normal(0, 5))),
        tilt_towards_deg=float(rng.uniform(0, 360)),
    )


@pytest.mark.parametrize("held", ["level", "behind", "bench"])
def test_depth_and_width_are_held_by_their_intervals(held: Held) -> None:
    depths, widths = [], []
    for seed in range(18):
        made_of = varied(seed, held)
        rng = np.random.default_rng(seed)
        made = size_bloom_side(
            made_of.seen(),
            pose=made_of.pose(told=float(1 + rng.normal(0, 0.04)), seed=seed),
            held=held,
            printing=READ,
        )
        depth, across = made.sizes["depth_mm"], made.sizes["across_mm"]
        depths.append((depth.value - made_of.depth_mm) / depth.u)
        widths.append((across.value - made_of.across_mm) / across.u)
    for pulls in (depths, widths):
        assert np.mean(np.abs(pulls) < 1.96) >= 0.85
        assert abs(np.mean(pulls)) < 0.8
        assert np.std(pulls) < 1.5


def test_a_ball_is_as_deep_as_wide_by_the_closed_form() -> None:
    # A ball seen from a distance: its outline is the circle of its tangent cone. Level with the
    # card, both sizes are its diameter.
    made_of = side_scene("ball", tilt_deg=0.0)
    camera = made_of.scene.camera
    centre, radius = np.array([100.0, 60.0, 0.0]), 45.0
    away = camera.eye_mm - centre
    far = float(np.linalg.norm(away))
    sight = away / far
    across = np.cross(sight, [1.0, 0.0, 0.0])
    across /= np.linalg.norm(across)
    up = np.cross(sight, across)
    t = np.linspace(0, 2 * math.pi, 360, endpoint=False)
    ring = math.sqrt(1 - (radius / far) ** 2)
    circle = radius / far * sight + ring * (np.cos(t)[:, None] * across + np.sin(t)[:, None] * up)
    outline = Outline(
        points=camera.project(centre + radius * circle), confidence=1.0, edge_sigma_px=0.0
    )
    made = size_bloom_side(outline, pose=made_of.pose(), held="level", printing=READ)
    assert made.sizes["depth_mm"].value == pytest.approx(90.0, rel=0.005)
    assert made.sizes["across_mm"].value == pytest.approx(90.0, rel=0.005)


def test_components_are_named_and_add_up() -> None:
    made_of = side_scene("decorative")
    made = size_bloom_side(made_of.seen(), pose=made_of.pose(), printing=READ)
    depth = made.sizes["depth_mm"]
    assert {
        "lift",
        "bloom's lean",
        "outline",
        "printing",
        "card pose",
        "lens",
        "stem",
        "roundness",
        "shape",
    } == set(depth.components)
    assert depth.u**2 == pytest.approx(sum(u**2 for u in depth.components.values()))
    assert made.of == "bloom-side"
    ends = np.linalg.norm(made.callipers[1] - made.callipers[0])
    assert made.mm_per_px * ends == pytest.approx(depth.value)


def test_a_stub_of_stem_does_not_count() -> None:
    made_of = side_scene("decorative", seed=4)
    pose = made_of.pose()
    axis = SideAxis(turn_deg=0.0, u_deg=3.0, seen_by="hand")
    plain = size_bloom_side(made_of.seen(), pose=pose, axis=axis, printing=READ)
    outline = made_of.outline()
    lowest = int(outline[:, 1].argmax())
    turned = np.roll(outline, -lowest, axis=0)
    foot = turned[0]
    step = math.copysign(11.0, float(turned[1, 0] - foot[0]))
    stub = foot + np.array([[-step, 0.0], [-step, 120.0], [step, 120.0], [step, 0.0]])
    with_stem = Outline(
        points=np.vstack([_dense(stub), turned[4:-4]]), confidence=1.0, edge_sigma_px=0.0
    )
    made = size_bloom_side(with_stem, pose=pose, axis=axis, printing=READ)
    assert made.settings["stub_mm"] > 20.0
    assert made.sizes["depth_mm"].value == pytest.approx(plain.sizes["depth_mm"].value, rel=0.04)
    assert made.sizes["depth_mm"].components["stem"] > plain.sizes["depth_mm"].components["stem"]
    assert made.outline.points[:, 1].max() < with_stem.points[:, 1].max() - 60


def _dense(line: np.ndarray) -> np.ndarray:
    pieces = [
        a + np.linspace(0, 1, 60, endpoint=False)[:, None] * (b - a)
        for a, b in itertools.pairwise(line)
    ]
    return np.vstack(pieces)


@pytest.mark.parametrize("turn_deg", [-25.0, 0.0, 18.0])
def test_the_axis_of_symmetry_is_found(turn_deg: float) -> None:
    outline = ellipse(100.0, 55.0, turn_deg=turn_deg, skew=0.2)
    turn, u = symmetry_axis(outline, near_deg=0.0, reach_deg=40.0)
    assert turn == pytest.approx(turn_deg, abs=1.5)
    assert u < 4.0


def test_a_round_outline_tells_no_axis_and_the_stem_does() -> None:
    circle = ellipse(90.0, 90.0, turn_deg=0.0)
    assert axis_from(circle, stem_deg=None).u_deg > 10.0
    by_stem = axis_from(circle, stem_deg=30.0)
    assert by_stem.seen_by == "stem"
    assert by_stem.turn_deg == pytest.approx(30.0, abs=2.0)


def test_an_axis_that_is_not_clear_is_flagged_unless_the_bloom_is_round() -> None:
    made_of = side_scene("decorative")
    unsure = SideAxis(turn_deg=0.0, u_deg=15.0, seen_by="card")
    made = size_bloom_side(made_of.seen(), pose=made_of.pose(), axis=unsure, printing=READ)
    assert Flag.AXIS_UNSURE in made.flags
    sure = SideAxis(turn_deg=0.0, u_deg=4.0, seen_by="stem")
    better = size_bloom_side(made_of.seen(), pose=made_of.pose(), axis=sure, printing=READ)
    assert Flag.AXIS_UNSURE not in better.flags
    assert better.sizes["depth_mm"].u < made.sizes["depth_mm"].u


def test_the_stem_is_found_where_it_shows() -> None:
    made_of = side_scene("ball", in_plane_deg=15.0, widest_mm=80.0)
    outline = made_of.outline()
    scale = made_of.pose().px_per_mm(at_mm=(100.0, 60.0))
    down = np.array([0.0, 1.0])
    stem = find_stem(made_of.picture(), outline, px_per_mm=scale, towards=down)
    assert stem is not None
    near, far = made_of.pose().on_plane(stem)
    up = near - far
    assert math.degrees(math.atan2(up[0], -up[1])) == pytest.approx(15.0, abs=5.0)
    bare = made_of.picture(stem=False)
    assert find_stem(bare, outline, px_per_mm=scale, towards=down) is None


def measured_from(picture: Picture, made_of: SideScene) -> Measurement:
    return measure_bloom_side(
        picture,
        marks=read_marks(picture),
        optics=made_of.scene.optics,
        held="behind",
        printing=READ,
    )


def test_a_picture_from_the_side() -> None:
    # A ball's petals cover the green cup at its back, which is drawn in the petals' colour.
    made_of = side_scene("ball", held="behind", in_plane_deg=8.0, seed=6)
    made = measured_from(made_of.picture(), made_of)
    for name, true in (("depth_mm", made_of.depth_mm), ("across_mm", made_of.across_mm)):
        low, high = made.sizes[name].interval95
        assert low < true < high, name
    assert made.settings["axis_deg"] == pytest.approx(8.0, abs=2.0 * made.settings["u_axis_deg"])


def test_the_picture_s_light_is_doubted_as_a_face_s_is() -> None:
    made_of = side_scene("ball", held="behind", seed=6)

    def flags(picture: Picture) -> set[Flag]:
        return set(measured_from(picture, made_of).flags)

    picture = made_of.picture()
    assert not {Flag.TOO_DARK, Flag.SHADOW_EDGE, Flag.GLARE} & flags(picture)
    assert Flag.TOO_DARK in flags((picture * 0.35).astype(np.uint8))


def size(value: float, **components: float) -> Size:
    u = math.sqrt(sum(c**2 for c in components.values()))
    return Size(
        value=value,
        u=u,
        interval95=(value - 1.96 * u, value + 1.96 * u),
        components=MappingProxyType(components),
    )


def test_depth_over_diameter_by_the_closed_form() -> None:
    # GUM 5.1.6: r = a / b, u(r)^2 = r^2 (ua^2 / a^2 + ub^2 / b^2), without what both share.
    depth, diameter = size(60.0, lift=1.5, printing=0.36), size(100.0, lift=2.0, printing=0.60)
    made = depth_over_diameter(depth, diameter)
    assert made.value == pytest.approx(0.6)
    assert made.u == pytest.approx(0.6 * math.hypot(1.5 / 60, 2.0 / 100))
    assert made.components["printing"] == pytest.approx(0.0, abs=1e-12)
    apart = depth_over_diameter(depth, diameter, same_printing=False)
    assert apart.u == pytest.approx(0.6 * math.hypot(depth.u / 60, diameter.u / 100))
    # facts: the ideal of fully double decoratives is three quarters.
    assert IDEAL_DEPTH_OVER_DIAMETER == 0.75
    with pytest.raises(ValueError, match="both above zero"):
        depth_over_diameter(size(0.0, lift=1.0), diameter)


def test_depth_over_diameter_agrees_with_drawing() -> None:
    rng = np.random.default_rng(12)
    scale = 1 + rng.normal(0, 0.006, 200_000)
    deep = 60.0 * scale + rng.normal(0, 1.5, 200_000)
    wide = 100.0 * scale + rng.normal(0, 2.0, 200_000)
    made = depth_over_diameter(
        size(60.0, lift=1.5, printing=0.36), size(100.0, lift=2.0, printing=0.60)
    )
    assert np.std(deep / wide) == pytest.approx(made.u, rel=0.02)
