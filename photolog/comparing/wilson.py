"""Wilson's interval for a share: so many of so many."""

from __future__ import annotations

import math
from statistics import NormalDist

__all__ = ["wilson_interval"]


def wilson_interval(
    successes: int, trials: int, *, confidence: float = 0.95
) -> tuple[float, float]:
    """Interval for the true share behind so many ``successes`` of ``trials``.

    Without continuity correction. Stays inside 0 to 1, also for none or all. ``ValueError`` when
    there were no trials, more successes than trials, or a confidence outside 0 to 1.
    """
    if trials < 1:
        msg = f"a share needs at least one trial, got {trials}"
        raise ValueError(msg)
    if not 0 <= successes <= trials:
        msg = f"successes must lie between 0 and {trials}, got {successes}"
        raise ValueError(msg)
    if not 0 < confidence < 1:
        msg = f"confidence must lie between 0 and 1, got {confidence}"
        raise ValueError(msg)
    z = NormalDist().inv_cdf(0.5 + confidence / 2)
    share = successes / trials
    shrink = 1 + z * z / trials
    middle = (share + z * z / (2 * trials)) / shrink
    half = z / shrink * math.sqrt(share * (1 - share) / trials + (z / (2 * trials)) ** 2)
    # The ends are exact at none and all; rounding would leave them a hair off 0 and 1.
    low = 0.0 if successes == 0 else middle - half
    high = 1.0 if successes == trials else middle + half
    return low, high
