"""Random effects against published figures and against statsmodels.

Data: R. N. Kacker (2004), 'Combining information from interlaboratory evaluations using a random
effects model', Metrologia 41, 132-136: results of nine laboratories and their variances, as
statsmodels carries them in its own tests. The pinned pooled figures come from DerSimonian and
Laird's and Hartung and Knapp's formulae on these data, not from a table of that paper;
``combine_effects`` of ``statsmodels.stats.meta_analysis`` works them out again below. Q is 24.8019
in R's metafor as well, by the results that statsmodels keeps of it.
"""

import math

import numpy as np
import pytest
from statsmodels.stats.meta_analysis import combine_effects

from photolog.comparing import fixed_effect, pool_random_effects

VALUES = [61.0, 61.4, 62.21, 62.3, 62.34, 62.6, 62.7, 62.84, 65.9]
VARIANCES = [0.2025, 1.21, 0.09, 0.2025, 0.3844, 0.5625, 0.0676, 0.0225, 1.8225]


def test_fixed_effect_on_kackers_data():
    mean, se = fixed_effect(VALUES, VARIANCES)
    assert mean == pytest.approx(62.58340, abs=5e-6)
    assert se == pytest.approx(0.107846, abs=5e-7)


def test_dersimonian_laird_on_kackers_data():
    pooled = pool_random_effects(VALUES, VARIANCES)
    assert pooled.tau2 == pytest.approx(0.288049, abs=5e-7)
    assert pooled.mean == pytest.approx(62.39014, abs=5e-6)
    assert pooled.se_normal == pytest.approx(0.245750, abs=5e-7)
    assert pooled.interval_normal == pytest.approx((61.90848, 62.87180), abs=5e-6)
    assert pooled.q == pytest.approx(24.8019, abs=5e-5)
    assert pooled.i2_percent == pytest.approx(67.7444, abs=5e-5)


def test_hartung_knapp_on_kackers_data():
    pooled = pool_random_effects(VALUES, VARIANCES)
    assert pooled.se_hk == pytest.approx(0.294776, abs=5e-7)
    assert pooled.interval_hk == pytest.approx((61.71038, 63.06989), abs=5e-6)
    # It is the wider of the two here, so it is the one that is used.
    assert pooled.interval == pooled.interval_hk


def test_same_as_statsmodels_on_kackers_data():
    pooled = pool_random_effects(VALUES, VARIANCES)
    values, variances = np.array(VALUES), np.array(VARIANCES)
    theirs = combine_effects(values, variances, method_re="chi2", use_t=False)
    mean, se = fixed_effect(VALUES, VARIANCES)
    assert (mean, se) == pytest.approx((theirs.mean_effect_fe, theirs.sd_eff_w_fe), rel=1e-12)
    assert pooled.q == pytest.approx(theirs.q, rel=1e-9)
    assert pooled.tau2 == pytest.approx(theirs.tau2, rel=1e-9)
    assert pooled.mean == pytest.approx(theirs.mean_effect_re, rel=1e-12)
    assert pooled.se_normal == pytest.approx(theirs.sd_eff_w_re, rel=1e-9)
    assert pooled.se_hk == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-9)
    # conf_int: fixed, random, then both again with the scale from the scatter.
    normal = theirs.conf_int(use_t=False)[1]
    hartung_knapp = theirs.conf_int(use_t=True)[3]
    assert pooled.interval_normal == pytest.approx(normal, rel=1e-12)
    assert pooled.interval_hk == pytest.approx(hartung_knapp, rel=1e-12)


def test_root_of_the_variance_between_laboratories_in_kackers_table():
    # Kacker's table 1, p. 135, first row: 0.5359, as quoted in statsmodels' tests, which allow 1e-3
    # for it, since 0.5367 is what these data give; so does this.
    assert math.sqrt(pool_random_effects(VALUES, VARIANCES).tau2) == pytest.approx(0.5359, abs=1e-3)


@pytest.mark.parametrize("seed", range(8))
def test_same_as_statsmodels_on_drawn_data(seed):
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 12))
    variances = rng.uniform(0.001, 0.01, n)
    values = rng.normal(0.0, np.sqrt(variances + 0.004))
    pooled = pool_random_effects(list(values), list(variances))
    theirs = combine_effects(values, variances, method_re="chi2", use_t=True)
    assert pooled.tau2 == pytest.approx(max(0.0, theirs.tau2), abs=1e-12)
    if theirs.tau2 > 0:
        assert pooled.mean == pytest.approx(theirs.mean_effect_re, rel=1e-9)
        assert pooled.se_normal == pytest.approx(theirs.sd_eff_w_re, rel=1e-9)
        assert pooled.se_hk == pytest.approx(theirs.sd_eff_w_re_hksj, rel=1e-9)
    else:
        assert pooled.mean == pytest.approx(theirs.mean_effect_fe, rel=1e-9)


def test_interval_is_never_narrower_than_the_normal_one():
    # Three values that agree far better than their variances allow: the plain interval of Hartung
    # and Knapp would be 50 times narrower than what is known of each value.
    pooled = pool_random_effects([1.0, 1.001, 0.999], [0.04, 0.04, 0.04])
    assert pooled.interval_hk[1] - pooled.interval_hk[0] < 0.01
    assert pooled.interval == pooled.interval_normal
    assert pooled.interval[1] - pooled.mean == pytest.approx(1.959964 * 0.2 / math.sqrt(3))
