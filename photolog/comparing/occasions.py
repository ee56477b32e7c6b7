"""Shots of one occasion: a burst counts once, and what its shots err by they err by together."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Sequence
from typing import TypeVar

__all__ = ["by_burst", "mean_of_burst"]

Item = TypeVar("Item")


def by_burst(
    items: Iterable[Item], burst: Callable[[Item], Hashable | None]
) -> tuple[tuple[Item, ...], ...]:
    """Items gathered by their burst, in order of the first of each; None: alone."""
    found: dict[Hashable, list[Item]] = {}
    for number, item in enumerate(items):
        key = burst(item)
        found.setdefault((0, number) if key is None else (1, key), []).append(item)
    return tuple(tuple(members) for members in found.values())


def mean_of_burst(sized: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Mean of a burst's (value, standard uncertainty), and how sure it is.

    The height above the card, the card's scale and the outline's bias are the same in every shot of
    a burst, so more shots don't make it surer: the uncertainty is the mean of theirs.
    """
    if not sized:
        msg = "a burst has at least one shot"
        raise ValueError(msg)
    n = len(sized)
    return math.fsum(value for value, _ in sized) / n, math.fsum(u for _, u in sized) / n
