"""How a grower walks along an order of plants: what is taken out of turn, and how often."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

__all__ = ["Habits", "Steps"]

# What is expected before a garden's sure visits have shown anything, and how many steps' worth
# these expectations weigh against them (judgement, no source).
_SWAPPED, _LEAPT, _LATER = (1.0, 30.0), (0.5, 25.0), (0.5, 5.0)
# Further than so many places two are not taken the other way round, and nobody walks on so far.
_SWAPPED_WITHIN, _WALKED_ON = 40, 60
# So often back is no order with some taken the other way round, but none at all.
_FEW_SWAPS, _SWAPS_SHARE = 2, 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """The steps between the sure visits of one round that goes ahead along an order.

    ``swapped``: steps back to one that was left out, ``later`` of them after one visit more than
    the next. ``leapt``: steps to elsewhere.
    """

    number: int
    swapped: int
    later: int
    leapt: int

    @classmethod
    def between(cls, places: Sequence[int]) -> Steps:
        """Count the steps between places of an order."""
        swapped = later = leapt = 0
        for n in range(1, len(places)):
            step = places[n] - places[n - 1]
            if step < -_SWAPPED_WITHIN or step > _WALKED_ON:
                leapt += 1
            elif step < 0:
                swapped += 1
                passed = 1
                while passed < n and places[n - 1 - passed] > places[n]:
                    passed += 1
                later += passed > 1
        number = max(len(places) - 1, 0)
        if swapped > max(_FEW_SWAPS, number // _SWAPS_SHARE):
            return cls(number=number, swapped=0, later=0, leapt=min(leapt + 2 * swapped, number))
        return cls(number=number, swapped=swapped, later=later, leapt=leapt)

    @property
    def followed(self) -> bool:
        """Whether the order was mostly followed."""
        return 5 * self.leapt <= self.number


@dataclass(frozen=True, slots=True, kw_only=True)
class Habits:
    """Shares of the visits.

    ``swapped``: one is left out and comes after the next; ``later``: of those, one visit later
    still; ``leapt``: the grower goes on elsewhere.
    """

    swapped: float = _SWAPPED[0] / _SWAPPED[1]
    later: float = _LATER[0] / _LATER[1]
    leapt: float = _LEAPT[0] / _LEAPT[1]

    @classmethod
    def learnt(cls, rounds: Iterable[Steps]) -> Habits:
        """What the rounds that followed an order show, weighed with what is expected."""
        followed = [one for one in rounds if one.followed]
        number = sum(one.number for one in followed)
        swapped = sum(one.swapped for one in followed)
        return cls(
            swapped=(swapped + _SWAPPED[0]) / (number + _SWAPPED[1]),
            later=(sum(one.later for one in followed) + _LATER[0]) / (swapped + _LATER[1]),
            leapt=(sum(one.leapt for one in followed) + _LEAPT[0]) / (number + _LEAPT[1]),
        )

    def on(self, steps: Steps) -> Habits:
        """The same, with what one round shows."""
        swapped = steps.swapped + _SWAPPED[1] * self.swapped
        leapt = steps.leapt + _LEAPT[1] * self.leapt
        return Habits(
            swapped=min(swapped / (steps.number + _SWAPPED[1]), 0.5),
            later=self.later,
            leapt=min(leapt / (steps.number + _LEAPT[1]), 0.9),
        )
