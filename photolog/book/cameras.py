"""Cameras, and putting right what a camera's clock said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from photolog.book.errors import Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.stockbook import StockBook
from photolog.records import CameraRow, ClockCorrectionRow, PhotoRow

__all__ = [
    "CameraView",
    "ClockCorrection",
    "corrected",
    "every",
    "find_or_add",
    "learn_clock",
    "set_clock",
    "told_moment",
]

BEGINNING = datetime(1900, 1, 1)
"""Before any camera's clock: a correction from here holds for all photos of its camera."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockCorrection:
    """Seconds to add to what a camera's clock said, from a moment on that clock on."""

    since: datetime
    add_seconds: int
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraView:
    """A camera as its files name it, with its corrections, oldest first."""

    id: int
    make: str
    model: str
    serial: str
    corrections: tuple[ClockCorrection, ...]

    @property
    def label(self) -> str:
        """Make, model and serial number in one, as a grower names it."""
        model = self.model.removeprefix(self.make).strip()
        parts = [self.make, model, f"no. {self.serial}" if self.serial else ""]
        return " ".join(part for part in parts if part) or "a camera that does not name itself"


def every(book: StockBook) -> tuple[CameraView, ...]:
    """All cameras that photos were taken in from."""
    with book.reading() as session:
        rows = session.scalars(
            select(CameraRow)
            .options(selectinload(CameraRow.corrections))
            .order_by(CameraRow.make, CameraRow.model, CameraRow.serial)
        )
        return tuple(_view(row) for row in rows)


def find_or_add(session: Session, *, make: str, model: str, serial: str) -> int:
    """The number of the camera that a file names, added where it is new; for intake."""
    found = session.scalar(
        select(CameraRow.id).where(
            CameraRow.make == make, CameraRow.model == model, CameraRow.serial == serial
        )
    )
    if found is not None:
        return found
    row = CameraRow(make=make, model=model, serial=serial)
    session.add(row)
    session.flush()
    return row.id


def set_clock(
    book: StockBook,
    camera: str,
    *,
    add_seconds: int,
    since: datetime | None = None,
    note: str = "",
) -> CameraView:
    """Say how many seconds to add to a camera's clock: -3600 for one that is an hour fast.

    ``since`` is the moment on that clock from which it holds, until the next correction; without
    it the correction holds for all its photos. Raises ``Unknown`` for the camera.
    """
    if abs(add_seconds) > 40 * 366 * 86_400:
        msg = f"A clock can't be {add_seconds} seconds out."
        raise WrongEntry(msg)
    with book.writing() as session:
        row = _named(session, camera)
        moment = BEGINNING if since is None else since
        for one in row.corrections:
            if one.from_moment == moment:
                one.add_seconds, one.note = add_seconds, note
                break
        else:
            row.corrections.append(
                ClockCorrectionRow(from_moment=moment, add_seconds=add_seconds, note=note)
            )
        session.flush()
        session.refresh(row, ["corrections"])
        return _view(row)


def learn_clock(
    book: StockBook, photo_id: int, *, true_time: datetime, since: datetime | None = None
) -> CameraView:
    """Set a camera's clock right from one photo whose true time is known (of a clock, say)."""
    with book.writing() as session:
        photo = session.get(PhotoRow, photo_id)
        if photo is None:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)
        if photo.taken_at is None or photo.camera is None:
            msg = f"Photo {photo_id} does not say when or with which camera it was taken."
            raise WrongEntry(msg)
        return set_clock(
            book,
            _view(photo.camera).label,
            add_seconds=round((true_time - photo.taken_at).total_seconds()),
            since=since,
            note=f"learnt from photo {photo.original_name}",
        )


def told_moment(day: date | None) -> datetime | None:
    """The moment that stands for a day told by the grower: its noon."""
    return None if day is None else datetime.combine(day, time(12))


def corrected(taken_at: datetime, corrections: Sequence[ClockCorrection]) -> datetime:
    """What the clock should have said: the last correction that began by then is added."""
    begun = [one for one in corrections if one.since <= taken_at]
    if not begun:
        return taken_at
    return taken_at + timedelta(seconds=max(begun, key=lambda one: one.since).add_seconds)


def _named(session: Session, camera: str) -> CameraRow:
    rows = session.scalars(select(CameraRow).options(selectinload(CameraRow.corrections))).all()
    labels = {_view(row).label: row for row in rows}
    fitting = [row for label, row in labels.items() if fold(label) == fold(camera)]
    if len(fitting) == 1:
        return fitting[0]
    msg = (
        f"No photos are in the stock book from a camera {camera!r}."
        f"{did_you_mean(nearest_names(camera, labels))}"
    )
    raise Unknown(msg)


def _view(row: CameraRow) -> CameraView:
    return CameraView(
        id=row.id,
        make=row.make,
        model=row.model,
        serial=row.serial,
        corrections=tuple(
            ClockCorrection(since=one.from_moment, add_seconds=one.add_seconds, note=one.note)
            for one in sorted(row.corrections, key=lambda one: one.from_moment)
        ),
    )
