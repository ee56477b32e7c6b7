"""What can't be: a clump of a plant still in the ground, a bloom of one that was in store."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from photolog.photos.facts import Shows
from photolog.photos.garden import DayFact, Garden, Holder
from photolog.terms import EventKind, LossCause

__all__ = ["Contradiction", "contradiction", "spoken_against"]

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

# A plant entered as planted out within so many days after a bloom had not been before.
_SAME_SEASON = timedelta(days=120)
_A_YEAR = timedelta(days=330)


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """What the day book has against a photo, in a sentence.

    ``missing``: nothing that is entered rules the photo out; it can be right if an entry, as of
    planting out or of lifting, was forgotten. ``since`` is the day of the last entry then.
    """

    said: str
    missing: bool = False
    since: date | None = None


def contradiction(
    holder: Holder, *, shows: Shows | None, taken_at: datetime, garden: Garden
) -> str | None:
    """Why a photo can't be of this plant or batch, in a sentence; None when nothing is against it.

    Only what the day book says counts: where it says nothing, nothing is against the photo.
    """
    against = spoken_against(holder, shows=shows, taken_at=taken_at, garden=garden)
    return against.said if against is not None else None


def spoken_against(
    holder: Holder, *, shows: Shows | None, taken_at: datetime, garden: Garden
) -> Contradiction | None:
    """What ``contradiction`` says, and whether no more than an entry may be missing."""
    day = taken_at.date()
    fact = garden.holders.get(holder)
    name = garden.named(holder)
    if fact is not None and day < fact.since:
        return Contradiction(said=f"{name} came only on {fact.since}, after this photo.")
    events = [
        event
        for event in garden.events_of(holder)
        # What was entered for the whole garden before it came was not about it.
        if event.holder is not None or fact is None or event.on >= fact.since
    ]
    gone = _gone_before(day, events)
    if gone is not None:
        cause = f" ({gone.cause})" if gone.cause is not None else ""
        return Contradiction(
            said=f"By the day book {name} was {gone.kind}{cause} on {gone.on}, before this photo."
        )
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


def _clump_in_the_ground(day: date, events: Sequence[DayFact], name: str) -> Contradiction | None:
    lifted = [event.on for event in events if event.kind in _OUT_OF_IT and event.on <= day]
    planted = [event.on for event in events if event.kind in _IN_THE_GROUND and event.on <= day]
    if not planted or (lifted and max(lifted) >= max(planted)):
        return None
    later = [event.on for event in events if event.kind is EventKind.LIFTED and event.on > day]
    # Lifted next year, it was planted again before, and this year's lifting may be missing.
    again = [event.on for event in events if event.kind in _IN_THE_GROUND and event.on > day]
    ruled_out = bool(later) and not (again and min(again) < min(later))
    until = f"lifted only on {min(later)}" if ruled_out else "not entered as lifted since"
    return Contradiction(
        said=f"The photo shows a clump, but by the day book {name} was in the ground on {day}: "
        f"planted out on {max(planted)}, {until}.",
        missing=not ruled_out,
        since=max(planted),
    )


def _bloom_in_store(day: date, events: Sequence[DayFact], name: str) -> Contradiction | None:
    # On the day of lifting itself there may still be a bloom.
    lifted = [event.on for event in events if event.kind in _OUT_OF_IT and event.on < day]
    growing = [event.on for event in events if event.kind in _GROWING and event.on <= day]
    planted = [event.on for event in events if event.kind is EventKind.PLANTED_OUT]
    if lifted and (not growing or max(growing) < max(lifted)):
        later = [on for on in planted if day < on <= day + _SAME_SEASON]
        said = (
            f"The photo shows a bloom, but by the day book {name} had been lifted on {max(lifted)} "
            f"and was not planted out again by {day}."
        )
        return Contradiction(said=said, missing=not later, since=max(lifted))
    if not growing and planted and min(planted) > day:
        # Planted only next year, or lifted before that, it may have stood there unentered.
        between = [e.on for e in events if e.kind in _OUT_OF_IT and day < e.on < min(planted)]
        return Contradiction(
            said=f"The photo shows a bloom, but by the day book {name} was planted out only on "
            f"{min(planted)}.",
            missing=bool(between) or min(planted) > day + _SAME_SEASON,
            since=day - _A_YEAR,
        )
    return None
