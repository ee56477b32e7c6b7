"""The garden as matching asks of it: who held each tag and when, the boxes, and the day book."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, time
from functools import cached_property
from typing import Literal, NamedTuple

from photolog.terms import EventKind, LossCause

__all__ = ["BoxFact", "DayFact", "Garden", "Holder", "HolderFact", "Holding"]


class Holder(NamedTuple):
    """The plant or the batch that holds a tag."""

    kind: Literal["plant", "batch"]
    id: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """A tag on a plant or a batch, from a day up to but not on another (None: still)."""

    tag: int
    holder: Holder
    from_date: date
    until_date: date | None = None

    def on(self, day: date) -> bool:
        """Whether the tag was held so on this day."""
        return self.from_date <= day and (self.until_date is None or day < self.until_date)


@dataclass(frozen=True, slots=True, kw_only=True)
class HolderFact:
    """A plant's or batch's name as the grower reads it, since when it is there, of what variety.

    ``variety`` is any number that those of one variety share; None: not known.
    """

    name: str
    since: date
    variety: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxFact:
    """A box of the store: its row, and what the grower calls it ('' for nothing but its number)."""

    box_id: int
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFact:
    """One day book entry about one plant or batch; ``holder`` None: the whole garden.

    ``count`` is how many of a batch; None: all of it.
    """

    kind: EventKind
    on: date
    holder: Holder | None
    at: time | None = None
    count: int | None = None
    cause: LossCause | None = None


@dataclass(frozen=True, kw_only=True)
class Garden:
    """Everything about the stock that matching asks.

    ``boxes`` are by the number on their tag; ``box_entries`` what was entered of a box, on which
    day, by its number.
    """

    holdings: Sequence[Holding]
    holders: Mapping[Holder, HolderFact]
    events: Sequence[DayFact]
    boxes: Mapping[int, BoxFact] = field(default_factory=dict)
    box_entries: Collection[tuple[EventKind, date, int]] = frozenset()

    @cached_property
    def holdings_of_tag(self) -> Mapping[int, Sequence[Holding]]:
        """Who held each tag, from first to last."""
        found: dict[int, list[Holding]] = {}
        for holding in sorted(self.holdings, key=lambda holding: holding.from_date):
            found.setdefault(holding.tag, []).append(holding)
        return found

    @cached_property
    def holdings_of_holder(self) -> Mapping[Holder, Sequence[Holding]]:
        """Which tags each plant or batch held."""
        found: dict[Holder, list[Holding]] = {}
        for holding in self.holdings:
            found.setdefault(holding.holder, []).append(holding)
        return found

    @cached_property
    def events_by_day(self) -> Mapping[date, Sequence[DayFact]]:
        """Each day's entries."""
        found: dict[date, list[DayFact]] = {}
        for event in self.events:
            found.setdefault(event.on, []).append(event)
        return found

    @cached_property
    def _events_by_holder(self) -> Mapping[Holder | None, Sequence[DayFact]]:
        found: dict[Holder | None, list[DayFact]] = {}
        for event in sorted(self.events, key=lambda event: event.on):
            found.setdefault(event.holder, []).append(event)
        return found

    def events_of(self, holder: Holder) -> Sequence[DayFact]:
        """The entries about one plant or batch and about the whole garden; not in order."""
        by_holder = self._events_by_holder
        return (*by_holder.get(holder, ()), *by_holder.get(None, ()))

    def named(self, holder: Holder) -> str:
        """The holder's name for a sentence."""
        fact = self.holders.get(holder)
        return fact.name if fact is not None else f"{holder.kind} {holder.id}"

    def box_named(self, number: int) -> str:
        """A box's name for a sentence."""
        fact = self.boxes.get(number)
        return f"box {number} ({fact.name})" if fact is not None and fact.name else f"box {number}"
