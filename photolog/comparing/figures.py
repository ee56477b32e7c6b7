"""Figures as people read them: sizes with their ±, ratios, and changes in words."""

from __future__ import annotations

import math

__all__ = ["change_text", "ratio_text", "size_text"]


def size_text(value: float, half95: float | None, unit: str = "") -> str:
    """A size with half its 95 % interval, both rounded to what the uncertainty allows.

    ``238 ± 8 mm``; ``95.4 ± 1.2 mm``; ``about 238 mm`` where no uncertainty is known. The ± has two
    figures where it begins with 1 or 2, else one, and never more than two places after the point.
    """
    tail = f" {unit}" if unit else ""
    if half95 is None or not math.isfinite(half95):
        return f"about {value:.0f}{tail}"
    places = min(2, max(0, -_last_place(half95)))
    return f"{value:.{places}f} ± {half95:.{places}f}{tail}"


def ratio_text(
    ratio: float, interval95: tuple[float, float] | None = None, *, to: str = " to "
) -> str:
    """A ratio with two places, and its interval: ``0.80 (0.74 to 0.87)``."""
    if interval95 is None:
        return f"{ratio:.2f}"
    low, high = (_away_from_one(end) for end in interval95)
    return f"{ratio:.2f} ({low}{to}{high})"


def change_text(ratio: float, *, down: str = "smaller", up: str = "larger") -> str:
    """A ratio as a change: ``20 % smaller``, ``12 % larger``; ``the same`` to half a per cent."""
    percent = round((ratio - 1) * 100)
    if percent == 0:
        return "the same"
    return f"{abs(percent)} % {down if percent < 0 else up}"


def _last_place(half95: float) -> int:
    """Power of ten of the last figure worth giving."""
    if half95 <= 0:
        return 0
    power = math.floor(math.log10(half95))
    return power - 1 if half95 / 10**power < 2.95 else power


def _away_from_one(end: float) -> str:
    """Two places, or as many as it takes not to print 1.00 for an end that is not 1."""
    for places in (2, 3, 4):
        if f"{end:.{places}f}" != f"{1:.{places}f}":
            return f"{end:.{places}f}"
    return f"{end:.2f}"
