"""The grower's word on whose photos are: one, a run, an afternoon; and taking it back whole."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book import boxes
from photolog.book.ahead import refuse_ahead
from photolog.book.anew import match_anew, match_settings
from photolog.book.decisions_kept import (
    Said,
    as_said,
    first_candidates,
    last_decided,
    merged_into,
    standing,
    write_said,
)
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import photo_facts
from photolog.book.moves import Moves
from photolog.book.stock import StockRef, columns_of, must_be_there
from photolog.book.stockbook import StockBook
from photolog.book.tags import parse, resolve_in
from photolog.book.waiting import SURE, MatchedPhoto, WaitingPhoto, matched, waiting
from photolog.photos.laying import visits_in_order
from photolog.records import (
    DayToldRow,
    DecidedPhotoRow,
    DecisionRow,
    PhotoRow,
)
from photolog.terms import MatchState

__all__ = [
    "Decided",
    "TakenBack",
    "decide",
    "decide_along",
    "decide_as_proposed",
    "decide_stock",
    "undo",
]

_LIKELIER_THAN_NOT = 0.5

Tag = str | int
"""A plant's or batch's tag, or a box: 12, "0012-K", "box 3"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """A decision made: its photos, those of the run that it left open, and what moved by it.

    ``copies``: the photos named that are copies, each with the photo decided in its stead.
    """

    photos: tuple[int, ...]
    left: tuple[int, ...]
    said: str
    moves: Moves
    copies: Mapping[int, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack:
    """A decision taken back: how each of its photos stands now, and what else moved by it.

    A photo of which an earlier decision stands is as that one says; one without an entry in
    ``stand`` is of no plant.
    """

    photos: tuple[int, ...]
    said: str
    stand: tuple[MatchedPhoto | WaitingPhoto, ...]
    moves: Moves


def decide(
    book: StockBook,
    photos: int | Sequence[int],
    tag: Tag | Sequence[Tag] | None,
    *,
    on: date | None = None,
) -> Decided:
    """Say whose photos are: of whoever held the tag when each was taken; None: of no plant.

    Several tags (or boxes) mean that every photo belongs to all of them. Photos without a date
    need ``on``, the day that the grower knows they were taken; it is kept as theirs. The decision
    stands until ``undo``, whatever matching finds; everything else is matched anew. For a copy the
    photo is decided that it was merged into. Raises ``Unknown`` for photo, tag and box,
    ``WrongEntry`` when the day is missing, or not that of a photo's own date; nothing is decided
    then.
    """
    named = [tag] if isinstance(tag, str | int) else list(tag or ())
    with book.writing() as session:
        ids, copies = _stand_in(session, photos)
        rows = _rows(session, ids)
        told = _tell_days(session, rows, on)
        said = {
            photo_id: _resolved(session, named, photo_id, day)
            for photo_id, day in _days(session, ids).items()
        }
        words = " and ".join(_tag_words(one) for one in named) if named else "no plant"
        return _decided(book, session, rows, said, said_as=words, told=told, copies=copies)


def decide_along(
    book: StockBook, photos: Sequence[int], tags: Sequence[Tag], *, on: date | None = None
) -> Decided:
    """Lay photos along tags, in the order in which they were taken: the first is the first tag's.

    There is one photo to each tag, or one visit: a tag shot with its clump, or shots of one bloom
    that look alike. Raises ``WrongEntry`` where neither count fits; otherwise as ``decide``.
    """
    with book.writing() as session:
        ids, copies = _stand_in(session, photos)
        rows = _rows(session, ids)
        told = _tell_days(session, rows, on)
        facts = photo_facts(session, PhotoRow.id.in_(ids))
        visits = visits_in_order(facts, match_settings(book))
        if len(facts) == len(tags):
            visits = [[photo] for visit in visits for photo in visit]
        if len(visits) != len(tags):
            msg = (
                f"{_counted(len(facts), 'photo')} of {_counted(len(visits), 'plant')}, by their "
                f"pauses, can't be laid along {_counted(len(tags), 'tag')}. Name as many tags as "
                "plants, or decide fewer at once."
            )
            raise WrongEntry(msg)
        days = _days(session, ids)
        said = {
            photo.photo_id: _resolved(session, [tag], photo.photo_id, days[photo.photo_id])
            for visit, tag in zip(visits, tags, strict=True)
            for photo in visit
        }
        words = f"along {', '.join(_tag_words(tag) for tag in tags)}"
        return _decided(book, session, rows, said, said_as=words, told=told, copies=copies)


def decide_as_proposed(
    book: StockBook, photos: Sequence[int], *, only_sure: bool = False
) -> Decided:
    """Take waiting photos as proposed, each for its first candidate.

    Those whose first candidate is not likelier than not, or with ``only_sure`` not sure, are left
    waiting. Raises ``WrongEntry`` where nothing is left to be taken.
    """
    with book.writing() as session:
        ids, copies = _stand_in(session, photos)
        rows = _rows(session, ids)
        first = first_candidates(session, ids)
        least = SURE if only_sure else _LIKELIER_THAN_NOT
        said = {
            photo_id: Said(stock=(first[photo_id].stock,))
            for photo_id in ids
            if photo_id in first and first[photo_id].probability >= least
        }
        if not said:
            msg = (
                "None of these photos waits with a plant that is sure enough to be taken so. "
                "photolog waiting shows what is proposed; name the tag of each."
            )
            raise WrongEntry(msg)
        decided = {photo_id: rows[photo_id] for photo_id in said}
        left = tuple(one for one in ids if one not in said and _waits(rows[one]))
        return _decided(
            book,
            session,
            decided,
            said,
            said_as="sure" if only_sure else "as proposed",
            copies=copies,
            left=left,
        )


def decide_stock(book: StockBook, photo_id: int, *stock: StockRef) -> Decided:
    """Match a photo by hand to plants and batches, several if it shows several; none: no plant."""
    with book.writing() as session:
        (stands,), copies = _stand_in(session, photo_id)
        rows = _rows(session, [stands])
        must_be_there(session, stock)
        said = {stands: Said(stock=tuple(dict.fromkeys(stock)))}
        return _decided(book, session, rows, said, said_as="by hand", copies=copies)


def undo(book: StockBook, photos: int | Sequence[int] | None = None) -> TakenBack:
    """Take back what was decided of these photos last; of None, the last decision whole.

    A day that was told with it gives way to the one told before, unless another was told since. Of
    a copy, what was decided of the photo that stands for it is taken back. Raises ``Unknown`` for a
    photo, ``WrongEntry`` where nothing was decided.
    """
    with book.writing() as session:
        ids = last_decided(session) if photos is None else _stand_in(session, photos)[0]
        rows = _rows(session, ids)
        kept = standing(session, ids)
        for photo_id, row in rows.items():
            decisions = kept.get(photo_id, [])
            if not row.match_by_hand:
                msg = f"Photo {photo_id} was not matched by hand, so there is nothing to take back."
                raise WrongEntry(msg)
            for one in decisions[-1] if decisions else ():
                one.taken_back_at = datetime.now(UTC)
                if one.told_day and not _told_since(session, one):
                    row.told_on = one.told_before
            if len(decisions) > 1:
                write_said(session, row, as_said(decisions[-2]))
            else:
                # What was decided before decisions were kept told the day with it.
                if not decisions:
                    row.told_on = None
                row.match_by_hand = False
                row.waiting_because = None
        session.flush()
        moves = match_anew(book)
        session.flush()
        every = set(ids)
        stand: list[MatchedPhoto | WaitingPhoto] = [*matched(book, only=ids)]
        stand += waiting(book, only=ids)
        rest = Moves(moves=tuple(one for one in moves if one.photo_id not in every))
        return TakenBack(photos=tuple(ids), said=_numbers(ids), stand=tuple(stand), moves=rest)


def _stand_in(session: Session, photos: int | Sequence[int]) -> tuple[list[int], dict[int, int]]:
    """The photos to decide, each once, and for which of those named another one stands."""
    named = [photos] if isinstance(photos, int) else list(photos)
    copies = merged_into(session, named)
    return list(dict.fromkeys(copies.get(one, one) for one in named)), copies


def _rows(session: Session, ids: Sequence[int]) -> dict[int, PhotoRow]:
    rows = {row.id: row for row in session.scalars(select(PhotoRow).where(PhotoRow.id.in_(ids)))}
    for photo_id in ids:
        if photo_id not in rows:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)
    return {photo_id: rows[photo_id] for photo_id in ids}


def _waits(row: PhotoRow) -> bool:
    return row.match_state is MatchState.WAITING


def _tell_days(
    session: Session, rows: Mapping[int, PhotoRow], on: date | None
) -> dict[int, date | None]:
    """Give the photos without a date the day that the grower told; which day each had before.

    ``WrongEntry`` where a photo has a date of its own that says another day.
    """
    if on is None:
        return {}
    refuse_ahead(on, now=None)
    before = {}
    for row in rows.values():
        if row.taken_at is None and row.told_on != on:
            before[row.id] = row.told_on
            row.told_on = on
    session.flush()
    for photo_id, day in _days(session, list(rows)).items():
        if day != on:
            msg = (
                f"Photo {photo_id} says itself that it was taken on {day}, not on {on}: only "
                "photos without a date can be told one. If its camera's clock is wrong, mend that."
            )
            raise WrongEntry(msg)
    return before


def _told_since(session: Session, decided: DecidedPhotoRow) -> bool:
    """Whether the photo's day was told for a lot after it was decided."""
    told_at = session.scalar(
        select(DayToldRow.told_at).where(DayToldRow.photo_id == decided.photo_id)
    )
    return told_at is not None and told_at > decided.decision.decided_at


def _days(session: Session, ids: Sequence[int]) -> dict[int, date | None]:
    facts = photo_facts(session, PhotoRow.id.in_(ids))
    days = {one.photo_id: one.taken_at.date() if one.taken_at else None for one in facts}
    return {photo_id: days[photo_id] for photo_id in ids}


def _resolved(session: Session, named: Sequence[Tag], photo_id: int, day: date | None) -> Said:
    stock: list[StockRef] = []
    found: list[int] = []
    for one in named:
        number = boxes.number_of(str(one))
        if number is not None:
            found.append(boxes.row_of(session, number).id)
            continue
        if day is None:
            msg = (
                f"Photo {photo_id} has no date, so nobody can say who held tag {parse(one):04d} "
                "then. Say on which day it was taken."
            )
            raise WrongEntry(msg)
        stock.append(resolve_in(session, one, on=day).stock)
    return Said(tuple(dict.fromkeys(stock)), tuple(dict.fromkeys(found)))


def _decided(
    book: StockBook,
    session: Session,
    rows: Mapping[int, PhotoRow],
    said: Mapping[int, Said],
    *,
    said_as: str,
    copies: Mapping[int, int],
    told: Mapping[int, date | None] | None = None,
    left: tuple[int, ...] = (),
) -> Decided:
    told = told or {}
    decision = DecisionRow(decided_at=datetime.now(UTC), said=said_as)
    for photo_id, row in rows.items():
        belongs = said[photo_id]
        things = [
            *(DecidedPhotoRow(**columns_of(one)) for one in belongs.stock),
            *(DecidedPhotoRow(box_id=one) for one in belongs.boxes),
        ]
        for thing in things or [DecidedPhotoRow()]:
            thing.photo_id, thing.told_day = photo_id, photo_id in told
            thing.told_before = told.get(photo_id)
            decision.photos.append(thing)
        write_said(session, row, belongs)
    session.add(decision)
    session.flush()
    moves = match_anew(book)
    return Decided(photos=tuple(rows), left=left, said=said_as, moves=moves, copies=copies)


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}"


def _tag_words(tag: Tag) -> str:
    number = boxes.number_of(str(tag))
    return f"tag {parse(tag):04d}" if number is None else f"box {number}"


def _numbers(ids: Sequence[int]) -> str:
    return f"photo {ids[0]}" if len(ids) == 1 else f"{len(ids)} photos"
