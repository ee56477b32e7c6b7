"""Two seasons side by side: what the ratio is, what cancels, and what can't be said."""

import math
from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from photolog.comparing import SIZE_KINDS, Shot, clump_sizes, compare_sizes

SPREAD = SIZE_KINDS["spread_mm"]
TUBERS = SIZE_KINDS["tubers"]
DUG = {2024: datetime(2025, 5, 17, 14, 0), 2025: datetime(2026, 5, 16, 14, 0)}


def shot(plant, season, value, *, variety="Tin Orchard", u=None, minutes=0, **more):
    return Shot(
        **{
            "plant": plant,
            "variety": variety,
            "season": season,
            "stage": "as lifted",
            "taken_at": DUG[season] + timedelta(minutes=minutes),
            "value": value,
            "u": 0.01 * value if u is None else u,
            "printing": "one",
        }
        | more
    )


def compare(*shots, kind=SPREAD):
    return compare_sizes(shots, kind=kind, first=2024, second=2025)


def test_one_clump_in_both_seasons():
    result = compare(shot("11", 2024, 200.0), shot("11", 2025, 160.0))
    (row,) = result.rows
    assert row.change.ratio == pytest.approx(0.8)
    # By hand: 1 % of measuring and 3 % of laying, in each season.
    half = 1.959964 * math.sqrt(2 * (0.01**2 + 0.03**2))
    assert row.change.interval95 == pytest.approx((0.8 * math.exp(-half), 0.8 * math.exp(half)))
    assert (row.word, row.why, row.change.basis) == ("smaller", None, "same clumps")
    assert row.first.value == pytest.approx(200.0)
    assert row.first.half95 == pytest.approx(200 * 1.959964 * math.hypot(0.01, 0.03))
    assert result.change_scatter is None


def test_the_ratio_turns_over_with_the_seasons():
    shots = [shot("11", 2024, 200.0), shot("11", 2025, 150.0), shot("21", 2025, 99.0)]
    forth = compare_sizes(shots, kind=SPREAD, first=2024, second=2025).rows[0].change
    back = compare_sizes(shots, kind=SPREAD, first=2025, second=2024).rows[0].change
    assert back.ratio == pytest.approx(1 / forth.ratio)
    assert back.interval95 == pytest.approx((1 / forth.interval95[1], 1 / forth.interval95[0]))


def test_a_printing_used_in_both_seasons_cancels():
    without = compare(shot("11", 2024, 200.0), shot("11", 2025, 160.0)).rows[0].change
    shared = compare(
        shot("11", 2024, 200.0, scale_u=2.0), shot("11", 2025, 160.0, scale_u=1.6)
    ).rows[0]
    assert shared.change.interval95 == pytest.approx(without.interval95)
    assert dict(shared.change.scale) == {}
    # The sizes themselves do carry it.
    assert shared.first.half95 > 200 * 1.959964 * math.hypot(0.01, 0.03)


def test_two_printings_do_not_cancel():
    change = (
        compare(
            shot("11", 2024, 200.0, scale_u=2.0),
            shot("11", 2025, 160.0, scale_u=1.6, printing="two"),
        )
        .rows[0]
        .change
    )
    half = 1.959964 * math.sqrt(2 * (0.01**2 + 0.03**2) + 2 * 0.01**2)
    assert change.interval95[1] == pytest.approx(0.8 * math.exp(half))


def test_scale_of_two_printings_is_not_averaged_away_over_varieties():
    def pooled(n, scale):
        shots = []
        for i in range(n):
            name = f"v{i}"
            shots += [
                shot(name, 2024, 200.0, variety=name, scale_u=200 * scale),
                shot(name, 2025, 200.0, variety=name, scale_u=200 * scale, printing="two"),
            ]
        (only,) = compare(*shots).pooled
        return math.log(only.interval95[1])

    for n in (4, 100):
        added = pooled(n, 0.01) ** 2 - pooled(n, 0.0) ** 2
        assert added == pytest.approx(1.959964**2 * 2 * 0.01**2)


def test_photos_of_one_laying_count_once_and_of_two_layings_twice():
    one = clump_sizes([shot("11", 2024, 200.0), shot("11", 2024, 200.0, minutes=2)])[0]
    two = clump_sizes([shot("11", 2024, 200.0), shot("11", 2024, 200.0, minutes=40)])[0]
    assert (len(one.layings), len(two.layings)) == (1, 2)
    assert one.variance(lay_sd=0.03) == pytest.approx(2 * two.variance(lay_sd=0.03))
    assert one.n_photos == two.n_photos == 2


def test_repeated_layings_move_the_lay_scatter_from_our_judgement():
    def lay(factor):
        shots = []
        for i in range(12):
            shots += [
                shot(f"p{i}", 2024, 200.0, u=0.01),
                shot(f"p{i}", 2024, 200.0 * factor, u=0.01, minutes=30),
            ]
        return compare(*shots).lay

    assert lay(1.0).sd < SPREAD.lay_prior < lay(1.10).sd
    # By hand: 12 differences of log 1.1, each giving half its square, and 4 of the prior.
    expected = (4 * 0.03**2 + 12 * math.log(1.1) ** 2 / 2) / 16
    assert lay(1.10).sd == pytest.approx(math.sqrt(expected), rel=1e-4)
    assert lay(1.10).observed == 12


def test_clumps_that_changed_differently_widen_the_interval():
    def width(changes):
        shots = []
        for i, change in enumerate(changes):
            shots += [shot(f"p{i}", 2024, 200.0), shot(f"p{i}", 2025, 200.0 * change)]
        low, high = compare(*shots).rows[0].change.interval95
        return high / low

    assert width([0.6, 0.8, 1.0]) > 1.5 * width([0.79, 0.8, 0.81])


def test_other_clumps_need_two_on_each_side():
    row = compare(shot("11", 2024, 200.0), shot("12", 2025, 160.0), shot("13", 2025, 161.0)).rows[0]
    assert (row.change, row.word) == (None, "too few to say")
    assert row.why == "not the same clumps in both seasons, and only one in 2024"

    row = compare(
        shot("11", 2024, 200.0),
        shot("14", 2024, 210.0),
        shot("12", 2025, 160.0),
        shot("13", 2025, 161.0),
    ).rows[0]
    assert row.change.basis == "different clumps"
    assert row.change.ratio == pytest.approx(math.sqrt(160 * 161 / 200 / 210))
    # Clumps of one variety differ by about a fifth, so two beside two others say nothing.
    assert row.word == "too few to say"
    assert row.why == "the interval is too wide to call it unchanged"


def test_a_clump_of_one_season_only_is_left_out_where_the_same_ones_can_be_compared():
    row = compare(shot("11", 2024, 200.0), shot("11", 2025, 160.0), shot("12", 2025, 400.0)).rows[0]
    assert row.change.ratio == pytest.approx(0.8)
    assert (row.n_first, row.n_second, row.n_same) == (1, 2, 1)


def test_none_in_common_says_so():
    row = compare(shot("11", 2024, 200.0)).rows[0]
    assert (row.second, row.change, row.word) == (None, None, "too few to say")
    assert row.why == "no clump measured as lifted in 2025"
    assert compare().rows == ()
    assert compare().pooled == ()


def test_washed_and_unwashed_are_never_pooled():
    result = compare(
        shot("11", 2024, 200.0),
        shot("11", 2025, 160.0, stage="washed"),
        shot("12", 2024, 200.0, variety="Wherry Lamp", stage=None),
        shot("12", 2025, 180.0, variety="Wherry Lamp", stage=None),
    )
    lifted, washed, untold = result.rows
    assert lifted.why == "no clump measured as lifted in 2025 (washed: not alike)"
    assert washed.why == "no clump measured washed in 2024 (as lifted: not alike)"
    assert untold.change.ratio == pytest.approx(0.9)
    assert {pooled.stage: pooled.n_varieties for pooled in result.pooled} == {
        "as lifted": 0,
        "washed": 0,
        None: 1,
    }


def test_pooled_over_varieties():
    changes = {"a": 0.80, "b": 0.90, "c": 1.00, "d": 0.85, "e": 0.95, "f": 0.75}
    shots = []
    for name, change in changes.items():
        shots += [
            shot(name, 2024, 200.0, variety=name),
            shot(name, 2025, 200.0 * change, variety=name),
        ]
    (pooled,) = compare(*shots).pooled
    logs = [math.log(change) for change in changes.values()]
    # Equal variances, so the plain t interval of six logs: mean, sd / sqrt(6), t = 2.5706.
    mean = sum(logs) / 6
    sd = math.sqrt(sum((x - mean) ** 2 for x in logs) / 5)
    assert math.log(pooled.ratio) == pytest.approx(mean)
    assert math.log(pooled.interval95[1]) == pytest.approx(mean + 2.570582 * sd / math.sqrt(6))
    assert pooled.word == "smaller"
    assert pooled.n_varieties == 6


def test_counts_have_their_own_words_and_are_never_sure():
    row = compare(shot("11", 2024, 12.0, u=0.0), shot("11", 2025, 6.0, u=0.0), kind=TUBERS).rows[0]
    low, high = row.change.interval95
    assert row.word == "fewer"
    assert low < 0.5 < high < 1


def test_zero_uncertainty_gives_finite_intervals():
    result = compare(shot("11", 2024, 200.0, u=0.0), shot("11", 2025, 200.0, u=0.0))
    low, high = result.rows[0].change.interval95
    assert 0.9 < low < 1 < high < 1.1
    assert result.rows[0].word == "no clear change"


@pytest.mark.parametrize("value", [0.0, -3.0, math.nan, math.inf])
def test_a_size_that_is_none_is_refused(value):
    with pytest.raises(ValueError, match="a size must be above zero"):
        shot("11", 2024, value, u=1.0)


@pytest.mark.parametrize("u", [-1.0, math.nan, math.inf])
def test_an_uncertainty_that_is_none_is_refused(u):
    with pytest.raises(ValueError, match="an uncertainty must be zero or more"):
        replace(shot("11", 2024, 200.0), u=u)


def test_a_season_is_not_compared_with_itself():
    with pytest.raises(ValueError, match="two different seasons are needed, got 2024 twice"):
        compare_sizes([], kind=SPREAD, first=2024, second=2024)


def test_varieties_stand_as_in_an_index():
    names = ["Tin Orchard", "aunt Petronel", "Tía Farola", "Zinc"]
    shots = [shot(name, 2024, 200.0, variety=name) for name in names]
    assert [row.variety for row in compare(*shots).rows] == [
        "aunt Petronel",
        "Tía Farola",
        "Tin Orchard",
        "Zinc",
    ]
