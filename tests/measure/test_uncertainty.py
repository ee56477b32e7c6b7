"""Correlated inputs taken apart, and drawing: laws, repeatability, and what is refused."""

import numpy as np
import pytest

from measure.uncertainty import draw, independent_parts


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


def test_drawing_is_the_same_each_run_and_another_with_another_seed():
    def once(rng):
        return {"a": rng.normal(), "b": 2.0}

    assert draw(once, draws=50, seed=3) == draw(once, draws=50, seed=3)
    assert draw(once, draws=50, seed=3)["a"] != draw(once, draws=50, seed=4)["a"]
    assert draw(once, draws=50, seed=3)["b"].u == 0.0


def test_one_draw_has_no_scatter():
    with pytest.raises(ValueError, match="at least two draws, got 1"):
        draw(lambda rng: {"a": rng.normal()}, draws=1, seed=0)
