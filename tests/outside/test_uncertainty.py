"""Propagation and drawing against the examples of the GUM and its first supplement.

Sources: JCGM 100:2008 ('GUM'), example H.2, simultaneous resistance and reactance; JCGM 101:2008
('Propagation of distributions using a Monte Carlo method'), clause 9.2, additive model. The worked
budget and the logarithm were computed apart from this program, from the inputs given, with Monte
Carlo agreeing; the probability formula they rest on is in any textbook.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pytest

from measure.budget import Cause, budget_of, share_of, weigh
from measure.uncertainty import drawn_from, even_draws, independent_parts, propagate

# GUM table H.2: five readings of voltage (V), current (A) and phase (rad). The readings are written
# down from memory; that they are the right ones shows in their means, uncertainties and
# correlations, which the next test compares with the published ones.
READINGS = np.array(
    [
        [5.007, 4.994, 5.005, 4.990, 4.999],
        [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
        [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
    ]
)
MEAN = READINGS.mean(axis=1)
COVARIANCE = np.cov(READINGS) / 5


@dataclass(frozen=True)
class Example:
    """Results (B,) by name from independent standard normal inputs (B, n)."""

    names: tuple[str, ...]
    sizes: Callable[[np.ndarray], dict[str, np.ndarray]]


def impedance(mean, covariance):
    parts = np.array(independent_parts(covariance))

    def of(inputs):
        v, i, phi = (mean + inputs @ parts).T
        return {"R": v / i * np.cos(phi), "X": v / i * np.sin(phi), "Z": v / i}

    return Example(("readings",) * len(parts), of)


def propagated(mean, covariance):
    return propagate(impedance(mean, covariance))


def test_gum_h2_readings_are_those_of_the_example():
    u = np.sqrt(np.diag(COVARIANCE))
    correlation = COVARIANCE / np.outer(u, u)
    assert list(MEAN) == pytest.approx([4.9990, 19.6610e-3, 1.04446], rel=1e-6)
    assert u == pytest.approx([3.2e-3, 9.5e-6, 7.5e-4], rel=0.01)
    assert correlation[0, 1] == pytest.approx(-0.36, abs=0.005)
    assert correlation[0, 2] == pytest.approx(0.86, abs=0.005)
    assert correlation[1, 2] == pytest.approx(-0.65, abs=0.005)


@pytest.mark.parametrize(
    ("name", "value", "u"), [("R", 127.732, 0.071), ("X", 219.847, 0.295), ("Z", 254.260, 0.236)]
)
def test_gum_h2_correlated_inputs(name, value, u):
    size = propagated(MEAN, COVARIANCE)[name]
    assert size.central == pytest.approx(value, abs=6e-4)
    assert size.u == pytest.approx(u, abs=1e-3)


def test_gum_h2_agrees_with_its_derivatives_written_out():
    v, i, phi = MEAN
    by_v_i_phi = np.array(
        [
            [math.cos(phi) / i, -v / i**2 * math.cos(phi), -v / i * math.sin(phi)],
            [math.sin(phi) / i, -v / i**2 * math.sin(phi), v / i * math.cos(phi)],
            [1 / i, -v / i**2, 0.0],
        ]
    )
    exact = np.sqrt(np.diag(by_v_i_phi @ COVARIANCE @ by_v_i_phi.T))
    sizes = propagated(MEAN, COVARIANCE)
    assert [sizes[name].u for name in "RXZ"] == pytest.approx(exact, rel=1e-5)


def test_gum_h2_without_its_correlations_comes_out_wrong():
    # The example's point: leaving the correlations out changes u of R several times over.
    assert propagated(MEAN, np.diag(np.diag(COVARIANCE)))["R"].u > 2.5 * 0.071


def test_gum_h2_by_monte_carlo():
    drawn = impedance(MEAN, COVARIANCE).sizes(even_draws(2000, 3, seed=8))
    for name, size in propagated(MEAN, COVARIANCE).items():
        assert drawn[name].std() == pytest.approx(size.u, rel=2e-3)


CARD_MM, HEIGHT_MM, AWAY_MM = 155.172414, 20.0, 600.0


def corrected(inputs):
    """What stands a height above the card reads too long by height over distance.

    0.3 mm at each end of the uncorrected length.
    """
    lift, distance, one_end, other_end = inputs.T
    height_mm, away_mm = HEIGHT_MM + 5.0 * lift, AWAY_MM + 20.0 * distance
    card_mm = CARD_MM + 0.3 * (one_end + other_end)
    return {"D_mm": card_mm * (1.0 - height_mm / away_mm)}


LENGTH = Example(("lift", "distance", "outline", "outline"), corrected)


def shared_causes():
    sizes = {"D_mm": 150.0}
    return [
        share_of("printing", sizes, percent=0.1),
        share_of("card pose", sizes, percent=0.02),
        share_of("lens", sizes, percent=0.3),
    ]


def test_a_worked_budget_of_a_length():
    length = {"D_mm": propagate(LENGTH)["D_mm"].central}
    budget = weigh(length, shared_causes(), LENGTH, method="propagation").sizes["D_mm"]
    assert budget.value == pytest.approx(150.000, abs=5e-4)
    expected = {
        "lift": 1.2931,
        "distance": 0.1724,
        "printing": 0.1500,
        "card pose": 0.0300,
        "lens": 0.4500,
        "outline": 0.4101,
    }
    # The distance enters by its reciprocal: the shift each way gives 0.1726, first order 0.1724.
    assert dict(budget.components) == pytest.approx(expected, abs=3e-4)
    assert budget.u == pytest.approx(1.4477, abs=3e-4)
    low, high = budget.interval95
    assert (high - low) / 2 == pytest.approx(1.959964 / 2 * 2.895, abs=1e-3)


def test_the_worked_budget_by_monte_carlo():
    weighed = weigh({"D_mm": 150.0}, shared_causes(), LENGTH, method="Monte Carlo", draws=40_000)
    drawn = weighed.sizes["D_mm"]
    # Little of it is crooked, so that drawing evenly leaves little to chance.
    assert drawn.u == pytest.approx(1.4477, abs=4e-3)
    assert drawn.value == pytest.approx(150.0, abs=0.01)
    assert weigh({"D_mm": 150.0}, shared_causes(), LENGTH).method == "propagation"


@pytest.mark.parametrize(
    ("four", "half"),
    [
        (lambda rng, n: rng.normal(size=(n, 4)), 3.92),
        (lambda rng, n: rng.uniform(-math.sqrt(3), math.sqrt(3), size=(n, 4)), 3.88),
    ],
    ids=["normal", "rectangular"],
)
def test_jcgm_101_additive_model_by_drawing(four, half):
    # Four inputs of mean 0 and u 1: y = 0, u(y) = 2.0, and the 95 % intervals of clause 9.2.
    drawn = drawn_from(four(np.random.default_rng(101), 400_000).sum(axis=1))
    assert drawn.mean == pytest.approx(0.0, abs=0.015)
    assert drawn.u == pytest.approx(2.0, abs=0.01)
    # An end drawn so often scatters by 0.008; the two intervals are 0.04 apart.
    assert drawn.interval95 == pytest.approx((-half, half), abs=0.02)


def test_jcgm_101_additive_model_by_even_draws():
    # The same with 2,000 draws made even: mean and u are exact, its ends are not.
    drawn = drawn_from(even_draws(2000, 4, seed=3).sum(axis=1))
    assert (drawn.mean, drawn.u) == pytest.approx((0.0, 2.0), abs=1e-9)
    assert drawn.interval95 == pytest.approx((-3.92, 3.92), abs=0.2)


def test_jcgm_101_additive_model_by_propagation():
    causes = [Cause(name="X", effects={"y": 1.0})] * 4
    assert budget_of({"y": 10.0}, causes)["y"].u == pytest.approx(2.0)
    assert budget_of({"y": 10.0}, causes)["y"].interval95 == pytest.approx((6.08, 13.92), abs=0.005)


def test_where_first_order_fails_drawing_does_not():
    # y = ln x with x rectangular on 0.1 to 1.1: first order -0.511 (0.481), truly -0.665 (0.606).
    u = 1.0 / math.sqrt(12.0)
    first_order = budget_of({"y": math.log(0.6)}, [Cause(name="x", effects={"y": u / 0.6})])["y"]
    assert (first_order.value, first_order.u) == pytest.approx((-0.511, 0.481), abs=5e-4)
    drawn = drawn_from(np.log(np.random.default_rng(5).uniform(0.1, 1.1, 200_000)))
    assert (drawn.mean, drawn.u) == pytest.approx((-0.665, 0.606), abs=0.005)


def test_where_first_order_fails_monte_carlo_is_taken():
    # The same logarithm of a normal input: weighing it must not stay with first order.
    crooked = Example(("x",), lambda inputs: {"y_mm": np.exp(0.5 * inputs[:, 0])})
    weighed = weigh({"y_mm": 1.0}, [], crooked)
    assert weighed.method == "Monte Carlo"
    # Lognormal, closed form: mean exp(s^2 / 2), sd mean sqrt(exp(s^2) - 1), interval exp(+-1.96 s).
    mean = math.exp(0.125)
    assert weighed.sizes["y_mm"].value == pytest.approx(mean, rel=0.01)
    assert weighed.sizes["y_mm"].u == pytest.approx(mean * math.sqrt(math.expm1(0.25)), rel=0.05)
    low, high = weighed.sizes["y_mm"].interval95
    assert (low, high) == pytest.approx((math.exp(-0.98), math.exp(0.98)), rel=0.06)
