"""Dates, sizes and changes as the pages word them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from typing import Protocol

from photolog.book.bloom_depths import IDEAL_RATIO, DepthRatio
from photolog.comparing.changes import Change, PooledChange, SeasonMean
from photolog.comparing.figures import change_text, size_text
from photolog.comparing.words import Words

__all__ = [
    "change_span",
    "day_text",
    "listed",
    "mean_text",
    "moment_text",
    "ratio_line",
    "size_name",
    "size_texts",
    "time_text",
]

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

_NAMES = {
    "widest_mm": "widest",
    "diameter_mm": "diameter",
    "ring_mm": "ring",
    "area_cm2": "area",
    "depth_mm": "depth",
    "across_mm": "across",
    "spread_mm": "spread",
    "width_mm": "width",
    "tubers": "tubers",
    "longest_tuber_mm": "longest tuber",
    "seeds": "seeds",
    "length_mm": "length",
}
_UNITS = {"mm": "mm", "cm2": "cm²"}


class Sized(Protocol):
    """What a size must tell to be worded."""

    @property
    def value(self) -> float:
        """The best estimate."""

    @property
    def interval95(self) -> tuple[float, float] | None:
        """Its 95 % interval, where known."""

    @property
    def half95(self) -> float | None:
        """Half of that."""


def day_text(day: date) -> str:
    """A day in words: 17 May 2025."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def moment_text(moment: datetime | None, *, day_told: bool = False) -> str:
    """A photo's date and time; "no date" where there is none, no time where only a day was told."""
    if moment is None:
        return "no date"
    if day_told:
        return f"{day_text(moment)}, as told"
    return f"{day_text(moment)}, {moment:%H:%M}"


def time_text(at: time) -> str:
    """A time of day: 14:05."""
    return f"{at:%H:%M}"


def size_name(name: str) -> str:
    """What a size is called in words: ``spread_mm`` is spread."""
    return _NAMES.get(name, name.replace("_", " "))


def size_texts(sizes: Mapping[str, Sized], names: Iterable[str]) -> list[str]:
    """The sizes of these names that there are: ``spread 238 ± 8 mm``, ``9 tubers (8 to 11)``."""
    texts = []
    for name in names:
        size = sizes.get(name)
        if size is None:
            continue
        if name in ("tubers", "seeds"):
            texts.append(f"{size.value:.0f} {size_name(name)}{_count_span(size.interval95)}")
        else:
            unit = _UNITS.get(name.rpartition("_")[2], "")
            texts.append(f"{size_name(name)} {size_text(size.value, size.half95, unit)}")
    return texts


def ratio_line(ratio: DepthRatio) -> str:
    """Depth over diameter of a day: ``depth over diameter 0.62 ± 0.06``, and the ideal."""
    half = (ratio.interval95[1] - ratio.interval95[0]) / 2
    return (
        f"depth over diameter {ratio.value:.2f} ± {half:.2f} "
        f"(the ideal of fully double decoratives: {IDEAL_RATIO:g})"
    )


def mean_text(mean: SeasonMean | None, unit: str) -> str:
    """A season's typical size; a dash where there is none."""
    return "–" if mean is None else size_text(mean.value, mean.half95, unit)


def change_span(change: Change | PooledChange, words: Words) -> str:
    """A ratio's interval as changes: ``27 % smaller to 12 % smaller``."""
    if change.interval95 is None:
        return ""
    low, high = (change_text(end, down=words.down, up=words.up) for end in change.interval95)
    return low if low == high else f"{low} to {high}"


def listed(names: Iterable[str]) -> str:
    """Names in a sentence: ``a, b and c``."""
    *most, last = list(names) or [""]
    return f"{', '.join(most)} and {last}" if most else last


def _count_span(interval95: tuple[float, float] | None) -> str:
    if interval95 is None:
        return ""
    low, high = round(interval95[0]), round(interval95[1])
    return "" if low == high else f" ({low} to {high})"
