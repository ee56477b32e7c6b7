"""How differently the same clump laid again, or the same bloom a minute later, reads.

Kept out of a photo's own uncertainty, which says how large the thing was as it lay or stood there.
It counts as soon as the sizes of two photos are set beside each other.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal

__all__ = ["BREEZE_PERCENT", "LAY_PERCENT", "again"]

# One standard deviation of one reading, in per cent of the size. Our judgement, from no source: a
# clump's tubers come to lie otherwise, over and under each other, and its longest way turns up or
# down; a bloom nods by a few degrees and its petals spread or close with wind, water and warmth.
# Repeated photos of the grower's own take the place of these, where there are any.
LAY_PERCENT: Mapping[str, float] = MappingProxyType(
    {
        "spread_mm": 3.0,
        "width_mm": 4.0,
        "area_cm2": 5.0,
        "tubers": 5.0,
        "longest_tuber_mm": 3.0,
    }
)
BREEZE_PERCENT: Mapping[str, float] = MappingProxyType(
    {
        "widest_mm": 1.0,
        "diameter_mm": 1.0,
        "ring_mm": 1.0,
        "area_cm2": 2.0,
        "depth_mm": 2.0,
        "across_mm": 1.0,
    }
)


def again(
    of: Literal["bloom", "bloom-side", "clump", "seeds"], name: str, value: float
) -> dict[str, float]:
    """By how much one size scatters from photo to photo beyond its ``u``, by cause, in its unit.

    Empty where nothing does: seeds do not change on their paper.
    """
    cause, shares = ("lay", LAY_PERCENT) if of == "clump" else ("breeze", BREEZE_PERCENT)
    if of == "seeds" or name not in shares:
        return {}
    return {cause: abs(value) * shares[name] / 100.0}
