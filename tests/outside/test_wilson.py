"""Wilson's interval against R's figures, against statsmodels and against scipy.

The table: 95 %, no continuity correction, from R's ``binom.confint``, as carried by statsmodels'
own tests of ``proportion_confint``.
"""

import pytest
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from photolog.comparing import wilson_interval

TABLE = [
    (18, 20, 0.698966, 0.972134),
    (4, 20, 0.080658, 0.416017),
    (4, 200, 0.007804, 0.050287),
    (1, 30, 0.005909, 0.166704),
    (0, 30, 0.0, 0.113513),
    (30, 30, 0.886487, 1.0),
]


@pytest.mark.parametrize(("successes", "trials", "low", "high"), TABLE)
def test_r_figures(successes, trials, low, high):
    assert wilson_interval(successes, trials) == pytest.approx((low, high), abs=6e-7)


@pytest.mark.parametrize("confidence", [0.8, 0.95, 0.99])
@pytest.mark.parametrize("trials", [1, 2, 9, 40])
def test_same_as_statsmodels_and_scipy(trials, confidence):
    for successes in range(trials + 1):
        ours = wilson_interval(successes, trials, confidence=confidence)
        theirs = proportion_confint(successes, trials, alpha=1 - confidence, method="wilson")
        assert ours == pytest.approx(theirs, abs=1e-12)
        scipys = binomtest(successes, trials).proportion_ci(confidence, method="wilson")
        assert ours == pytest.approx((scipys.low, scipys.high), abs=1e-12)
