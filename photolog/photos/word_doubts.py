"""What speaks against an entry that a word card proposes, in a sentence for the grower."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, datetime, time

from photolog.photos.contradictions import contradiction
from photolog.photos.garden import DayFact, Garden, Holder
from photolog.terms import EventKind, LossCause
from photolog.word_cards import WordCard

__all__ = ["against_word"]

_IN_THE_GROUND = (EventKind.PLANTED_OUT, EventKind.STAYED)
_OUT_OF_IT = (EventKind.LIFTED, EventKind.STORED)
_GROWN_ON = (*_IN_THE_GROUND, EventKind.POTTED, EventKind.CHILLED)

# What is done to a clump that is out of the ground, and to a plant that grows.
_TO_A_CLUMP = (EventKind.WASHED, EventKind.DRIED, EventKind.TRIMMED, EventKind.STORED)
_TO_A_GROWING_PLANT = (
    EventKind.STOPPED,
    EventKind.DISBUDDED,
    EventKind.BUD_SECURED,
    EventKind.FIRST_BLOOM,
    EventKind.CROSSED,
    EventKind.POD_TAKEN,
    EventKind.CUT_DOWN,
    EventKind.LIFTED,
)
_VERDICTS = (EventKind.KEPT, EventKind.ANOTHER_YEAR, EventKind.DISCARDED)
_FEWER = (EventKind.LOST, EventKind.ROGUED, EventKind.DISCARDED, EventKind.GIVEN_AWAY)


def against_word(
    card: WordCard,
    holder: Holder,
    *,
    on: date,
    tag_seen: bool,
    count: int | None,
    others: Collection[WordCard],
    events: Sequence[DayFact],
    garden: Garden,
) -> str | None:
    """Why this can't have happened to this plant or batch on that day; None: nothing is against it.

    ``tag_seen``: its tag was in the photo, or in the one before. ``others`` are the further word
    cards shown with it that day, ``events`` all that is known of it, entered or proposed.
    """
    name = garden.named(holder)
    if card.cause is LossCause.LABEL_LOST and tag_seen:
        return f"The label of {name} can't be lost: it was photographed."
    impossible = contradiction(
        holder,
        shows=None,
        taken_at=datetime.combine(on, time(12)),
        garden=Garden(holdings=(), holders=garden.holders, events=events),
    )
    if impossible is not None:
        return impossible
    if card.kind in _VERDICTS:
        said = [other.word for other in others if other.kind in _VERDICTS and other != card]
        if said:
            return f"{name} was shown with “{said[0]}” the same day as well."
    if holder.kind == "plant":
        return _against_plant(card.kind, name, on=on, events=events)
    if card.kind in _FEWER and count is None:
        return f"It doesn't say how many of {name}; without a number it would be all of them."
    return None


def _against_plant(
    kind: EventKind, name: str, *, on: date, events: Sequence[DayFact]
) -> str | None:
    planted = _last(events, _IN_THE_GROUND, until=on)
    out = _last(events, _OUT_OF_IT, until=on)
    if kind in _TO_A_CLUMP and planted is not None and (out is None or out < planted):
        return f"{name} was planted out on {planted} and is not entered as lifted since."
    if kind in _TO_A_GROWING_PLANT and out is not None and out < on:
        grown_on = _last(events, _GROWN_ON, until=on)
        if grown_on is None or grown_on < out:
            return f"{name} was lifted on {out} already and is not entered as planted out since."
    if kind is EventKind.FIRST_BLOOM:
        first = _last(events, (EventKind.FIRST_BLOOM,), until=on)
        if first is not None and (planted is None or first >= planted):
            return f"The first bloom of {name} is entered on {first} already."
    return None


def _last(events: Sequence[DayFact], kinds: Collection[EventKind], *, until: date) -> date | None:
    return max((e.on for e in events if e.kind in kinds and e.on <= until), default=None)
