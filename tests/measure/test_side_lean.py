"""What a lean does to a bloom's depth from the side: its law, and the depth freed of it."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from measure.side_lean import depth_seen, u_spheroid, upright_depth
from tests.benchmarks.bench_sides import BUILT, HELD, sized


@pytest.mark.parametrize("depth", [0.15, 0.5, 1.0])
@pytest.mark.parametrize(("towards", "aside"), [(0.0, 0.0), (12.0, 0.0), (0.0, 9.0), (-20.0, 0.0)])
def test_a_spheroid_looks_as_deep_as_one_of_many_points(depth, towards, aside):
    rng = np.random.default_rng(4)
    ball = rng.normal(size=(400_000, 3))
    ball *= 0.5 / np.linalg.norm(ball, axis=1, keepdims=True)
    # The axis is y, the line of sight z.
    turned = Rotation.from_euler("xz", [towards, aside], degrees=True).apply(
        ball * [1.0, depth, 1.0]
    )
    seen = depth_seen(depth, towards_rad=np.radians(towards), in_plane_rad=np.radians(aside))
    assert float(seen) == pytest.approx(np.ptp(turned[:, 1]), abs=2e-3)


def test_seen_square_and_upright_a_bloom_is_as_deep_as_it_looks():
    found = upright_depth(
        40.0, across_mm=100.0, u_seen_mm=1.0, in_plane_deg=0.1, towards_deg=0.1, view_deg=0.0
    )
    assert found.mm == pytest.approx(40.0, abs=0.1)
    assert found.u_mm == pytest.approx(1.0, rel=0.03)
    assert found.interval95_mm == pytest.approx((38.04, 41.96), abs=0.1)
    assert found.gain == pytest.approx(1.0, abs=0.02)


def test_a_flat_bloom_is_less_sure_than_a_deep_one_and_gains_more():
    flat, deep = (
        upright_depth(
            seen, across_mm=100.0, u_seen_mm=0.5, in_plane_deg=2.0, towards_deg=7.0, view_deg=5.0
        )
        for seen in (25.0, 80.0)
    )
    assert flat.u_mm > 3.0 * deep.u_mm
    assert flat.mm < 23.0
    assert deep.mm == pytest.approx(80.0, abs=1.0)
    assert flat.gain > deep.gain


def test_twice_the_bloom_is_twice_as_deep():
    told = {"in_plane_deg": 3.0, "towards_deg": 7.0, "view_deg": -8.0}
    one = upright_depth(35.0, across_mm=100.0, u_seen_mm=1.0, **told)
    two = upright_depth(70.0, across_mm=200.0, u_seen_mm=2.0, **told)
    assert two.mm == pytest.approx(2.0 * one.mm)
    assert two.u_mm == pytest.approx(2.0 * one.u_mm)
    # Euler's theorem for functions of degree one.
    assert one.gain * 35.0 + one.gain_across * 100.0 == pytest.approx(one.mm)


def test_drawn_from_its_own_law_the_intervals_hold():
    rng = np.random.default_rng(9)
    inside, pulls, below = [], [], 0
    for _ in range(300):
        depth, view = rng.uniform(0.05, 1.2), rng.normal(0.0, 8.0)
        towards = np.radians(view + rng.normal(0.0, 7.0))
        seen = depth_seen(depth, towards_rad=towards, in_plane_rad=np.radians(rng.normal(0, 4.0)))
        seen = float(seen + rng.normal(0.0, np.hypot(0.01, u_spheroid(towards_rad=towards))))
        found = upright_depth(
            100.0 * max(seen, 0.02),
            across_mm=100.0,
            u_seen_mm=1.0,
            in_plane_deg=4.0,
            towards_deg=7.0,
            view_deg=view,
        )
        low, high = found.interval95_mm
        inside.append(low <= 100.0 * depth <= high)
        pulls.append((found.mm - 100.0 * depth) / found.u_mm)
        below += 100.0 * depth < found.mm
    # Half of 300: 150, with a standard deviation of 8.7.
    assert 124 <= below <= 176
    # 95 % of 300: 285, with a standard deviation of 3.8.
    assert 274 <= sum(inside) <= 296
    assert np.std(pulls) == pytest.approx(1.0, abs=0.15)


def test_singles_errors_scatter_as_claimed():
    # The flattest form, whose errors were once 1.6 times what was claimed. Of 48 draws the scatter
    # is known to 10 % or a little more.
    cases = [
        sized("single", held=held, built=built, seed=seed)
        for held in HELD
        for built in BUILT
        for seed in range(100, 108)
    ]
    assert np.std([case.pull for case in cases]) == pytest.approx(1.0, abs=0.3)
    assert sum(case.inside for case in cases) >= 42
