"""Orders that a grower may have followed with the camera: the day book's of a day, the bed's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from statistics import median

from photolog.photos.contradictions import contradiction
from photolog.photos.facts import DayFact, Garden, Holder, Shows
from photolog.terms import EventKind

__all__ = ["SHOWN_BY", "bed_order", "day_order", "unlikely_on"]

SHOWN_BY: Mapping[Shows, Sequence[Sequence[EventKind]]] = {
    "clump": (
        (EventKind.LIFTED,),
        (EventKind.WASHED, EventKind.TRIMMED, EventKind.DRIED, EventKind.WEIGHED),
        (EventKind.DIVIDED, EventKind.STORED, EventKind.CHECKED),
    ),
    "bloom": ((EventKind.FIRST_BLOOM, EventKind.BUD_SECURED, EventKind.SHOWN),),
}
"""What the day book may say on the day of a photo, the plainest first."""

_SEASON = timedelta(days=330)
_DAY = timedelta(days=1)
# Neighbours in a walk that are further apart in the bed say nothing of what stands between them.
_NEIGHBOURS = 10

# How improbable a photo is that the day book doesn't rule out (judgement, no source).
_SPOKEN_AGAINST = 0.1
_NOT_YET_IN_BLOOM = 0.1
_LIFTED_ANOTHER_DAY = 0.02


def day_order(day: date, shows: Shows, garden: Garden) -> list[Holder]:
    """What the day book has for such photos around a day, in the order in which it was entered.

    The day before and after count too: a camera of another zone may be a day off, and what is done
    in the evening is often entered the next day. Where hours are entered, they order a day.
    """
    for kinds in SHOWN_BY[shows]:
        entries = [
            (entry.on, entry.at is None, entry.at, nth, entry.holder)
            for on in (day - _DAY, day, day + _DAY)
            for nth, entry in enumerate(garden.events_by_day.get(on, ()))
            if entry.kind in kinds and entry.holder is not None
        ]
        if entries:
            timed = all(at is not None for _, _, at, _, _ in entries)
            entries.sort(key=lambda one: (one[0], one[2] if timed else one[3], one[3]))
            return list(dict.fromkeys(holder for *_, holder in entries))
    return []


def bed_order(day: date, garden: Garden, *, walks: Sequence[Sequence[Holder]] = ()) -> list[Holder]:
    """How the plants of that season stand, by the order in which they were planted out.

    What was not entered is put between those that it was photographed between: ``walks`` are the
    plants of one day's photos in their order, as far as they are sure.
    """
    planted: dict[Holder, tuple[date, int]] = {}
    for on in sorted(on for on in garden.events_by_day if day - _SEASON <= on <= day):
        for nth, entry in enumerate(garden.events_by_day[on]):
            if entry.kind is EventKind.PLANTED_OUT and entry.holder is not None:
                planted[entry.holder] = (on, nth)
    place = {
        holder: float(n) for n, holder in enumerate(sorted(planted, key=lambda one: planted[one]))
    }
    votes: dict[Holder, list[tuple[int, float]]] = {}
    for walk in walks:
        for before, one, after in zip(walk, walk[1:], walk[2:], strict=False):
            if one in place or before not in place or after not in place:
                continue
            apart = round(abs(place[before] - place[after]))
            if apart <= _NEIGHBOURS:
                votes.setdefault(one, []).append((apart, (place[before] + place[after]) / 2))
    for holder, said in votes.items():
        # The nearest neighbours that it was ever met between say best where it stands.
        nearest = min(apart for apart, _ in said)
        place[holder] = median(middle for apart, middle in said if apart == nearest)
    return _put_right(sorted(place, key=lambda one: place[one]), walks)


def _put_right(order: list[Holder], walks: Sequence[Sequence[Holder]]) -> list[Holder]:
    """The order with neighbours changed over where most walks met them the other way round."""
    place = {holder: n for n, holder in enumerate(order)}
    met: dict[tuple[Holder, Holder], int] = {}
    for walk in walks:
        places = [place[one] for one in walk if one in place]
        ahead = sum(one < other for one, other in pairwise(places))
        along = walk if 2 * ahead >= len(places) - 1 else walk[::-1]
        for pair in pairwise(along):
            met[pair] = met.get(pair, 0) + 1
    for n in range(len(order) - 1):
        one, other = order[n], order[n + 1]
        if met.get((other, one), 0) > met.get((one, other), 0):
            order[n], order[n + 1] = other, one
    return order


def unlikely_on(
    day: date, shows: Shows, garden: Garden, holders: Iterable[Holder]
) -> dict[Holder, float]:
    """How much less likely the day book makes such a photo of a plant that day.

    What it speaks against is not impossible: that the plant was planted out or lifted may not have
    been entered. Such a photo is offered to its plant, but not to another instead.
    """
    found = {}
    entered = frozenset(day_order(day, shows, garden))
    noon = datetime.combine(day, time(12))
    for holder in holders:
        if contradiction(holder, shows=shows, taken_at=noon, garden=garden) is not None:
            found[holder] = _SPOKEN_AGAINST
            continue
        entries = garden.events_of(holder)
        if shows == "bloom" and _later_only(entries, EventKind.FIRST_BLOOM, day):
            found[holder] = _NOT_YET_IN_BLOOM
        if shows == "clump" and holder not in entered and _lifted_another_day(entries, day):
            found[holder] = _LIFTED_ANOTHER_DAY
    return found


def _later_only(entries: Sequence[DayFact], kind: EventKind, day: date) -> bool:
    said = [entry.on for entry in entries if entry.kind is kind and abs(entry.on - day) < _SEASON]
    return bool(said) and min(said) > day


def _lifted_another_day(entries: Sequence[DayFact], day: date) -> bool:
    """Whether it was lifted in these weeks, but not on this day."""
    said = [abs(entry.on - day) for entry in entries if entry.kind is EventKind.LIFTED]
    return bool(said) and _DAY < min(said) < timedelta(days=40)
