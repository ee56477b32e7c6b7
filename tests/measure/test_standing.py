"""Tubers that stand clear of the ground: closed forms, laws, and drawn bodies at rest."""

import numpy as np
import pytest
from scipy.stats import norm

from measure.other_shapes import bunch_clump
from measure.shapes import grow_clump
from measure.standing import off_ground, rises, together
from tests.measure.varied import clump_case


def test_many_tubers_stand_off_the_ground_more_often() -> None:
    shares = [off_ground(float(tubers)) for tubers in range(1, 30)]
    assert np.all(np.diff(shares) >= 0.0)
    assert shares[0] < off_ground(None) < shares[-1] < 1.0


@pytest.mark.parametrize("share", [0.0, 0.2, 0.5])
def test_the_usual_height_has_as_many_ends_below_it_as_above(share: float) -> None:
    # A normal draw is below 0 as often as above; what is drawn rises with it.
    drawn = np.linspace(-5.0, 5.0, 2001)
    heights = rises(drawn, share)
    assert np.all(np.diff(heights) >= 0.0)
    usual = float(rises(np.zeros(1), share)[0])
    # Distribution from its two parts: normal for those at rest, even for those that stand.
    below = (1 - share) * norm.cdf((usual + 0.010) / 0.018) + share * max(usual, 0.0) / 0.24
    assert below == pytest.approx(0.5, abs=0.01)


def test_one_in_so_many_stands_anywhere_up_to_a_quarter_of_the_spread() -> None:
    # Far above what ends at rest scatter by, only those that stand are left: evenly spread.
    drawn = norm.ppf((np.arange(20_000) + 0.5) / 20_000)
    heights = rises(drawn, 0.4)
    for level in (0.08, 0.14, 0.20):
        assert np.mean(heights > level) == pytest.approx(0.4 * (1 - level / 0.24), abs=0.005)


@pytest.mark.parametrize("share", [-0.1, 1.0, float("nan")])
def test_a_share_that_can_not_be_is_refused(share: float) -> None:
    with pytest.raises(ValueError, match="runs from 0 to below 1"):
        rises(np.zeros(1), share)


def test_places_on_one_tuber_rise_together_and_others_on_their_own() -> None:
    places = np.array([[0.0, 0.0], [4.0, 0.0], [300.0, 0.0], [150.0, 200.0]])
    parts = together(places, spread_mm=300.0)
    alike = parts @ parts.T
    assert np.diag(alike) == pytest.approx(1.0)
    assert alike[0, 1] > 0.98
    assert np.abs(alike[0, 2:]).max() < 0.02


def test_a_bunch_lies_still_on_its_lowest_three() -> None:
    # Statics: at rest the centre of gravity is above the polygon of what touches the ground; a body
    # that lies on three points or more touches it in so many places.
    for seed in range(12):
        clump = bunch_clump(spread_mm=300.0, tubers=3 + seed, seed=seed)
        points = clump.points
        assert points[:, 2].min() == pytest.approx(0.0, abs=1e-9)
        low = points[points[:, 2] < 2.5][:, :2]
        spread = np.ptp(low, axis=0)
        assert spread.max() > 40.0, seed
        assert clump.spread_mm == pytest.approx(300.0)


def test_what_stands_does_not_change_what_lies() -> None:
    lying = grow_clump(spread_mm=300.0, tubers=7, seed=4)
    standing = grow_clump(spread_mm=300.0, tubers=7, seed=4, standing=True)
    assert standing.points[:, 2].max() > lying.points[:, 2].max()
    assert len(standing.bodies) == len(lying.bodies)


def test_an_interval_reaches_further_down_than_up() -> None:
    # An end that stands is seen too far out, never too near.
    for seed in range(4):
        size = clump_case(seed).made.sizes["spread_mm"]
        low, high = size.interval95
        assert size.value - low > high - size.value
