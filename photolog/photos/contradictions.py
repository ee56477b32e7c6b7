"""What can't be: a clump of a plant still in the ground, a bloom of one that was in store."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from photolog.photos.facts import DayFact, Garden, Holder, Shows
from photolog.terms import EventKind, LossCause

__all__ = ["contradiction"]

_IN_THE_GROUND = (EventKind.PLANTED_OUT, EventKind.STAYED)
_OUT_OF_IT = (EventKind.LIFTED, EventKind.STORED)
_GROWING = (*_IN_THE_GROUND, EventKind.POTTED, EventKind.FIRST_BLOOM, EventKind.BUD_SECURED)
_GONE = (
    EventKind.LOST,
    EventKind.DISCARDED,
    EventKind.ROGUED,
    EventKind.GIVEN_AWAY,
    EventKind.DIVIDED,
)


def contradiction(
    holder: Holder, *, shows: Shows | None, taken_at: datetime, garden: Garden
) -> str | None:
    """Why a photo can't be of this plant or batch, in a sentence; None when nothing is against it.

    Only what the day book says counts: where it says nothing, nothing is against the photo.
    """
    day = taken_at.date()
    fact = garden.holders.get(holder)
    name = garden.named(holder)
    if fact is not None and day < fact.since:
        return f"{name} came only on {fact.since}, after this photo."
    events = [
        event
        for event in garden.events_of(holder)
        # What was entered for the whole garden before it came was not about it.
        if event.holder is not None or fact is None or event.on >= fact.since
    ]
    gone = _gone_before(day, events)
    if gone is not None:
        cause = f" ({gone.cause})" if gone.cause is not None else ""
        return f"By the day book {name} was {gone.kind}{cause} on {gone.on}, before this photo."
    if holder.kind == "batch":
        return None
    if shows == "clump":
        return _clump_in_the_ground(day, events, name)
    if shows == "bloom":
        return _bloom_in_store(day, events, name)
    return None


def _gone_before(day: date, events: Sequence[DayFact]) -> DayFact | None:
    gone = (
        event
        for event in events
        if event.kind in _GONE
        and event.on < day
        and event.cause is not LossCause.LABEL_LOST
        # Some of a batch, or an entry about the whole garden, ends nothing by itself.
        and event.count is None
        and event.holder is not None
    )
    return min(gone, key=lambda event: event.on, default=None)


def _clump_in_the_ground(day: date, events: Sequence[DayFact], name: str) -> str | None:
    lifted = [event.on for event in events if event.kind in _OUT_OF_IT and event.on <= day]
    planted = [event.on for event in events if event.kind in _IN_THE_GROUND and event.on <= day]
    if not planted or (lifted and max(lifted) >= max(planted)):
        return None
    later = [event.on for event in events if event.kind is EventKind.LIFTED and event.on > day]
    until = f"lifted only on {min(later)}" if later else "not entered as lifted since"
    return (
        f"The photo shows a clump, but by the day book {name} was in the ground on {day}: planted "
        f"out on {max(planted)}, {until}."
    )


def _bloom_in_store(day: date, events: Sequence[DayFact], name: str) -> str | None:
    # On the day of lifting itself there may still be a bloom.
    lifted = [event.on for event in events if event.kind in _OUT_OF_IT and event.on < day]
    growing = [event.on for event in events if event.kind in _GROWING and event.on <= day]
    if lifted and (not growing or max(growing) < max(lifted)):
        return (
            f"The photo shows a bloom, but by the day book {name} had been lifted on {max(lifted)} "
            f"and was not planted out again by {day}."
        )
    planted = [event.on for event in events if event.kind is EventKind.PLANTED_OUT]
    if not growing and planted and min(planted) > day:
        return (
            f"The photo shows a bloom, but by the day book {name} was planted out only on "
            f"{min(planted)}."
        )
    return None
