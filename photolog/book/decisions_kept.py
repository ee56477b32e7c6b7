"""Decisions in the tables: what was said of each photo, which stand, and the match they make."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from photolog.book.errors import WrongEntry
from photolog.book.stock import StockRef, columns_of, ref_of
from photolog.records import (
    CandidateRow,
    CopyRow,
    DecidedPhotoRow,
    DecisionRow,
    PhotoBoxRow,
    PhotoRow,
    PhotoSubjectRow,
)
from photolog.records.copies import is_no_copy
from photolog.terms import CopyState, MatchState

__all__ = [
    "First",
    "Said",
    "as_said",
    "first_candidates",
    "last_decided",
    "merged_into",
    "standing",
    "write_said",
]

_BY_HAND = "by hand"


class Said(NamedTuple):
    """What a decision says of one photo; nothing: it is of no plant."""

    stock: tuple[StockRef, ...] = ()
    boxes: tuple[int, ...] = ()


def write_said(session: Session, row: PhotoRow, belongs: Said) -> None:
    """Let a photo belong to this by hand; a subject that stays keeps what was told of it."""
    now = datetime.now(UTC)
    by_hand = {"reason": _BY_HAND, "because": "Said by the grower.", "probability": 1.0}
    kept = {ref_of(one.plant_id, one.batch_id): one for one in row.subjects}
    subjects = []
    for stock in belongs.stock:
        one = kept.get(stock) or PhotoSubjectRow(**columns_of(stock))
        one.reason, one.because, one.probability = _BY_HAND, "Said by the grower.", 1.0
        one.by_hand, one.matched_at = True, now
        subjects.append(one)
    row.subjects[:] = subjects
    session.execute(delete(CandidateRow).where(CandidateRow.photo_id == row.id))
    session.execute(delete(PhotoBoxRow).where(PhotoBoxRow.photo_id == row.id))
    for box_id in belongs.boxes:
        session.add(
            PhotoBoxRow(photo_id=row.id, box_id=box_id, by_hand=True, matched_at=now, **by_hand)
        )
    row.match_by_hand = True
    row.match_state = MatchState.MATCHED if any(belongs) else MatchState.NO_PLANT
    row.waiting_because = None


def standing(session: Session, ids: Sequence[int]) -> dict[int, list[list[DecidedPhotoRow]]]:
    """By photo, the decisions that stand, oldest first, each with its rows."""
    rows = session.scalars(
        select(DecidedPhotoRow)
        .join(DecidedPhotoRow.decision)
        .where(DecidedPhotoRow.photo_id.in_(ids), DecidedPhotoRow.taken_back_at.is_(None))
        .order_by(DecisionRow.decided_at, DecisionRow.id, DecidedPhotoRow.id)
    )
    found: dict[int, dict[int, list[DecidedPhotoRow]]] = {}
    for row in rows:
        found.setdefault(row.photo_id, {}).setdefault(row.decision_id, []).append(row)
    return {photo_id: list(every.values()) for photo_id, every in found.items()}


def as_said(rows: Sequence[DecidedPhotoRow]) -> Said:
    """What the rows of one decision say of one photo."""
    return Said(
        stock=tuple(
            ref_of(one.plant_id, one.batch_id)
            for one in rows
            if one.plant_id is not None or one.batch_id is not None
        ),
        boxes=tuple(one.box_id for one in rows if one.box_id is not None),
    )


def last_decided(session: Session) -> list[int]:
    """The photos of the last decision that stand by it; ``WrongEntry`` where there is none.

    What was said of a photo that is a copy of another by now comes back with the copy.
    """
    stands = (
        DecidedPhotoRow.taken_back_at.is_(None),
        DecidedPhotoRow.photo_id.in_(select(PhotoRow.id).where(is_no_copy())),
    )
    last = session.scalar(
        select(DecisionRow.id)
        .join(DecisionRow.photos)
        .where(*stands)
        .order_by(DecisionRow.decided_at.desc(), DecisionRow.id.desc())
        .limit(1)
    )
    if last is None:
        msg = "No photo was decided by hand, so there is nothing to take back."
        raise WrongEntry(msg)
    ids = session.scalars(
        select(DecidedPhotoRow.photo_id)
        .where(DecidedPhotoRow.decision_id == last, *stands)
        .order_by(DecidedPhotoRow.id)
    )
    return list(dict.fromkeys(ids))


def merged_into(session: Session, ids: Collection[int]) -> dict[int, int]:
    """Of those of these photos that are copies, the photo that stands for each."""
    rows = session.execute(
        select(CopyRow.photo_id, CopyRow.of_photo_id).where(CopyRow.state == CopyState.COPY)
    )
    of = {row.photo_id: row.of_photo_id for row in rows}
    found = {}
    for photo_id in ids:
        stands = photo_id
        while stands in of:
            stands = of[stands]
        if stands != photo_id:
            found[photo_id] = stands
    return found


class First(NamedTuple):
    """A waiting photo's most probable plant or batch."""

    stock: StockRef
    probability: float


def first_candidates(session: Session, ids: Sequence[int]) -> dict[int, First]:
    """Of those of these photos that wait, the first candidate."""
    first: dict[int, First] = {}
    for row in session.scalars(
        select(CandidateRow)
        .join(PhotoRow, PhotoRow.id == CandidateRow.photo_id)
        .where(CandidateRow.photo_id.in_(ids), PhotoRow.match_state == MatchState.WAITING)
        .order_by(CandidateRow.probability.desc(), CandidateRow.id)
    ):
        first.setdefault(row.photo_id, First(ref_of(row.plant_id, row.batch_id), row.probability))
    return first
