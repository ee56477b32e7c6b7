"""Tubers counted in a clump's outline."""

from __future__ import annotations

from dataclasses import dataclass

from measure.results import Outline, Picture

__all__ = ["TuberCount", "count_tubers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TuberCount:
    """x."""

    seen: int
    interval95: tuple[int, int]
    u: float
    longest_px: float
    longest_u_px: float


def count_tubers(picture: Picture, outline: Outline, *, px_per_mm: float) -> TuberCount:
    """X."""
    return TuberCount(seen=1, interval95=(1, 1), u=1.0, longest_px=1.0, longest_u_px=1.0)
