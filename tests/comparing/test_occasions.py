"""A burst is one occasion: by hand on small numbers, and by coverage on drawn ones."""

import math
from datetime import datetime, timedelta

import numpy as np
import pytest

from photolog.comparing import Shot, clump_sizes
from photolog.comparing.occasions import by_burst, mean_of_burst

AT = datetime(2026, 5, 16, 14, 0)


def shot(value, *, seconds=0.0, u=None, **more):
    return Shot(
        **{
            "plant": "11",
            "variety": "Tin Orchard",
            "season": 2025,
            "stage": "as lifted",
            "taken_at": AT + timedelta(seconds=seconds),
            "value": value,
            "u": 0.02 * value if u is None else u,
            "printing": "one",
        }
        | more
    )


def layings(*shots):
    (clump,) = clump_sizes(shots)
    return clump.layings


def test_gathered_by_burst_in_order():
    assert by_burst("abacad", lambda letter: "a" if letter == "a" else None) == (
        ("a", "a", "a"),
        ("b",),
        ("c",),
        ("d",),
    )


def test_the_mean_of_a_burst_is_no_surer_than_its_shots():
    assert mean_of_burst([(200.0, 4.0), (206.0, 4.0), (203.0, 4.0)]) == (203.0, 4.0)
    with pytest.raises(ValueError, match="at least one shot"):
        mean_of_burst([])


def test_a_burst_weighs_as_much_as_one_photo_of_the_same_laying():
    burst = [shot(220.0, seconds=n, burst="7") for n in range(9)]
    (laying,) = layings(*burst, shot(200.0, seconds=120))
    assert laying.log_value == pytest.approx((math.log(220) + math.log(200)) / 2)
    assert laying.variance == pytest.approx(0.02**2)


def test_as_many_shots_as_one_likes_make_a_size_no_surer():
    one = clump_sizes([shot(220.0)])[0].variance(lay_sd=0.03)
    many = clump_sizes([shot(220.0, seconds=n, burst="7") for n in range(20)])[0]
    assert many.variance(lay_sd=0.03) == pytest.approx(one)
    assert many.n_photos == 20


def test_each_printing_counts_as_its_shots_do():
    burst = [shot(220.0, seconds=n, burst="7") for n in range(3)]
    (clump,) = clump_sizes([*burst, shot(200.0, seconds=60, printing="two")])
    assert dict(clump.scale) == pytest.approx({"one": 0.5, "two": 0.5})


def test_what_the_grower_joined_is_one_laying_whatever_lies_between():
    early, late = shot(220.0, burst="7"), shot(226.0, seconds=3600, burst="7")
    assert len(layings(early, shot(210.0, seconds=1800), late)) == 2
    assert len(layings(early, late)) == 1
    assert len(layings(shot(220.0), shot(226.0, seconds=3600))) == 2


def test_what_the_grower_set_apart_is_a_laying_of_its_own():
    found = layings(shot(220.0), shot(226.0, seconds=4, set_apart=True), shot(222.0, seconds=8))
    assert sorted(math.exp(one.log_value) for one in found) == [
        pytest.approx(math.sqrt(220.0 * 222.0)),
        pytest.approx(226.0),
    ]


def test_intervals_of_bursts_hold_what_they_claim():
    """1,000 drawn clumps: what a laying and a camera's height err by is shared by a burst."""
    rng = np.random.default_rng(4)
    lay_sd, shared_sd, own_sd = 0.03, 0.02, 0.003
    pulls = []
    for _ in range(1000):
        true = 220.0
        common = true * math.exp(rng.normal(0, lay_sd) + rng.normal(0, shared_sd))
        shots = [
            shot(common * math.exp(rng.normal(0, own_sd)), seconds=n, burst="7") for n in range(6)
        ]
        (clump,) = clump_sizes([shot(s.value, u=shared_sd * s.value, seconds=n, burst="7")
                                for n, s in enumerate(shots)])  # fmt: skip
        sd = math.sqrt(clump.variance(lay_sd=lay_sd))
        pulls.append((clump.log_value - math.log(true)) / sd)
    # Of 1,000 standard normal draws the standard deviation lies within 0.93 and 1.07 in 99.8 %.
    assert 0.93 < float(np.std(pulls)) < 1.07
