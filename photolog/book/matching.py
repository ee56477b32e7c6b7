"""Matching in the stock book: by tag, run and day book, by hand, and taking that back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from photolog.book import settings as book_settings
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import garden_facts, photo_facts
from photolog.book.proposing import confirmed_for, renew_proposals, words_of
from photolog.book.stock import StockRef, columns_of, ref_of
from photolog.book.stockbook import StockBook
from photolog.book.tags import parse, resolve_in
from photolog.book.waiting import (
    MatchedPhoto,
    WaitingCandidate,
    WaitingPhoto,
    matched,
    waiting,
)
from photolog.photos.facts import Candidate, Match, MatchSettings
from photolog.photos.matching import match_photos
from photolog.photos.word_matches import match_word_photos
from photolog.records import BatchRow, CandidateRow, PhotoRow, PhotoSubjectRow, PlantRow
from photolog.terms import MatchState

__all__ = [
    "MatchReport",
    "MatchSettings",
    "MatchedPhoto",
    "WaitingCandidate",
    "WaitingPhoto",
    "decide",
    "decide_stock",
    "match_all",
    "match_settings",
    "matched",
    "undo",
    "waiting",
]

_BY_HAND = "by hand"


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchReport:
    """How all photos stand after matching.

    ``by_reason`` counts the matched ones ("tag", "run", "day book", "by hand"); ``changed`` those
    that stand otherwise than before; ``contradictions`` are the waiting ones that the day book
    speaks against.
    """

    matched: int
    waiting: int
    no_plant: int
    by_reason: Mapping[str, int]
    changed: int
    contradictions: tuple[WaitingPhoto, ...]


def match_settings(book: StockBook) -> MatchSettings:
    """What the grower set for matching, the rest by default."""
    side = str(book_settings.get(book, "tag_shot"))
    return MatchSettings(
        threshold=float(book_settings.get(book, "match_threshold")),
        pause_minutes=float(book_settings.get(book, "run_pause_minutes")),
        tag_shot="before" if side == "before" else "after" if side == "after" else "learn",
    )


def match_all(book: StockBook, *, settings: MatchSettings | None = None) -> MatchReport:
    """Match every photo that was not decided by hand, and propose what word cards say, anew.

    It can be run at any time and as often as wanted: what it finds depends only on photos, tags,
    day book and what was decided by hand, never on an earlier run. A photo that was matched and no
    longer can be (a tag was handed on, an entry struck out) waits again.
    """
    settings = settings or match_settings(book)
    with book.writing() as session:
        photos = photo_facts(session)
        garden = garden_facts(session)
        matched_by_photo = match_word_photos(
            match_photos(photos, garden, settings),
            photos,
            words_of(session, photos),
            garden,
            confirmed=confirmed_for(session),
            settings=settings,
        )
        matches = {match.photo_id: match for match in matched_by_photo}
        changed = _write(session, matches)
        session.flush()
        renew_proposals(session, photos, garden, settings)
        states: Counter[MatchState] = Counter(session.scalars(select(PhotoRow.match_state)))
        reasons = session.execute(
            select(PhotoSubjectRow.photo_id, PhotoSubjectRow.reason).distinct()
        )
        by_reason: Counter[str] = Counter(reason for _, reason in reasons)
        against = waiting(
            book, only=[match.photo_id for match in matches.values() if match.contradiction]
        )
    return MatchReport(
        matched=states[MatchState.MATCHED],
        waiting=states[MatchState.WAITING],
        no_plant=states[MatchState.NO_PLANT],
        by_reason=MappingProxyType(dict(by_reason)),
        changed=changed,
        contradictions=against,
    )


def decide(
    book: StockBook, photo_id: int, tag: str | int | None, *, on: date | None = None
) -> None:
    """Match a photo by hand to whoever held the tag when it was taken; ``tag`` None: no plant.

    A photo without a date needs ``on``, the day that the grower knows it was taken; it is kept as
    the photo's date. The decision stands until ``undo``, whatever matching finds. Raises
    ``Unknown`` for photo and tag, ``WrongEntry`` when the day is missing.
    """
    if tag is None:
        decide_stock(book, photo_id)
        return
    with book.writing() as session:
        row = _photo(session, photo_id)
        if on is not None and row.taken_at is None:
            row.told_on = on
        session.flush()
        (facts,) = photo_facts(session, PhotoRow.id == photo_id)
        day = on if on is not None else facts.taken_at.date() if facts.taken_at else None
        if day is None:
            msg = (
                f"Photo {photo_id} has no date, so nobody can say who held tag {parse(tag):04d} "
                "then. Say on which day it was taken."
            )
            raise WrongEntry(msg)
        decide_stock(book, photo_id, resolve_in(session, tag, on=day).stock)


def decide_stock(book: StockBook, photo_id: int, *stock: StockRef) -> None:
    """Match a photo by hand to plants and batches, several if it shows several; none: no plant."""
    with book.writing() as session:
        row = _photo(session, photo_id)
        for one in stock:
            there = session.get(PlantRow if one.kind == "plant" else BatchRow, one.id)
            if there is None:
                msg = f"There is no {one.kind} {one.id} in the stock book."
                raise Unknown(msg)
        _set_subjects(
            row,
            [
                PhotoSubjectRow(
                    **columns_of(one),
                    reason=_BY_HAND,
                    because="Said by the grower.",
                    probability=1.0,
                    by_hand=True,
                    matched_at=datetime.now(UTC),
                )
                for one in dict.fromkeys(stock)
            ],
        )
        row.candidates.clear()
        row.match_by_hand = True
        row.match_state = MatchState.MATCHED if stock else MatchState.NO_PLANT
        row.waiting_because = None


def undo(book: StockBook, photo_id: int) -> MatchedPhoto | WaitingPhoto:
    """Take back what was decided by hand; gives the photo as matching finds it now.

    ``MatchedPhoto`` where tag, run or day book say whose it is, else ``WaitingPhoto`` with the
    reason why it waits. Raises ``Unknown`` for the photo, ``WrongEntry`` where nothing was decided.
    """
    with book.writing() as session:
        row = _photo(session, photo_id)
        if not row.match_by_hand:
            msg = f"Photo {photo_id} was not matched by hand, so there is nothing to take back."
            raise WrongEntry(msg)
        row.match_by_hand = False
        row.told_on = None
        session.flush()
        match_all(book)
        session.flush()
        waits = waiting(book, only=[photo_id])
        if waits:
            return waits[0]
        return next(one for one in matched(book) if one.photo_id == photo_id)


def _photo(session: Session, photo_id: int) -> PhotoRow:
    row = session.get(PhotoRow, photo_id)
    if row is None:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    return row


class _Said(NamedTuple):
    """One match or candidate as its row keeps it."""

    stock: StockRef
    reason: str
    because: str
    probability: float

    @classmethod
    def by_row(cls, row: PhotoSubjectRow | CandidateRow) -> _Said:
        return cls(ref_of(row.plant_id, row.batch_id), row.reason, row.because, row.probability)

    @classmethod
    def by_candidate(cls, one: Candidate) -> _Said:
        return cls(
            StockRef(one.holder.kind, one.holder.id), one.reason, one.because, one.probability
        )


def _write(session: Session, matches: Mapping[int, Match]) -> int:
    """Write what is not kept so already; how many photos stand otherwise than before."""
    rows = session.scalars(
        select(PhotoRow)
        .where(PhotoRow.match_by_hand.is_(False))
        .options(selectinload(PhotoRow.subjects), selectinload(PhotoRow.candidates))
    )
    changed = 0
    for row in rows:
        match = matches[row.id]
        found = [_Said.by_candidate(one) for one in (match.found,) if one is not None]
        offered = [_Said.by_candidate(one) for one in match.candidates]
        state = MatchState.MATCHED if found else MatchState.WAITING
        had = [_Said.by_row(one) for one in row.subjects]
        changed += (row.match_state, [one.stock for one in had]) != (
            state,
            [one.stock for one in found],
        )
        row.match_state = state
        row.waiting_because = match.waiting_because
        if had != found or any(one.by_hand for one in row.subjects):
            _set_subjects(row, [_subject(one) for one in found])
        if [_Said.by_row(one) for one in row.candidates] != offered:
            row.candidates[:] = [
                CandidateRow(
                    **columns_of(one.stock),
                    reason=one.reason,
                    because=one.because,
                    probability=one.probability,
                )
                for one in offered
            ]
    return changed


def _subject(said: _Said) -> PhotoSubjectRow:
    return PhotoSubjectRow(
        **columns_of(said.stock),
        reason=said.reason,
        because=said.because,
        probability=said.probability,
        by_hand=False,
        matched_at=datetime.now(UTC),
    )


def _set_subjects(row: PhotoRow, wanted: Sequence[PhotoSubjectRow]) -> None:
    """Replace what a photo belongs to; a row that stays keeps what was told of it (the stage)."""
    kept = {ref_of(one.plant_id, one.batch_id): one for one in row.subjects}
    subjects = []
    for new in wanted:
        old = kept.get(ref_of(new.plant_id, new.batch_id))
        if old is None:
            subjects.append(new)
            continue
        old.reason, old.because = new.reason, new.because
        old.probability, old.by_hand = new.probability, new.by_hand
        old.matched_at = new.matched_at
        subjects.append(old)
    row.subjects[:] = subjects
