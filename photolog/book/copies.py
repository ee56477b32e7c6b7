"""Copies of photos: what is proposed, the grower's word on it, and what they were merged into."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from photolog.book.copies_found import look_for_copies
from photolog.book.decisions_kept import merged_into, standing
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.matching import match_all
from photolog.book.stock import StockRef, columns_of, ref_of
from photolog.book.stockbook import StockBook
from photolog.book.workers import OnProgress
from photolog.records import CopyRow, PhotoFileRow, PhotoRow, PhotoSubjectRow
from photolog.terms import CopyState, MatchState

__all__ = [
    "CopiesFound",
    "CopyView",
    "OtherFile",
    "confirm",
    "every",
    "look",
    "other_files",
    "proposed",
    "say_apart",
    "undo",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyView:
    """A photo and the one that it looks like a copy of; ``number`` is that of the pair.

    ``because`` is a sentence; ``taken_over`` says what the other has from it since it is a copy.
    """

    number: int
    photo_id: int
    name: str
    of_photo_id: int
    of_name: str
    state: CopyState
    certain: bool
    because: str
    taken_over: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherFile:
    """Another file with the picture of a photo, and what the photo has from it ('' for nothing)."""

    photo_id: int
    photo_name: str
    name: str
    same_file: bool
    taken_over: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CopiesFound:
    """How many photos look like copies of others, and how many are, to the last pixel."""

    proposed: int
    certain: tuple[CopyView, ...]


def look(book: StockBook, *, progress: OnProgress | None = None) -> CopiesFound:
    """Compare what was taken in since the last time; what is certain is merged at once."""
    n_proposed, n_certain = look_for_copies(book, progress=progress)
    if not n_certain:
        return CopiesFound(proposed=n_proposed, certain=())
    with book.writing() as session:
        rows = session.scalars(
            select(CopyRow)
            .where(CopyRow.state == CopyState.PROPOSED, CopyRow.certain)
            .order_by(CopyRow.id)
        ).all()
        for row in rows:
            _merge(session, row)
        session.flush()
        merged = _views(session, [row.id for row in rows])
    return CopiesFound(proposed=n_proposed, certain=merged)


def proposed(book: StockBook) -> tuple[CopyView, ...]:
    """The pairs that need the grower's word, by their number."""
    with book.reading() as session:
        pairs = _views(session)
    copies = {one.photo_id for one in pairs if one.state is CopyState.COPY}
    return tuple(
        one for one in pairs if one.state is CopyState.PROPOSED and one.photo_id not in copies
    )


def every(book: StockBook) -> tuple[CopyView, ...]:
    """All pairs, those decided too, by their number."""
    with book.reading() as session:
        return _views(session)


def other_files(book: StockBook) -> tuple[OtherFile, ...]:
    """The other files that held photos of the book: the same bytes, or other metadata only."""
    with book.reading() as session:
        rows = session.execute(
            select(
                PhotoFileRow.photo_id,
                PhotoRow.original_name,
                PhotoFileRow.name,
                PhotoFileRow.sha256 == PhotoRow.sha256,
                PhotoFileRow.taken_over,
            )
            .join(PhotoRow, PhotoRow.id == PhotoFileRow.photo_id)
            .order_by(PhotoFileRow.photo_id, PhotoFileRow.id)
        ).all()
    return tuple(
        OtherFile(
            photo_id=photo_id,
            photo_name=photo_name,
            name=name,
            same_file=bool(same_file),
            taken_over=taken_over,
        )
        for photo_id, photo_name, name, same_file, taken_over in rows
    )


def confirm(book: StockBook, numbers: Iterable[int] | None = None) -> tuple[CopyView, ...]:
    """Say that these (without numbers: all proposed) are copies, and merge each with its photo.

    A copy belongs to no plant of its own, is not measured and counts in no comparison; its original
    stays. A zone that only the copy has, and what was decided by hand of it alone, go to the other.
    Raises ``Unknown`` for a number, ``WrongEntry`` for one decided already.
    """
    with book.writing() as session:
        if numbers is None:
            wanted = [one.number for one in proposed(book)]
        else:
            wanted = list(dict.fromkeys(numbers))
        for number in wanted:
            row = _row(session, number, CopyState.PROPOSED)
            if merged_into(session, [row.photo_id]):
                msg = f"Photo {row.photo_id} is a copy of another photo already; take that back."
                raise WrongEntry(msg)
            # The photo itself, where the one that was copied is a copy too.
            of = row.of_photo_id
            row.of_photo_id = merged_into(session, [of]).get(of, of)
            _merge(session, row)
            session.flush()
        match_all(book)
        return _views(session, wanted)


def say_apart(book: StockBook, numbers: Iterable[int]) -> tuple[CopyView, ...]:
    """Say that these are no copies; they are not proposed again. Raises as ``confirm``."""
    with book.writing() as session:
        wanted = list(dict.fromkeys(numbers))
        for number in wanted:
            row = _row(session, number, CopyState.PROPOSED)
            row.state, row.decided_at = CopyState.APART, datetime.now(UTC)
        session.flush()
        return _views(session, wanted)


def undo(book: StockBook, numbers: Iterable[int]) -> tuple[CopyView, ...]:
    """Take back what was said of these: they are proposed again, and matched as before.

    Raises ``Unknown`` for a number, ``WrongEntry`` where nothing was said.
    """
    with book.writing() as session:
        wanted = list(dict.fromkeys(numbers))
        for number in wanted:
            row = _row(session, number, CopyState.COPY, CopyState.APART)
            if row.state is CopyState.COPY:
                _part(session, row)
            row.state, row.decided_at, row.certain = CopyState.PROPOSED, None, False
        session.flush()
        match_all(book)
        return _views(session, wanted)


def _row(session: Session, number: int, *states: CopyState) -> CopyRow:
    row = session.get(CopyRow, number)
    if row is None:
        msg = f"There is no pair {number} among the copies: `photolog copies --all` lists them."
        raise Unknown(msg)
    if row.state not in states:
        stands = {
            CopyState.PROPOSED: "nothing was said of it yet",
            CopyState.COPY: "it is a copy already",
            CopyState.APART: "you said that it is none",
        }[row.state]
        msg = f"Pair {number} can't be changed so: {stands}."
        raise WrongEntry(msg)
    return row


def _merge(session: Session, row: CopyRow) -> None:
    copy = session.get_one(PhotoRow, row.photo_id)
    kept = session.get_one(PhotoRow, row.of_photo_id)
    before: dict[str, Any] = {
        "state": copy.match_state.value,
        "by_hand": copy.match_by_hand,
        "stock": [_said(one) for one in copy.subjects],
        "zone": False,
        "decision": False,
    }
    same_moment = kept.taken_at is not None and kept.taken_at == copy.taken_at
    if same_moment and kept.taken_offset is None and copy.taken_offset is not None:
        kept.taken_offset = copy.taken_offset
        before["zone"] = True
    if copy.match_by_hand and copy.subjects and not kept.match_by_hand:
        _decide(kept, [(ref_of(one.plant_id, one.batch_id), one.stage) for one in copy.subjects])
        before["decision"] = True
    _decide(copy, [])
    row.stood_before = before
    row.state, row.decided_at = CopyState.COPY, datetime.now(UTC)


def _part(session: Session, row: CopyRow) -> None:
    copy = session.get_one(PhotoRow, row.photo_id)
    kept = session.get_one(PhotoRow, row.of_photo_id)
    before = row.stood_before or {}
    if before.get("zone"):
        kept.taken_offset = None
    # Decided since for itself, it stays so.
    if before.get("decision") and not standing(session, [kept.id]):
        _wait(kept)
    if before.get("by_hand"):
        _decide(copy, [(StockRef(kind, id_), stage) for kind, id_, stage in before["stock"]])
    else:
        _wait(copy)
    row.stood_before = None


def _said(subject: PhotoSubjectRow) -> list[Any]:
    ref = ref_of(subject.plant_id, subject.batch_id)
    return [ref.kind, ref.id, subject.stage]


def _decide(row: PhotoRow, stock: Sequence[tuple[StockRef, str | None]]) -> None:
    """Match by hand, to nothing where there is no stock, whatever it was matched to."""
    kept = {ref_of(one.plant_id, one.batch_id): one for one in row.subjects}
    row.subjects[:] = [
        kept.get(ref)
        or PhotoSubjectRow(
            **columns_of(ref),
            reason="by hand",
            because="Said by the grower of a copy of it.",
            probability=1.0,
            by_hand=True,
            stage=stage,
            matched_at=datetime.now(UTC),
        )
        for ref, stage in stock
    ]
    for subject in row.subjects:
        subject.by_hand, subject.probability, subject.reason = True, 1.0, "by hand"
    row.candidates.clear()
    row.match_by_hand = True
    row.match_state = MatchState.MATCHED if stock else MatchState.NO_PLANT
    row.waiting_because = None


def _wait(row: PhotoRow) -> None:
    """Leave it to matching again."""
    row.match_by_hand = False
    row.subjects.clear()
    row.match_state = MatchState.WAITING
    row.waiting_because = "It was not matched yet."


def _views(session: Session, only: Iterable[int] | None = None) -> tuple[CopyView, ...]:
    copy, kept = aliased(PhotoRow), aliased(PhotoRow)
    query = (
        select(CopyRow, copy.original_name, kept.original_name)
        .join(copy, copy.id == CopyRow.photo_id)
        .join(kept, kept.id == CopyRow.of_photo_id)
        .order_by(CopyRow.id)
    )
    if only is not None:
        query = query.where(CopyRow.id.in_(list(only)))
    return tuple(
        CopyView(
            number=row.id,
            photo_id=row.photo_id,
            name=name,
            of_photo_id=row.of_photo_id,
            of_name=of_name,
            state=row.state,
            certain=row.certain,
            because=row.because,
            taken_over=_taken_over(row),
        )
        for row, name, of_name in session.execute(query)
    )


def _taken_over(row: CopyRow) -> tuple[str, ...]:
    before = row.stood_before or {}
    said = (("zone", "its time zone"), ("decision", "whose it is, as you had said"))
    return tuple(words for key, words in said if before.get(key))
