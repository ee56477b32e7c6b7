"""A simulated garden over two seasons, its day book and its tags, for the tests of matching."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from photolog.photos.garden import DayFact, Garden, Holder, HolderFact, Holding
from photolog.terms import EventKind, LossCause

__all__ = ["Beds", "Lab", "any_colour", "grow"]

Lab = tuple[float, float, float]

_CAME = date(2023, 10, 20)
_PLANTED = (date(2024, 5, 14), date(2025, 5, 16))
_LIFTED = (date(2024, 10, 26), date(2025, 10, 25))
_CHECKED = date(2025, 1, 18)
_LOST = date(2025, 2, 22)
_HANDED_ON = date(2025, 4, 12)

# What the grower does and forgets (judgement, no source).
_ENTRY_MISSING = 0.06
_FIRST_BLOOM_ENTERED = 0.7
_ENTRIES_SWAPPED = 0.03
_BATCHES = 0.1
_LOST_IN_WINTER = 0.1


@dataclass(frozen=True, kw_only=True)
class Beds:
    """The garden as matching sees it, and what was truly done in it.

    ``lifted`` and ``in_bed`` are true orders: who was lifted on which day one after the other, and
    who stood where in each season; ``checked`` who was looked at in the box check. ``colour`` is
    each one's true main colour of bloom (CIELAB), the same within a variety; ``bloom_mm`` how wide
    its blooms are in the middle, ``clump`` the spread in mm and the roundness of each year's clump.
    """

    garden: Garden
    in_bed: Mapping[int, Sequence[Holder]]
    lifted: Mapping[date, Sequence[Holder]]
    checked: Mapping[date, Sequence[Holder]]
    bloom_days: Mapping[int, Sequence[date]]
    in_bloom: Mapping[date, Sequence[Holder]]
    colour: Mapping[Holder, Lab]
    bloom_mm: Mapping[Holder, float]
    clump: Mapping[tuple[Holder, int], tuple[float, float]]


def grow(rng: np.random.Generator, *, holders: int, bloom_days: int) -> Beds:
    """A garden of so many plants and batches, photographed on so many days of bloom a season."""
    first = [_holder(rng, number) for number in range(1, holders + 1)]
    holdings = {holder: (number, _CAME) for number, holder in enumerate(first, 1)}
    colour = _colours(rng, first)
    since = dict.fromkeys(first, _CAME)

    # Some are lost in winter; in spring their tags go to what is planted in their place.
    n_lost = round(_LOST_IN_WINTER * holders)
    lost = [first[at] for at in rng.choice(holders, n_lost, replace=False)]
    heirs = {old: Holder("plant", 1000 + old.id) for old in lost}
    for heir in heirs.values():
        colour[heir] = any_colour(rng)
        since[heir] = _HANDED_ON
    second = [heirs.get(holder, holder) for holder in first]

    in_bed = {2024: first, 2025: second}
    lifted: dict[date, Sequence[Holder]] = {}
    events: list[DayFact] = []
    for (year, standing), planted, lifting in zip(in_bed.items(), _PLANTED, _LIFTED, strict=True):
        for day, some in _over_days(standing, planted, days=3):
            events += _entered(rng, EventKind.PLANTED_OUT, day, some)
        begin = int(rng.integers(holders))
        for day, some in _over_days([*standing[begin:], *standing[:begin]], lifting, days=5):
            lifted[day] = some
            events += _entered(rng, EventKind.LIFTED, day, some)
        if year == 2024:
            events += [
                DayFact(kind=EventKind.LOST, on=_LOST, holder=one, cause=LossCause.ROTTED)
                for one in lost
                if rng.random() >= _ENTRY_MISSING
            ]
    boxed = [first[at] for at in rng.permutation(holders)[: holders // 4]]
    events += _entered(rng, EventKind.CHECKED, _CHECKED, boxed)

    days = {
        year: [date(year, 7, 28) + timedelta(days=5 * n) for n in range(bloom_days)]
        for year in in_bed
    }
    in_bloom: dict[date, Sequence[Holder]] = {}
    for year, standing in in_bed.items():
        opened: set[Holder] = set()
        opens = rng.integers(0, max(bloom_days // 2, 1), len(standing))
        for nth, day in enumerate(days[year]):
            shown = [
                one
                for one, from_nth in zip(standing, opens, strict=True)
                if nth >= from_nth and rng.random() < 0.75
            ]
            in_bloom[day] = shown
            events += [
                DayFact(kind=EventKind.FIRST_BLOOM, on=day, holder=one)
                for one in shown
                if one not in opened and rng.random() < _FIRST_BLOOM_ENTERED
            ]
            opened.update(shown)
    # No two varieties are drawn the same colour to the last figure.
    variety = {lab: nth for nth, lab in enumerate(dict.fromkeys(colour.values()), 1)}
    garden = Garden(
        holdings=_tags(holdings, heirs),
        holders={
            one: HolderFact(name=f"{one.kind} {one.id}", since=day, variety=variety[colour[one]])
            for one, day in since.items()
        },
        events=events,
    )
    return Beds(
        garden=garden,
        in_bed=in_bed,
        lifted=lifted,
        checked={_CHECKED: boxed},
        bloom_days=days,
        in_bloom=in_bloom,
        colour=colour,
        bloom_mm=_bloom_sizes(rng, variety, colour),
        clump={
            (one, year): (float(rng.lognormal(5.5, 0.3)), float(rng.uniform(0.5, 0.95)))
            for year, standing in in_bed.items()
            for one in standing
        },
    )


def _holder(rng: np.random.Generator, number: int) -> Holder:
    return Holder("batch" if rng.random() < _BATCHES else "plant", number)


def any_colour(rng: np.random.Generator) -> Lab:
    """A bloom's main colour, from white to near black and from yellow to purple."""
    return (
        float(rng.uniform(30, 92)),
        float(rng.uniform(-8, 70)),
        float(rng.uniform(-25, 75)),
    )


def _colours(rng: np.random.Generator, in_order: Sequence[Holder]) -> dict[Holder, Lab]:
    """One to three of a variety stand side by side, and of some the rest stands elsewhere."""
    colours: dict[Holder, Lab] = {}
    of_varieties: list[Lab] = []
    left = 0
    now = any_colour(rng)
    for holder in in_order:
        if left == 0:
            left = int(rng.integers(1, 4))
            again = bool(of_varieties) and rng.random() < 0.25
            now = of_varieties[int(rng.integers(len(of_varieties)))] if again else any_colour(rng)
            of_varieties.append(now)
        colours[holder] = now
        left -= 1
    return colours


def _bloom_sizes(
    rng: np.random.Generator, variety: Mapping[Lab, int], colour: Mapping[Holder, Lab]
) -> dict[Holder, float]:
    """From pompons to giants by variety, and a little by plant."""
    of_variety = {number: float(rng.lognormal(4.8, 0.4)) for number in variety.values()}
    return {
        one: of_variety[variety[lab]] * float(np.exp(rng.normal(0.0, 0.05)))
        for one, lab in colour.items()
    }


def _over_days(
    holders: Sequence[Holder], first: date, *, days: int
) -> list[tuple[date, Sequence[Holder]]]:
    each = -(-len(holders) // days)
    return [
        (first + timedelta(days=nth), holders[nth * each : (nth + 1) * each])
        for nth in range(days)
        if holders[nth * each : (nth + 1) * each]
    ]


def _entered(
    rng: np.random.Generator, kind: EventKind, day: date, done: Sequence[Holder]
) -> list[DayFact]:
    """What the grower enters in the evening: nearly in order, and not all."""
    order = list(done)
    for at in range(len(order) - 1):
        if rng.random() < _ENTRIES_SWAPPED:
            order[at], order[at + 1] = order[at + 1], order[at]
    return [
        DayFact(kind=kind, on=day, holder=one) for one in order if rng.random() >= _ENTRY_MISSING
    ]


def _tags(
    first: Mapping[Holder, tuple[int, date]], heirs: Mapping[Holder, Holder]
) -> list[Holding]:
    held = []
    for holder, (tag, since) in first.items():
        heir = heirs.get(holder)
        until = _HANDED_ON if heir is not None else None
        held.append(Holding(tag=tag, holder=holder, from_date=since, until_date=until))
        if heir is not None:
            held.append(Holding(tag=tag, holder=heir, from_date=_HANDED_ON))
    return held
