"""A size with its standard uncertainty, its named components and its 95 % interval."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

__all__ = ["Size"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One measured quantity; its unit is in the name it is filed under (``widest_mm``).

    Attributes
    ----------
    value : float
        The best estimate.
    u : float
        Standard uncertainty (one sigma), in the unit of ``value``. NaN: could not be estimated.
    interval95 : tuple of two floats
        The interval said to hold the true value with 95 % probability.
    components : mapping of str to float
        Standard uncertainty by source, each in the unit of ``value``; combined in quadrature
        they give ``u`` unless Monte Carlo was used, which the measurement's settings then say.
    """

    value: float
    u: float
    interval95: tuple[float, float]
    components: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))

    def __post_init__(self) -> None:
        if self.u < 0:
            msg = f"a standard uncertainty can't be negative, got {self.u!r}"
            raise ValueError(msg)
        low, high = self.interval95
        if not math.isnan(low) and not low <= high:
            msg = f"an interval runs from low to high, got {self.interval95!r}"
            raise ValueError(msg)
        object.__setattr__(self, "components", MappingProxyType(dict(self.components)))
