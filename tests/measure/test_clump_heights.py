"""Heights along a clump's outline: thickness in closed form, and bodies whose sizes are known."""

import math

import numpy as np
import pytest

from measure.clump_heights import ENDS, FLANKS, clump_heights, edge_thickness
from measure.results import Points

FROM_ABOVE = np.array([0.0, 0.0, 600.0])


def stadium(*, long_mm: float, radius_mm: float, turned_deg: float = 0.0) -> Points:
    """(N, 2) round a straight bar with round ends, ``long_mm`` between the ends' middles."""
    turn = np.linspace(-math.pi / 2, math.pi / 2, 60)
    end = radius_mm * np.column_stack([np.cos(turn), np.sin(turn)]) + [long_mm / 2, 0.0]
    x = np.linspace(long_mm / 2, -long_mm / 2, 120)[1:-1]
    side = np.column_stack([x, np.full(len(x), radius_mm)])
    ring = np.concatenate([end, side, -end, -side])
    c, s = math.cos(math.radians(turned_deg)), math.sin(math.radians(turned_deg))
    return np.asarray(ring @ np.array([[c, s], [-s, c]]), dtype=np.float64)


@pytest.mark.parametrize("turned_deg", [0.0, 33.0, 90.0])
@pytest.mark.parametrize("radius_mm", [8.0, 15.0])
def test_half_the_thickness_of_a_bar_is_its_radius_all_round(
    radius_mm: float, turned_deg: float
) -> None:
    # Closed form: the largest disc in a stadium that touches it anywhere has its ends' radius. What
    # is allowed for ragged edges makes it a ninth and two pixels larger at most.
    ring = stadium(long_mm=160.0, radius_mm=radius_mm, turned_deg=turned_deg)
    half, _ = edge_thickness(ring, eye_mm=FROM_ABOVE)
    spread = 160.0 + 2 * radius_mm
    pixel = spread / 240.0
    assert np.all(half * spread > radius_mm - pixel)
    assert np.all(half * spread < (radius_mm + 2 * pixel) / 0.9)


def test_a_thick_part_lies_higher_than_a_thin_one() -> None:
    # A bar of 20 mm that ends in a disc of 60 mm: shares of the spread, worked out by hand.
    turn = np.linspace(-2.8, 2.8, 200)
    disc = 30.0 * np.column_stack([np.cos(turn), np.sin(turn)])
    x = np.linspace(disc[-1, 0], -170.0, 100)[1:]
    ring = np.concatenate(
        [
            disc,
            np.column_stack([x, np.full(len(x), disc[-1, 1])]),
            np.column_stack([x[::-1], np.full(len(x), disc[0, 1])]),
        ]
    )
    heights = clump_heights(ring, eye_mm=FROM_ABOVE)
    on_disc = (np.arange(len(ring)) > 30) & (np.arange(len(ring)) < 170)
    on_bar = (ring[:, 0] < -60.0) & (ring[:, 0] > -150.0)
    spread = 200.0
    assert np.median(heights.ends[on_disc]) == pytest.approx(ENDS * 30.0 / spread, rel=0.15)
    assert np.median(heights.ends[on_bar]) == pytest.approx(ENDS * 10.0 / spread, rel=0.2)


def test_flanks_that_face_away_from_the_camera_lie_higher() -> None:
    ring = stadium(long_mm=120.0, radius_mm=20.0)
    aside = np.array([0.0, -240.0, 600.0])
    heights = clump_heights(ring, eye_mm=aside)
    _, facing = edge_thickness(ring, eye_mm=aside)
    far = (ring[:, 1] > 19.0) & (np.abs(ring[:, 0]) < 50.0)
    near = (ring[:, 1] < -19.0) & (np.abs(ring[:, 0]) < 50.0)
    # Tangents of the sight at the two long sides: (240 + 20) / 600 and (240 - 20) / 600.
    assert facing[far] == pytest.approx(260.0 / 600.0, abs=0.02)
    assert facing[near] == pytest.approx(-220.0 / 600.0, abs=0.02)
    gap = float(np.mean(heights.flanks[far]) - np.mean(heights.flanks[near]))
    assert gap == pytest.approx(FLANKS[2] * (20.0 / 160.0) * 480.0 / 600.0, rel=0.1)
    assert np.mean(heights.ends[far]) == pytest.approx(np.mean(heights.ends[near]), abs=0.005)


def test_the_same_outline_at_another_size_has_the_same_shares() -> None:
    ring = stadium(long_mm=100.0, radius_mm=14.0)
    one = clump_heights(ring, eye_mm=FROM_ABOVE)
    other = clump_heights(2.5 * ring, eye_mm=2.5 * FROM_ABOVE)
    assert other.ends == pytest.approx(one.ends, abs=0.004)
    assert other.flanks == pytest.approx(one.flanks, abs=0.004)


def test_an_outline_of_four_points_has_heights_too() -> None:
    ring = np.array([[0.0, 0.0], [200.0, 0.0], [200.0, 60.0], [0.0, 60.0]])
    heights = clump_heights(ring, eye_mm=FROM_ABOVE)
    assert heights.ends.shape == (4,)
    assert np.isfinite(heights.ends).all()
    with pytest.raises(ValueError, match="at least three points"):
        clump_heights(ring[:2], eye_mm=FROM_ABOVE)
