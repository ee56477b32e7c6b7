"""Days told for many photos at once, whose files have no date; and taking that back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.ahead import refuse_ahead
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.stockbook import StockBook
from photolog.photos.undated import UndatedLot, UndatedPhoto, in_name_order, undated_lots
from photolog.records import DayToldRow, PhotoRow
from photolog.records.copies import is_no_copy
from photolog.spans import spans

__all__ = ["DayTold", "tell_day", "undated", "untell_day"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DayTold:
    """A day told for photos, or taken back from them; ``photo_ids`` in the order of their names.

    ``on`` None: they were of several days.
    """

    photo_ids: tuple[int, ...]
    on: date | None


def undated(book: StockBook) -> tuple[UndatedLot, ...]:
    """The photos that have no date and were told none, by what came together."""
    with book.reading() as session:
        rows = session.scalars(
            select(PhotoRow).where(
                PhotoRow.taken_at.is_(None), PhotoRow.told_on.is_(None), is_no_copy()
            )
        )
        return tuple(undated_lots(_undated(row) for row in rows))


def tell_day(
    book: StockBook, photo_ids: Sequence[int], *, on: date, now: datetime | None = None
) -> DayTold:
    """Say on which day photos without a date were taken, all at once.

    Their hour stays unknown, their order is that of their names. A day told before is replaced.
    Raises ``Unknown`` for a photo, ``WrongEntry`` for one that has its own date or a day later
    than tomorrow (by ``now``, or the clock); none is told then.
    """
    refuse_ahead(on, now=now)
    with book.writing() as session:
        rows = _rows(session, photo_ids)
        dated = [row for row in rows if row.taken_at is not None]
        if dated:
            msg = (
                f"Photo {spans(row.id for row in dated)} has a date of its own. Where the "
                "camera's clock was wrong, put that right: photolog clock-read."
            )
            raise WrongEntry(msg)
        by_id = {row.id: row for row in rows}
        in_order = in_name_order(_undated(row) for row in rows)
        told_at = datetime.now(UTC)
        _forget(session, list(by_id))
        for place, photo in enumerate(in_order):
            by_id[photo.photo_id].told_on = on
            session.add(DayToldRow(photo_id=photo.photo_id, place=place, told_at=told_at))
        return DayTold(photo_ids=tuple(photo.photo_id for photo in in_order), on=on)


def untell_day(book: StockBook, photo_ids: Sequence[int] | None = None) -> DayTold:
    """Take back the day told for these photos; None: for all that were told one last.

    Raises ``Unknown`` for a photo, ``WrongEntry`` where no day was told, or where the grower
    decided whose photo it is by that day; nothing is taken back then.
    """
    with book.writing() as session:
        if photo_ids is None:
            # One that was told another day since, with whose it is, may have lost this one.
            standing = (
                select(DayToldRow.photo_id, DayToldRow.told_at)
                .join(PhotoRow, PhotoRow.id == DayToldRow.photo_id)
                .where(PhotoRow.told_on.is_not(None))
            )
            told = session.execute(standing.order_by(DayToldRow.told_at.desc())).all()
            if not told:
                msg = "No day was told for any photo, so there is nothing to take back."
                raise WrongEntry(msg)
            photo_ids = [row.photo_id for row in told if row.told_at == told[0].told_at]
        rows = _rows(session, photo_ids)
        for row in rows:
            if row.told_on is None:
                msg = f"No day was told for photo {row.id}, so there is nothing to take back."
                raise WrongEntry(msg)
            if row.match_by_hand and row.taken_at is None:
                msg = (
                    f"Whose photo {row.id} is was decided by hand, by that day. Take that back "
                    f"first: photolog undecide {row.id}"
                )
                raise WrongEntry(msg)
        days = {row.told_on for row in rows}
        for row in rows:
            row.told_on = None
        _forget(session, [row.id for row in rows])
        in_order = in_name_order(_undated(row) for row in rows)
        return DayTold(
            photo_ids=tuple(photo.photo_id for photo in in_order),
            on=days.pop() if len(days) == 1 else None,
        )


def _rows(session: Session, photo_ids: Sequence[int]) -> list[PhotoRow]:
    wanted = list(dict.fromkeys(photo_ids))
    found = {
        row.id: row for row in session.scalars(select(PhotoRow).where(PhotoRow.id.in_(wanted)))
    }
    missing = [photo_id for photo_id in wanted if photo_id not in found]
    if missing:
        none = "is no photo" if len(missing) == 1 else "are no photos"
        msg = f"There {none} {spans(missing)} in the stock book."
        raise Unknown(msg)
    return [found[photo_id] for photo_id in wanted]


def _forget(session: Session, photo_ids: Sequence[int]) -> None:
    for row in session.scalars(select(DayToldRow).where(DayToldRow.photo_id.in_(photo_ids))):
        session.delete(row)
    session.flush()


def _undated(row: PhotoRow) -> UndatedPhoto:
    return UndatedPhoto(
        photo_id=row.id,
        name=row.original_name,
        taken_in_at=row.taken_in_at,
        longest_px=max(row.width_px, row.height_px),
        # Where a camera wrote anything at all, it names itself or at least its lens or size.
        bare=row.camera_id is None and row.focal35_mm is None and row.exif_width_px is None,
        changed_on=row.file_modified_at.date() if row.file_modified_at is not None else None,
    )
