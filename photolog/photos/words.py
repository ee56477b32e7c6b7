"""What word cards in photos propose: which word, for whom, on which day, and what is against it.

A word card speaks for the plant or batch whose tag is in the same photo, else for that of the photo
directly before on the same camera; several cards may be shown one after the other. Where anything
else came between, nobody is named, and the grower says whose it is.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from photolog.photos.facts import PhotoFacts
from photolog.photos.garden import DayFact, Garden, Holder
from photolog.photos.word_doubts import against_word
from photolog.photos.word_places import Whose, WordsRead
from photolog.terms import EventKind
from photolog.word_cards import WordCard, word_of_mark

__all__ = ["OF_BOXES", "ProposedWord", "Told", "propose_words"]

OF_BOXES = frozenset({EventKind.CHECKED, EventKind.STORED, EventKind.TREATED})
"""What word cards can say of a whole box; anything else is about a plant in it."""

_DATE_DOUBTED = "By its camera's counting the date of the photo can't be right."

Key = tuple[int, int]
"""A photo and the mark of a word card in it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What the grower put right of one card: the word meant (its mark), whose it is, how many."""

    meant: int
    holder: Holder | None
    count: int | None = None
    box: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedWord:
    """An entry proposed by the card with ``mark`` in a photo.

    ``meant`` is the word that counts, ``holder`` None where nobody can say whose it is or it is of
    a ``box`` (its number), ``on`` None where the photo has no date. ``because`` is empty where its
    tag is in the photo. ``against``: why it is not to be confirmed without a look.
    """

    photo_id: int
    mark: int
    meant: WordCard
    holder: Holder | None
    on: date | None
    at: time | None
    because: str
    against: str | None = None
    box: int | None = None


def propose_words(
    photos: Sequence[PhotoFacts],
    read: WordsRead,
    garden: Garden,
    *,
    told: Mapping[Key, Told] | None = None,
    turned_down: Collection[Key] = (),
) -> list[ProposedWord]:
    """Every entry that the word cards propose and the day book does not have, oldest first.

    ``read`` are the cards by photo and whose they are. Each is proposed once for a plant and day,
    however often it was photographed. ``told`` is what the grower put right; ``turned_down`` are
    not proposed.
    """
    found: list[ProposedWord] = []
    for photo in photos:
        for word in read.words.get(photo.photo_id, ()):
            card = word_of_mark(word.mark)
            if card is not None:
                doubt = _DATE_DOUBTED if photo.photo_id in read.doubted else None
                found.append(_proposed(photo, card, read.whose[photo.photo_id], doubt=doubt))
    found.sort(key=lambda one: (one.on or date.max, one.at or time.max, one.photo_id, one.mark))
    seen_by_tag = {photo_id for photo_id, one in read.whose.items() if one.tag is not None}
    return _weighed(
        _each_once(found), seen_by_tag, garden, told=told or {}, turned_down=turned_down
    )


def _proposed(
    photo: PhotoFacts, card: WordCard, whose: Whose, *, doubt: str | None
) -> ProposedWord:
    at = photo.taken_at
    because = whose.because
    box = whose.box if whose.holder is None and card.kind in OF_BOXES else None
    if at is None:
        because = f"{photo.date_problem or 'The photo has no date.'} Say when it was taken."
    return ProposedWord(
        photo_id=photo.photo_id,
        mark=card.mark,
        meant=card,
        holder=whose.holder if at is not None else None,
        on=at.date() if at is not None else None,
        # A day that the grower told has no hour; such a photo is of no camera here.
        at=at.time().replace(microsecond=0) if at is not None and photo.camera else None,
        because=because,
        against=doubt or whose.doubt,
        box=box if at is not None else None,
    )


def _each_once(found: Sequence[ProposedWord]) -> list[ProposedWord]:
    """Of one word for one plant on one day the first, as read."""
    seen: set[tuple[int, Holder | int, date]] = set()
    kept = []
    for one in found:
        whose = one.holder if one.holder is not None else one.box
        if whose is not None and one.on is not None:
            key = (one.mark, whose, one.on)
            if key in seen:
                continue
            seen.add(key)
        kept.append(one)
    return kept


def _weighed(
    found: Sequence[ProposedWord],
    seen_by_tag: Collection[int],
    garden: Garden,
    *,
    told: Mapping[Key, Told],
    turned_down: Collection[Key],
) -> list[ProposedWord]:
    """What is left to propose, each with what is against it, in the order of the days."""
    meant: list[tuple[ProposedWord, int | None, bool]] = []
    for one in found:
        key = (one.photo_id, one.mark)
        if key in turned_down:
            continue
        if key in told:
            card = word_of_mark(told[key].meant) or one.meant
            right = replace(
                one,
                meant=card,
                holder=told[key].holder or (None if told[key].box is not None else one.holder),
                box=told[key].box,
                because="Put right by you.",
                against=None,
            )
            meant.append((right, told[key].count, False))
        else:
            meant.append((one, None, one.photo_id in seen_by_tag))
    cards: dict[tuple[Holder, date], list[WordCard]] = {}
    for one, _, _ in meant:
        if one.holder is not None and one.on is not None:
            cards.setdefault((one.holder, one.on), []).append(one.meant)
    ahead: dict[Holder, list[DayFact]] = {}
    weighed = []
    for one, count, tag_seen in meant:
        if one.holder is None or one.on is None:
            if (one.meant.kind, one.on, one.box) not in garden.box_entries:
                weighed.append(one)
            continue
        fact = DayFact(
            kind=one.meant.kind, on=one.on, holder=one.holder, count=count, cause=one.meant.cause
        )
        known = [*garden.events_of(one.holder), *ahead.get(one.holder, ())]
        if any(_same_entry(fact, event) for event in known):
            continue
        against = against_word(
            one.meant,
            one.holder,
            on=one.on,
            tag_seen=tag_seen,
            count=count,
            others=cards[one.holder, one.on],
            events=known,
            garden=garden,
        )
        against = against or one.against
        if against is None:
            # What is proposed without doubt counts for what comes after: washed after lifted.
            ahead.setdefault(one.holder, []).append(fact)
        weighed.append(replace(one, against=against))
    return weighed


def _same_entry(one: DayFact, other: DayFact) -> bool:
    return (one.kind, one.on, one.holder, one.cause) == (
        other.kind,
        other.on,
        other.holder,
        other.cause,
    )
