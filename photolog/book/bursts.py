"""Bursts of photos: those found by time and picture, and the grower's word on them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import delete, select
from sqlalchemy.orm import Session, selectinload

from photolog.book.burst_facts import burst_shot, said_of_bursts
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.stockbook import StockBook
from photolog.photos.bursts import bursts
from photolog.records import BurstRow, PhotoRow
from photolog.records.copies import is_no_copy

__all__ = ["BurstPhoto", "BurstView", "apart", "every", "together", "undo"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BurstPhoto:
    """A photo of a burst; ``taken_at`` is its camera's clock."""

    photo_id: int
    name: str
    taken_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BurstView:
    """Photos that count as one occasion, in order; one photo alone only where the grower said so.

    ``by_hand``: said by the grower; else they were found by time and picture.
    """

    photos: tuple[BurstPhoto, ...]
    by_hand: bool


def every(book: StockBook) -> tuple[BurstView, ...]:
    """All bursts, oldest first, and the photos that the grower set apart."""
    with book.reading() as session:
        said = said_of_bursts(session)
        rows = session.scalars(
            select(PhotoRow)
            .where(is_no_copy())
            .options(selectinload(PhotoRow.subjects))
            .order_by(PhotoRow.taken_at, PhotoRow.taken_subsec, PhotoRow.id)
        ).all()
        first = bursts([burst_shot(row) for row in rows], said)
        found: dict[int, list[PhotoRow]] = {}
        for row in rows:
            found.setdefault(first[row.id], []).append(row)
        return tuple(
            BurstView(
                photos=tuple(
                    BurstPhoto(photo_id=row.id, name=row.original_name, taken_at=row.taken_at)
                    for row in members
                ),
                by_hand=members[0].id in said,
            )
            for members in found.values()
            if len(members) > 1 or members[0].id in said
        )


def together(book: StockBook, photo_ids: Iterable[int]) -> tuple[BurstView, ...]:
    """Say that these photos are one burst, whatever else was found; gives it.

    What was said of them before no longer holds. Raises ``Unknown`` for a number that no photo
    has, ``WrongEntry`` for fewer than two.
    """
    ids = sorted(set(photo_ids))
    if len(ids) < 2:
        msg = "A burst has at least two photos."
        raise WrongEntry(msg)
    with book.writing() as session:
        _check(session, ids)
        _forget(session, ids)
        for photo_id in ids:
            session.add(_row(photo_id, ids[0]))
        session.flush()
        return _with_any(book, ids)


def apart(book: StockBook, photo_ids: Iterable[int]) -> tuple[BurstView, ...]:
    """Say that each of these photos is an occasion of its own; gives them. Raises ``Unknown``."""
    ids = sorted(set(photo_ids))
    with book.writing() as session:
        _check(session, ids)
        _forget(session, ids)
        for photo_id in ids:
            session.add(_row(photo_id, photo_id))
        session.flush()
        return _with_any(book, ids)


def undo(book: StockBook, photo_ids: Iterable[int]) -> tuple[BurstView, ...]:
    """Take back what was said of the bursts of these photos; gives what they are in now.

    Raises ``WrongEntry`` for a photo of whose burst nothing was said.
    """
    ids = sorted(set(photo_ids))
    with book.writing() as session:
        said = said_of_bursts(session)
        for photo_id in ids:
            if photo_id not in said:
                msg = f"Nothing was said of the burst of photo {photo_id}, so nothing to take back."
                raise WrongEntry(msg)
        whole = {said[photo_id] for photo_id in ids}
        session.execute(delete(BurstRow).where(BurstRow.first_photo_id.in_(whole)))
        session.flush()
        return _with_any(book, ids)


def _row(photo_id: int, first: int) -> BurstRow:
    return BurstRow(photo_id=photo_id, first_photo_id=first, said_at=datetime.now(UTC))


def _check(session: Session, ids: Sequence[int]) -> None:
    there = set(session.scalars(select(PhotoRow.id).where(PhotoRow.id.in_(ids))))
    for photo_id in ids:
        if photo_id not in there:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)


def _forget(session: Session, ids: Sequence[int]) -> None:
    """Take these out of what was said; who is left of a burst keeps together, by a new first."""
    session.execute(delete(BurstRow).where(BurstRow.photo_id.in_(ids)))
    left = session.scalars(
        select(BurstRow).where(BurstRow.first_photo_id.in_(ids)).order_by(BurstRow.photo_id)
    ).all()
    new_first: dict[int, int] = {}
    for row in left:
        row.first_photo_id = new_first.setdefault(row.first_photo_id, row.photo_id)
    session.flush()


def _with_any(book: StockBook, ids: Sequence[int]) -> tuple[BurstView, ...]:
    wanted = set(ids)
    return tuple(
        burst for burst in every(book) if wanted & {photo.photo_id for photo in burst.photos}
    )
