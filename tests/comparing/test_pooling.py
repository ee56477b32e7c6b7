"""Laws that pooling obeys, and what it refuses."""

import math

import pytest

from photolog.comparing import fixed_effect, pool_random_effects
from photolog.comparing.pooling import normal_quantile, t_quantile


def test_shifting_all_values_shifts_the_mean_alone():
    one = pool_random_effects([0.1, 0.3, 0.2], [0.01, 0.02, 0.01])
    two = pool_random_effects([5.1, 5.3, 5.2], [0.01, 0.02, 0.01])
    assert two.mean == pytest.approx(one.mean + 5)
    assert two.se_hk == pytest.approx(one.se_hk)
    assert two.tau2 == pytest.approx(one.tau2)


def test_scaling_values_scales_mean_and_interval():
    one = pool_random_effects([0.1, 0.5, -0.2], [0.01, 0.02, 0.01])
    two = pool_random_effects([1.0, 5.0, -2.0], [1.0, 2.0, 1.0])
    assert two.mean == pytest.approx(10 * one.mean)
    assert two.interval == pytest.approx([10 * end for end in one.interval])


def test_equal_variances_give_the_plain_mean_and_equal_weights():
    pooled = pool_random_effects([1.0, 2.0, 6.0], [0.5, 0.5, 0.5])
    assert pooled.mean == pytest.approx(3.0)
    assert pooled.weights == pytest.approx([1 / 3] * 3)
    # With equal variances Hartung and Knapp's is the ordinary t interval of the mean.
    sd = math.sqrt((4 + 1 + 9) / 2)
    assert pooled.se_hk == pytest.approx(sd / math.sqrt(3))


def test_values_that_agree_leave_no_scatter_and_no_nan():
    pooled = pool_random_effects([2.0, 2.0], [0.25, 0.25])
    assert pooled.tau2 == 0.0
    assert pooled.i2_percent == 0.0
    assert pooled.interval == pytest.approx(pooled.interval_normal)


def test_quantiles_are_the_tabled_ones():
    # Student's table, any textbook: 95 %, two-sided.
    assert t_quantile(1) == pytest.approx(12.706, abs=5e-4)
    assert t_quantile(8) == pytest.approx(2.306, abs=5e-4)
    assert t_quantile(math.inf) == normal_quantile() == pytest.approx(1.959964, abs=5e-7)


def test_one_value_has_no_scatter_to_look_at():
    with pytest.raises(ValueError, match="at least two values, got 1"):
        pool_random_effects([1.0], [0.1])


@pytest.mark.parametrize("variance", [0.0, -1.0, math.nan, math.inf])
def test_a_variance_must_be_above_zero(variance):
    with pytest.raises(ValueError, match="a variance must be above zero and finite"):
        fixed_effect([1.0, 2.0], [0.1, variance])


def test_bad_input_is_named():
    with pytest.raises(ValueError, match="2 values but 1 variances"):
        fixed_effect([1.0, 2.0], [0.1])
    with pytest.raises(ValueError, match="nothing to average"):
        fixed_effect([], [])
    with pytest.raises(ValueError, match="a finite number, got nan"):
        fixed_effect([math.nan], [0.1])
