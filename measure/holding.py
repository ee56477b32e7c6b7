"""How the card was held to a bloom: as told, or else as its design is drawn to be held."""

from __future__ import annotations

import math
from dataclasses import replace

from measure.card.designs import CardDesign
from measure.lift import Dome, dome_of
from measure.results import Form, Held

__all__ = ["dome_held"]


def dome_held(
    form: Form | None, held: Held | None, *, design: CardDesign, lift_mm: float | None = None
) -> Dome:
    """What is known beforehand of a bloom's height, its card held so.

    Not told: the bloom card, with its slot for the stem, stands behind the bloom, and the bench
    card lies on the bench with it. The pocket card is drawn level with the widest petals but can
    as well be behind them: either is taken to be as likely, which makes the height less sure.

    Raises
    ------
    LiftError
        When ``lift_mm`` is no bloom's height.
    """
    if held is not None or lift_mm is not None:
        return dome_of(form, held or "behind", lift_mm=lift_mm)
    if design.kind == "bloom":
        return dome_of(form, "behind")
    if design.kind == "bench":
        return dome_of(form, "bench")
    level, behind = dome_of(form, "level"), dome_of(form, "behind")
    gap, u_gap = _either((level.gap_mm, level.u_gap_mm), (behind.gap_mm, behind.u_gap_mm))
    rise, u_rise = _either((level.rise, level.u_rise), (behind.rise, behind.u_rise))
    return replace(level, gap_mm=gap, u_gap_mm=u_gap, rise=rise, u_rise=u_rise)


def _either(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """Mean and standard uncertainty of what is as likely to be the one as the other."""
    (a, u_a), (b, u_b) = one, other
    return (a + b) / 2.0, math.hypot(math.hypot(u_a, u_b) / math.sqrt(2.0), (a - b) / 2.0)
