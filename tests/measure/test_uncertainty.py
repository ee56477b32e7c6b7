"""Correlated inputs taken apart, and drawing: laws, repeatability, and what is refused."""

import numpy as np
import pytest

from measure.uncertainty import drawn_from, even_draws, independent_parts, propagate


def random_covariance(rng, n, *, scale=1.0):
    root = rng.normal(size=(n, n)) * scale
    return root @ root.T


@pytest.mark.parametrize("n", [1, 2, 5])
def test_parts_add_up_to_the_covariance(n):
    rng = np.random.default_rng(n)
    covariance = random_covariance(rng, n, scale=rng.uniform(1e-6, 1e3, (n, 1)))
    parts = np.array(independent_parts(covariance))
    scale = np.sqrt(np.diag(covariance))
    assert parts.T @ parts / np.outer(scale, scale) == pytest.approx(
        covariance / np.outer(scale, scale), abs=1e-9
    )


def test_uncorrelated_inputs_are_shifted_one_by_one():
    parts = independent_parts(np.diag([4.0, 0.0, 9.0]))
    assert sorted(np.abs(part).max() for part in parts) == pytest.approx([2.0, 3.0])
    assert all(np.count_nonzero(np.abs(part) > 1e-12) == 1 for part in parts)


def test_fully_correlated_inputs_are_one_part():
    (part,) = independent_parts(np.array([[1.0, 2.0], [2.0, 4.0]]))
    assert np.abs(part) == pytest.approx([1.0, 2.0])
    assert part[0] * part[1] > 0


def test_what_is_no_covariance_is_refused():
    with pytest.raises(ValueError, match=r"square, got shape \(2, 3\)"):
        independent_parts(np.zeros((2, 3)))
    with pytest.raises(ValueError, match="symmetric"):
        independent_parts(np.array([[1.0, 0.5], [0.1, 1.0]]))
    with pytest.raises(ValueError, match="can't belong together"):
        independent_parts(np.array([[1.0, 2.0], [2.0, 1.0]]))


@pytest.mark.parametrize("draws", [40, 2000])
def test_even_draws_are_even_in_mean_and_covariance(draws):
    even = even_draws(draws, 7, seed=3)
    assert even.shape == (draws, 7)
    assert even.mean(axis=0) == pytest.approx(0.0, abs=1e-12)
    assert even.T @ even / draws == pytest.approx(np.eye(7), abs=1e-9)


def test_even_draws_are_normal_and_the_same_each_run():
    even = even_draws(4000, 3, seed=3)
    assert np.array_equal(even, even_draws(4000, 3, seed=3))
    assert not np.array_equal(even, even_draws(4000, 3, seed=4))
    # Fourth moment of a normal variable: 3; from n draws it scatters by sqrt(96 / n).
    assert (even**4).mean(axis=0) == pytest.approx(3.0, abs=4 * np.sqrt(96 / 4000))


class Bent:
    """One straight result and one square one, of three inputs."""

    names = ("a", "b", "b")

    def sizes(self, inputs):
        a, b, c = inputs.T
        return {"straight": 5.0 + 2.0 * a - b + 2.0 * c, "square": 1.0 + a**2}


def test_propagation_is_exact_for_what_is_straight():
    found = propagate(Bent())
    assert found["straight"].central == 5.0
    assert found["straight"].u == pytest.approx(3.0)
    assert list(found["straight"].effects) == pytest.approx([2.0, -1.0, 2.0])


def test_propagation_is_blind_to_what_is_even_and_drawing_is_not():
    assert propagate(Bent())["square"].u == 0.0
    drawn = drawn_from(Bent().sizes(even_draws(20_000, 3, seed=1))["square"])
    # 1 + chi-square of one degree: mean 2, sd sqrt 2.
    assert drawn.mean == pytest.approx(2.0, abs=1e-9)
    assert drawn.u == pytest.approx(np.sqrt(2.0), rel=0.03)
