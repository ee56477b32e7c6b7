"""A chart of ratios with their intervals, as the positions of an SVG picture."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from photolog.comparing.changes import Comparison
from photolog.comparing.figures import ratio_text

__all__ = ["Chart", "ChartRow", "Tick", "ratio_chart"]

_WIDTH = 360.0
_SIDE = 16.0
_ROW = 44.0
_TOP = 30.0
_TICKS = (0.1, 0.2, 0.3, 0.5, 0.7, 0.8, 0.9, 1.0, 1.1, 1.25, 1.5, 2.0, 3.0, 5.0, 10.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A line across the chart at one ratio."""

    x: float
    label: str
    is_one: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartRow:
    """One interval: its label stands above it; an arrow where it runs out of the chart."""

    y: float
    label: str
    figures: str
    word: str
    pooled: bool
    x: float
    x_low: float
    x_high: float
    cut_low: bool
    cut_high: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Positions in the units of a view box ``width`` by ``height``."""

    width: float
    height: float
    top: float
    ticks: tuple[Tick, ...]
    rows: tuple[ChartRow, ...]


def ratio_chart(comparison: Comparison) -> Chart | None:
    """The chart of a comparison: a row for each change, pooled ones last; None without any.

    The scale is logarithmic, so that half and double lie equally far from 1.
    """
    entries: list[tuple[str, str, bool, float, tuple[float, float]]] = []
    several = len({row.stage for row in comparison.rows}) > 1
    for row in comparison.rows:
        if row.change is not None:
            label = f"{row.variety}, {row.stage or 'stage not told'}" if several else row.variety
            entries.append((label, row.word, False, row.change.ratio, row.change.interval95))
    for pooled in comparison.pooled:
        if pooled.ratio is not None and pooled.interval95 is not None:
            label = f"All {pooled.n_varieties} varieties"
            if several:
                label += f", {pooled.stage or 'stage not told'}"
            entries.append((label, pooled.word, True, pooled.ratio, pooled.interval95))
    if not entries:
        return None
    low, high = _limits([(ratio, interval) for *_, ratio, interval in entries])

    def across(ratio: float) -> float:
        share = math.log(ratio / low) / math.log(high / low)
        return round(_SIDE + share * (_WIDTH - 2 * _SIDE), 1)

    rows = tuple(
        ChartRow(
            y=_TOP + _ROW * i + 28,
            label=label,
            figures=ratio_text(ratio, interval),
            word=word,
            pooled=pooled,
            x=across(min(max(ratio, low), high)),
            x_low=across(max(interval[0], low)),
            x_high=across(min(interval[1], high)),
            cut_low=interval[0] < low,
            cut_high=interval[1] > high,
        )
        for i, (label, word, pooled, ratio, interval) in enumerate(entries)
    )
    return Chart(
        width=_WIDTH,
        height=_TOP + _ROW * len(rows) + 6,
        top=_TOP,
        ticks=tuple(
            Tick(x=across(tick), label=f"{tick:g}", is_one=tick == 1.0)
            for tick in _apart([tick for tick in _TICKS if low <= tick <= high], across)
        ),
        rows=rows,
    )


def _limits(entries: Sequence[tuple[float, tuple[float, float]]]) -> tuple[float, float]:
    """Room for every interval, but no further than 2.2 times beyond the middle figures.

    One interval that says nothing must not squeeze all others into a dot.
    """
    ratios = [ratio for ratio, _ in entries]
    low = max(min(interval[0] for _, interval in entries), min(*ratios, 1.0) / 2.2)
    high = min(max(interval[1] for _, interval in entries), max(*ratios, 1.0) * 2.2)
    return min(low / 1.03, 0.88), max(high * 1.03, 1.14)


def _apart(ticks: Sequence[float], across: Callable[[float], float]) -> list[float]:
    """Leave out ticks whose labels would touch; 1 is always kept."""
    kept = [1.0]
    for tick in sorted(ticks, key=lambda t: abs(math.log(t))):
        if all(abs(across(tick) - across(other)) >= 34 for other in kept):
            kept.append(tick)
    return sorted(kept)
