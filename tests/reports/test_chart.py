"""The chart's positions: in order, inside, symmetric about no change, and cut with an arrow."""

from datetime import datetime
from itertools import pairwise

import pytest

from photolog.comparing import SIZE_KINDS, Shot, compare_sizes
from photolog.reports.chart import ratio_chart


def compared(changes, *, u=0.01):
    shots = [
        Shot(
            plant=name,
            variety=name,
            season=season,
            stage=None,
            taken_at=datetime(season + 1, 5, 17),
            value=200.0 * (change if season == 2025 else 1.0),
            u=200.0 * u,
        )
        for name, change in changes.items()
        for season in (2024, 2025)
    ]
    return compare_sizes(shots, kind=SIZE_KINDS["spread_mm"], first=2024, second=2025)


def test_intervals_lie_in_order_inside_the_picture():
    chart = ratio_chart(compared({"a": 0.8, "b": 1.0, "c": 1.2}))
    assert [row.label for row in chart.rows] == ["a", "b", "c", "All 3 varieties"]
    for row in chart.rows:
        assert 0 < row.x_low <= row.x <= row.x_high < chart.width
        assert 0 < row.y < chart.height
    a, b, c, _ = chart.rows
    assert a.x < b.x < c.x
    one = next(tick.x for tick in chart.ticks if tick.is_one)
    assert b.x == pytest.approx(one, abs=0.2)


def test_half_and_double_lie_equally_far_from_one():
    chart = ratio_chart(compared({"a": 0.5, "b": 2.0}))
    one = next(tick.x for tick in chart.ticks if tick.is_one)
    assert chart.rows[1].x - one == pytest.approx(one - chart.rows[0].x, abs=0.5)


def test_an_interval_too_wide_is_cut_with_an_arrow():
    # Two varieties pooled: one degree of freedom, so the pooled interval runs far out.
    chart = ratio_chart(compared({"a": 0.6, "b": 1.4}))
    pooled = chart.rows[-1]
    assert pooled.cut_low
    assert pooled.cut_high
    assert pooled.x_low > 0
    assert pooled.x_high < chart.width


def test_labels_of_ticks_do_not_touch():
    for changes in ({"a": 0.99, "b": 1.0}, {"a": 0.3, "b": 3.0}):
        ticks = ratio_chart(compared(changes)).ticks
        assert any(tick.is_one for tick in ticks)
        gaps = [b.x - a.x for a, b in pairwise(ticks)]
        assert min(gaps, default=99) >= 33.5


def test_no_change_to_show_no_chart():
    assert ratio_chart(compared({})) is None
