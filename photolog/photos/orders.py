"""The order in which the day book has the plants of a day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from photolog.photos.facts import Shows
from photolog.photos.garden import Garden, Holder
from photolog.terms import EventKind

__all__ = ["SHOWN_BY", "day_order"]

SHOWN_BY: Mapping[Shows, Sequence[Sequence[EventKind]]] = {
    "clump": (
        (EventKind.LIFTED,),
        (EventKind.WASHED, EventKind.TRIMMED, EventKind.DRIED, EventKind.WEIGHED),
        (EventKind.DIVIDED, EventKind.STORED, EventKind.CHECKED),
    ),
    "bloom": ((EventKind.FIRST_BLOOM, EventKind.BUD_SECURED, EventKind.SHOWN),),
}
"""What the day book may say on the day of a photo, the plainest first."""

_DAY = timedelta(days=1)


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
