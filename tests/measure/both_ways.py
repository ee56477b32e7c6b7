"""One scene's uncertainties by propagation and by Monte Carlo, and which of them was taken."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from tests.measure.varied import Case

__all__ = ["Ways", "both_ways"]


@dataclass(frozen=True, kw_only=True)
class Ways:
    """Standard uncertainties of one size of one scene, and whether Monte Carlo was ``taken``."""

    name: str
    propagated: float
    drawn: float
    taken: bool


def both_ways(case: Callable[..., Case], seed: int) -> list[Ways]:
    """All sizes of one scene, worked out both ways."""
    propagated = case(seed, method="propagation").made.sizes
    drawn = case(seed, method="Monte Carlo").made.sizes
    taken = case(seed).made.settings["uncertainty_by"] == "Monte Carlo"
    return [
        Ways(name=name, propagated=size.u, drawn=drawn[name].u, taken=taken)
        for name, size in propagated.items()
    ]
