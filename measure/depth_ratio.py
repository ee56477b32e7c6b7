"""A bloom's depth over its diameter, and what the trade calls ideal."""

from __future__ import annotations

import math

from measure.budget import COVERAGE_95
from measure.quantity import Size

__all__ = ["IDEAL_DEPTH_OVER_DIAMETER", "depth_over_diameter"]

# Ideal depth of fully double decorative blooms over their diameter, by the form guide of the
# American Dahlia Society.
IDEAL_DEPTH_OVER_DIAMETER = 0.75


def depth_over_diameter(depth: Size, diameter: Size, *, same_printing: bool = True) -> Size:
    """Depth over diameter of one bloom, both taken on the same day.

    What the printing of the card adds to both alike cancels, unless they were taken with cards of
    different printings.

    Raises
    ------
    ValueError
        When either is not positive.
    """
    if not (depth.value > 0.0 and diameter.value > 0.0):
        msg = (
            f"depth over diameter needs both above zero, got {depth.value:g} and {diameter.value:g}"
        )
        raise ValueError(msg)
    ratio = depth.value / diameter.value
    squares: dict[str, float] = {}
    for size, name in ((depth, "depth"), (diameter, "diameter")):
        shared = size.components.get("printing", 0.0) if same_printing else 0.0
        own = math.sqrt(max(0.0, size.u**2 - shared**2)) / size.value
        squares[name] = (ratio * own) ** 2
    if same_printing:
        apart = [s.components.get("printing", 0.0) / s.value for s in (depth, diameter)]
        squares["printing"] = (ratio * (apart[0] - apart[1])) ** 2
    u = math.sqrt(sum(squares.values()))
    return Size(
        value=ratio,
        u=u,
        interval95=(max(0.0, ratio - COVERAGE_95 * u), ratio + COVERAGE_95 * u),
        components={name: math.sqrt(v) for name, v in squares.items()},
    )
