"""What a bloom's own depth, seen from the side, tells of its dome."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from measure.lift import Dome, LiftError
from measure.results import Form

__all__ = ["DepthError", "OwnDepth", "dome_with_depth"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnDepth:
    """A bloom's depth along its axis, from back to front without the stem, and its uncertainty.

    From the plant's own side photo, of the same bloom or of one like it; for one like it ``u_mm``
    has to hold by how much one differs from the other.
    """

    mm: float
    u_mm: float


class DepthError(LiftError):
    """A told depth that can't be: a sentence, and what to do."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.remedy = "Measure the depth from the side, from the back of the bloom to its front."
        self.args = (f"{reason} {self.remedy}",)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shares:
    """Of the depth, where the widest part lies above the back, and the half-height before it."""

    rise: float
    u_rise: float
    half_height: float
    u_half_height: float


# Fitted to our own procedural blooms, each bloom by itself: rise and half-height that bring back
# its true outline from eight cameras, over its depth. The uncertainties are the scatter from bloom
# to bloom. Our judgement for the forms that are not drawn, as in the table of domes.
_FLAT = _Shares(rise=0.76, u_rise=0.11, half_height=0.79, u_half_height=0.20)
_SHALLOW = _Shares(rise=0.44, u_rise=0.055, half_height=0.59, u_half_height=0.13)
_FULL = _Shares(rise=0.36, u_rise=0.06, half_height=0.66, u_half_height=0.13)
_ROUND = _Shares(rise=0.445, u_rise=0.04, half_height=0.565, u_half_height=0.055)
_UNKNOWN = _Shares(rise=0.41, u_rise=0.07, half_height=0.62, u_half_height=0.13)

_SHARES: Mapping[Form, _Shares] = MappingProxyType(
    {
        "single": _FLAT,
        "orchid": _FLAT,
        "collerette": _FLAT,
        "anemone": _UNKNOWN,
        "peony": _UNKNOWN,
        "waterlily": _SHALLOW,
        "decorative": _FULL,
        "fimbriated": _FULL,
        "double orchid": _FULL,
        "stellar": _FULL,
        "miscellaneous": _UNKNOWN,
        "cactus": _FULL,
        "semi-cactus": _FULL,
        "ball": _ROUND,
        "pompon": _ROUND,
    }
)

_DEEPEST = 1.5

# Depth over diameter up to which a bloom of no told form is taken to be flat, and from which not.
_FLAT_TO = 0.22
_NOT_FLAT = 0.36


def dome_with_depth(dome: Dome, depth: OwnDepth, *, form: Form | None, diameter_mm: float) -> Dome:
    """The dome of a bloom so wide, with what its own depth tells of it.

    Where the form is not told, the depth takes the place of the guess. A height that does not rest
    on the form (told, or the card held level) stays.

    Raises
    ------
    DepthError
        When the depth is not positive, or more than half as much again as the width.
    """
    if not (0.0 < depth.mm <= _DEEPEST * diameter_mm and 0.0 <= depth.u_mm < math.inf):
        msg = f"A bloom {diameter_mm:.0f} mm wide can't be {depth.mm:g} mm deep."
        raise DepthError(msg)
    deep = depth.mm / diameter_mm
    shares = _shares_of_any(deep) if form is None else _SHARES[form]
    unsure = depth.u_mm / depth.mm
    half, u_half = _told_by_both(
        deep * shares.half_height,
        deep * math.hypot(shares.u_half_height, shares.half_height * unsure),
        by_form=None if form is None else (dome.shape.half_height, dome.shape.u_half_height),
    )
    dome = replace(dome, shape=replace(dome.shape, half_height=half, u_half_height=u_half))
    if dome.rise == 0.0:
        return dome
    rise, u_rise = _told_by_both(
        deep * shares.rise,
        deep * math.hypot(shares.u_rise, shares.rise * unsure),
        by_form=None if form is None else (dome.rise, dome.u_rise),
    )
    return replace(dome, rise=rise, u_rise=u_rise)


def _shares_of_any(deep: float) -> _Shares:
    """Of a bloom whose form is not told: so shallow a one is a single or the like."""
    flat = min(1.0, max(0.0, (_NOT_FLAT - deep) / (_NOT_FLAT - _FLAT_TO)))

    def between(name: str) -> float:
        one, other = float(getattr(_FLAT, name)), float(getattr(_UNKNOWN, name))
        return flat * one + (1.0 - flat) * other

    return _Shares(
        rise=between("rise"),
        u_rise=between("u_rise"),
        half_height=between("half_height"),
        u_half_height=between("u_half_height"),
    )


def _told_by_both(
    value: float, u: float, *, by_form: tuple[float, float] | None
) -> tuple[float, float]:
    """What the depth tells, weighed with what the form does, and no surer than the surer of them.

    They are not independent: a bloom that is shaped otherwise than its form misleads both.
    """
    if by_form is None:
        return value, u
    other, u_other = by_form
    weight = u_other**2 / (u**2 + u_other**2)
    return weight * value + (1.0 - weight) * other, min(u, u_other)
