"""Known changes drawn many times: the intervals hold them, and nothing changed is seldom called so.

Every draw is seeded. The bounds are those of the number of draws itself: a share of 0.95 seen in
n draws scatters by sqrt(0.95 * 0.05 / n), and four times that is allowed.
"""

import math
from datetime import datetime, timedelta

import numpy as np
import pytest

from photolog.comparing import SIZE_KINDS, Shot, compare_sizes

SPREAD = SIZE_KINDS["spread_mm"]
DUG = {2024: datetime(2025, 5, 17, 14, 0), 2025: datetime(2026, 5, 16, 14, 0)}
CHANGES = (0.80, 0.88, 1.00, 0.93, 1.06, 1.125)


def drawn_shots(rng, changes, *, clumps, plant_sd=0.0, printings=("a", "a"), u=0.012, scale=0.006):
    """Two seasons of a garden whose true changes are known; every error is as it is claimed."""
    scale_error = {name: rng.normal(0, scale) for name in dict.fromkeys(printings)}
    shots = []
    for v, change in enumerate(changes):
        for c in range(clumps[v % len(clumps)]):
            size = 220 * math.exp(rng.normal(0, 0.2))
            sizes = (size, size * change * math.exp(rng.normal(0, plant_sd)))
            for season, true, printing in zip((2024, 2025), sizes, printings, strict=True):
                lay, own = rng.normal(0, 0.03), rng.normal(0, u)
                read = true * math.exp(lay + own + scale_error[printing])
                shots.append(
                    Shot(
                        plant=f"{v}-{c}",
                        variety=f"variety {v}",
                        season=season,
                        stage=None,
                        taken_at=DUG[season] + timedelta(minutes=3 * len(shots)),
                        value=read,
                        u=u * read,
                        scale_u=scale * read,
                        printing=printing,
                    )
                )
    return shots


def allowed(share, n):
    return 4 * math.sqrt(share * (1 - share) / n)


@pytest.mark.parametrize(
    ("clumps", "plant_sd", "printings"),
    [
        ((1,), 0.0, ("a", "a")),
        ((2, 1, 1, 1, 1, 2), 0.0, ("a", "b")),
        ((4,), 0.10, ("a", "a")),
    ],
    ids=["one clump", "two printings", "clumps change unlike"],
)
def test_intervals_of_varieties_hold_the_true_change(clumps, plant_sd, printings):
    rng = np.random.default_rng(20260516)
    held = n = 0
    for _ in range(200):
        shots = drawn_shots(rng, CHANGES, clumps=clumps, plant_sd=plant_sd, printings=printings)
        for row in compare_sizes(shots, kind=SPREAD, first=2024, second=2025).rows:
            true = CHANGES[int(row.variety.split()[1])]
            low, high = row.change.interval95
            held += low <= true <= high
            n += 1
    assert held / n > 0.95 - allowed(0.95, n)
    assert held / n < 0.985


def test_pooled_interval_holds_the_true_mean_change():
    rng = np.random.default_rng(11)
    held = 0
    draws = 400
    for _ in range(draws):
        changes = np.exp(rng.normal(math.log(0.93), 0.08, 6))
        shots = drawn_shots(rng, changes, clumps=(1, 2), printings=("a", "b"))
        (pooled,) = compare_sizes(shots, kind=SPREAD, first=2024, second=2025).pooled
        held += pooled.interval95[0] <= 0.93 <= pooled.interval95[1]
    assert held / draws == pytest.approx(0.95, abs=allowed(0.95, draws))


def test_nothing_changed_is_seldom_called_smaller():
    rng = np.random.default_rng(7)
    words, pooled_words = [], []
    for _ in range(300):
        shots = drawn_shots(rng, (1.0,) * 6, clumps=(1,))
        result = compare_sizes(shots, kind=SPREAD, first=2024, second=2025)
        words += [row.word for row in result.rows]
        pooled_words.append(result.pooled[0].word)
    for said, n in ((words, len(words)), (pooled_words, len(pooled_words))):
        for word in ("smaller", "larger"):
            assert said.count(word) / n < 0.025 + allowed(0.025, n)


def test_a_fifth_smaller_is_seen():
    rng = np.random.default_rng(3)
    words = []
    for _ in range(100):
        result = compare_sizes(
            drawn_shots(rng, (0.8,) * 6, clumps=(1,)), kind=SPREAD, first=2024, second=2025
        )
        words += [row.word for row in result.rows]
    assert words.count("smaller") / len(words) > 0.97
