"""Boxes of the winter store: entering one by the number on its tag, and the photos of it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from measure.card.marks import BOX_NUMBERS
from photolog.book.ahead import refuse_ahead
from photolog.book.errors import AlreadyThere, Unknown, WrongTag
from photolog.book.stockbook import StockBook
from photolog.records import BoxRow, EventRow, PhotoBoxRow, PhotoRow

__all__ = [
    "Box",
    "BoxHistory",
    "BoxPhoto",
    "add",
    "every",
    "get",
    "number_of",
    "rename",
    "row_of",
]

_AS_TYPED = re.compile(r"box\s*0*(\d{1,3})", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A box: the number on its tag, what it is called, since when it is there, its photos."""

    id: int
    number: int
    name: str
    since: date
    note: str
    photos: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxPhoto:
    """A photo of a box; ``taken_at`` is its camera's clock as it stood."""

    photo_id: int
    name: str
    taken_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BoxHistory:
    """A box, its photos, and what the day book has of it as a day and a word."""

    box: Box
    photos: tuple[BoxPhoto, ...]
    entries: tuple[tuple[date, str], ...]


def add(book: StockBook, number: int, *, since: date, name: str = "", note: str = "") -> Box:
    """Enter a box.

    Raises ``AlreadyThere`` where its number is taken, ``WrongTag`` where it can't be, and
    ``WrongEntry`` where ``since`` is still to come.
    """
    refuse_ahead(since, now=None)
    if number not in BOX_NUMBERS:
        msg = f"Boxes are numbered {BOX_NUMBERS[0]} to {BOX_NUMBERS[-1]}, got {number}."
        raise WrongTag(msg)
    with book.writing() as session:
        if session.scalar(select(BoxRow.id).where(BoxRow.number == number)) is not None:
            msg = f"Box {number} is in the stock book already."
            raise AlreadyThere(msg)
        session.add(BoxRow(number=number, name=name.strip(), since=since, note=note))
        session.flush()
        return _views(session, number)[0]


def rename(book: StockBook, number: int, name: str) -> Box:
    """Call a box otherwise; ``Unknown`` where there is none of that number."""
    with book.writing() as session:
        row_of(session, number).name = name.strip()
        session.flush()
        return _views(session, number)[0]


def every(book: StockBook) -> tuple[Box, ...]:
    """All boxes by their number."""
    with book.reading() as session:
        return tuple(_views(session))


def get(book: StockBook, number: int) -> BoxHistory:
    """A box with its photos, oldest first, and what was entered of it; ``Unknown`` for none."""
    with book.reading() as session:
        row_of(session, number)
        (view,) = _views(session, number)
        query = (
            select(PhotoRow.id, PhotoRow.original_name, PhotoRow.taken_at)
            .join(PhotoBoxRow, PhotoBoxRow.photo_id == PhotoRow.id)
            .join(BoxRow, BoxRow.id == PhotoBoxRow.box_id)
            .where(BoxRow.number == number)
            .order_by(PhotoRow.taken_at, PhotoRow.id)
        )
        photos = tuple(
            BoxPhoto(photo_id=row.id, name=row.original_name, taken_at=row.taken_at)
            for row in session.execute(query)
        )
        entered = session.execute(
            select(EventRow.on_date, EventRow.kind, EventRow.place)
            .where(EventRow.place.is_not(None), EventRow.struck_out_at.is_(None))
            .order_by(EventRow.on_date, EventRow.id)
        )
        entries = tuple(
            (row.on_date, str(row.kind)) for row in entered if number_of(row.place or "") == number
        )
    return BoxHistory(box=view, photos=photos, entries=entries)


def number_of(text: str) -> int | None:
    """The number in "box 3" or "Box3"; None where the words are no box's."""
    match = _AS_TYPED.fullmatch(text.strip())
    return None if match is None else int(match[1])


def row_of(session: Session, number: int) -> BoxRow:
    """The box of a number, within a transaction; ``Unknown`` where there is none."""
    row = session.scalar(select(BoxRow).where(BoxRow.number == number))
    if row is None:
        there = session.scalars(select(BoxRow.number).order_by(BoxRow.number)).all()
        known = f" There are: {_listed(there)}." if there else " None is entered yet."
        msg = f"There is no box {number} in the stock book.{known} photolog box {number} enters it."
        raise Unknown(msg)
    return row


def _listed(numbers: Iterable[int]) -> str:
    return ", ".join(str(number) for number in numbers)


def _views(session: Session, number: int | None = None) -> list[Box]:
    query = (
        select(
            BoxRow.id,
            BoxRow.number,
            BoxRow.name,
            BoxRow.since,
            BoxRow.note,
            func.count(PhotoBoxRow.id).label("photos"),
        )
        .outerjoin(PhotoBoxRow, PhotoBoxRow.box_id == BoxRow.id)
        .group_by(BoxRow.id)
        .order_by(BoxRow.number)
    )
    if number is not None:
        query = query.where(BoxRow.number == number)
    return [
        Box(
            id=row.id,
            number=row.number,
            name=row.name,
            since=row.since,
            note=row.note,
            photos=row.photos,
        )
        for row in session.execute(query)
    ]
