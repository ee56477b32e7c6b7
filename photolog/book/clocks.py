"""Putting a camera's clock right: by hand, from a photo of a clock, from the day book; and back."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book import cameras
from photolog.book.ahead import refuse_ahead
from photolog.book.cameras import camera_named
from photolog.book.corrections_kept import Learnt, keep_correction, take_back
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import photo_facts
from photolog.book.stockbook import StockBook
from photolog.photos.clock_nights import comes_twice, never_comes
from photolog.photos.dates_doubted import DoubtedBlock, doubted_blocks
from photolog.records import EventRow, PhotoRow

__all__ = ["Learnt", "learn_clock", "learn_from_entry", "set_clock", "take_back"]

# A clock that is out by more than this was not so all the time (judgement, no source): the
# correction is for the photos that were taken without a longer pause than this between two.
_A_MONTH = timedelta(days=31)


def set_clock(
    book: StockBook,
    camera: str,
    *,
    add_seconds: int,
    since: datetime | None = None,
    until: datetime | None = None,
    note: str = "",
) -> Learnt:
    """Say how many seconds to add to a camera's clock: -3600 for one that is an hour fast.

    ``since`` is the moment on that clock from which it holds, up to ``until`` or the next
    correction; without them it holds for all its photos. Raises ``Unknown`` for the camera,
    ``WrongEntry`` for what can't be.
    """
    with book.writing() as session:
        row = camera_named(session, camera)
        return keep_correction(
            session, row, add_seconds=add_seconds, since=since, until=until, note=note
        )


def learn_clock(
    book: StockBook,
    photo_id: int,
    *,
    true_time: datetime | None = None,
    at: time | None = None,
    on: date | None = None,
    since: datetime | None = None,
) -> Learnt:
    """Set a camera's clock right from one photo whose true time is known (of a clock, say).

    ``true_time``, or the hour ``at`` which the photographed clock read, ``on`` a day: without one
    it is the photo's own day, or the day before or after where that is nearer. A day alone moves
    the photos by whole days and leaves their hours.

    It holds for all photos of the camera; where it put another correction right, for that one's;
    where the clock fell back to its first day, for those that were counted meanwhile; and where it
    is out by more than a month, for the photos around this one. ``since`` says otherwise. Raises
    ``Unknown`` for the photo, ``WrongEntry`` where it has no date or camera.
    """
    if on is not None:
        refuse_ahead(on, now=None)
    with book.writing() as session:
        photo = _dated(session, photo_id)
        true = true_time or _true_time(session, photo, at=at, on=on)
        _refuse_odd_hour(true)
        hour = f"{true:%Y-%m-%d %H:%M}" if at is not None or true_time is not None else f"{on}"
        return _learn(
            session, photo, true=true, since=since, note=f"by {photo.original_name}: {hour}"
        )


def learn_from_entry(
    book: StockBook, photo_id: int, entry: int, *, at: time | None = None
) -> Learnt:
    """Set a camera's clock right from a photo that shows what an entry of the day book says.

    The hour is ``at``, else the entry's own. Raises ``Unknown`` for photo and entry, ``WrongEntry``
    where there is no hour or the entry was struck out.
    """
    with book.writing() as session:
        photo = _dated(session, photo_id)
        row = session.get(EventRow, entry)
        if row is None or row.struck_out_at is not None:
            said = "was struck out" if row is not None else "is not there"
            msg = f"Entry {entry} of the day book {said}. photolog day-book lists them."
            raise Unknown(msg)
        hour = at or row.at_time
        if hour is None:
            msg = (
                f"Entry {entry} ({row.kind}, {row.on_date}) says no hour. Say at what hour it was."
            )
            raise WrongEntry(msg)
        true = datetime.combine(row.on_date, hour)
        _refuse_odd_hour(true)
        note = (
            f"by {photo.original_name}: {row.kind} at {hour:%H:%M} on {row.on_date} (entry {entry})"
        )
        return _learn(session, photo, true=true, since=None, note=note)


def _dated(session: Session, photo_id: int) -> PhotoRow:
    photo = session.get(PhotoRow, photo_id)
    if photo is None:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    if photo.taken_at is None or photo.camera is None:
        msg = f"Photo {photo_id} does not say when or with which camera it was taken."
        raise WrongEntry(msg)
    return photo


def _true_time(session: Session, photo: PhotoRow, *, at: time | None, on: date | None) -> datetime:
    (facts,) = photo_facts(session, PhotoRow.id == photo.id)
    said = facts.taken_at or photo.taken_at
    if said is None or (at is None and on is None):
        msg = "Say what the clock in the photo read, or on which day it was taken."
        raise WrongEntry(msg)
    if at is None:
        return datetime.combine(on or said.date(), said.time())
    if on is not None:
        return datetime.combine(on, at)
    if _block_of(session, photo) is not None:
        msg = (
            f"Photo {photo.id} is of a time when the clock had fallen back to its first day. Say "
            "on which day it was taken, too."
        )
        raise WrongEntry(msg)
    days = (said.date() + timedelta(days=n) for n in (-1, 0, 1))
    return min((datetime.combine(day, at) for day in days), key=lambda one: abs(one - said))


def _refuse_odd_hour(true: datetime) -> None:
    """In the night when clocks are changed an hour comes twice, or never (by this computer's)."""
    if comes_twice(true):
        msg = (
            f"{true:%H:%M} came twice in the night of {true:%Y-%m-%d}, as clocks were put back. "
            "Choose a photo taken at another hour."
        )
        raise WrongEntry(msg)
    if never_comes(true):
        msg = (
            f"{true:%H:%M} never came in the night of {true:%Y-%m-%d}, as clocks were put forward. "
            "Look again at what the clock read."
        )
        raise WrongEntry(msg)


def _learn(
    session: Session, photo: PhotoRow, *, true: datetime, since: datetime | None, note: str
) -> Learnt:
    camera, clock = photo.camera, photo.taken_at
    if camera is None or clock is None:
        msg = f"photo {photo.id} has no clock"
        raise ValueError(msg)
    add_seconds = round((true - clock).total_seconds())
    until, span = None, None
    if since is None:
        block = _block_of(session, photo)
        before = cameras.correction_of(clock, cameras.corrections_of(camera), photo.original_name)
        if block is not None:
            span = block.span
            since, until = _days_around(session, [one.photo_id for one in block.photos])
        elif before is not None:
            since, until, span = before.since, before.until, before.span
        elif abs(true - clock) > _A_MONTH:
            since, until = _days_around(session, _taken_around(session, photo))
    return keep_correction(
        session, camera, add_seconds=add_seconds, since=since, until=until, span=span, note=note
    )


def _block_of(session: Session, photo: PhotoRow) -> DoubtedBlock | None:
    """The stretch of counting whose clock had fallen back, if the photo is of one."""
    of_camera = photo_facts(session, PhotoRow.camera_id == photo.camera_id)
    for block in doubted_blocks(of_camera):
        if any(one.photo_id == photo.id for one in block.photos):
            return block
    return None


def _taken_around(session: Session, photo: PhotoRow) -> list[int]:
    """The photos of a camera, by its clock, that no pause of a month parts from this one."""
    rows = session.execute(
        select(PhotoRow.id, PhotoRow.taken_at)
        .where(PhotoRow.camera_id == photo.camera_id, PhotoRow.taken_at.is_not(None))
        .order_by(PhotoRow.taken_at, PhotoRow.id)
    ).all()
    stretch: list[int] = []
    last: datetime | None = None
    for photo_id, taken_at in rows:
        if taken_at is None:
            continue
        if last is not None and taken_at - last > _A_MONTH:
            if photo.id in stretch:
                break
            stretch = []
        stretch.append(photo_id)
        last = taken_at
    return stretch


def _days_around(session: Session, photo_ids: list[int]) -> tuple[datetime, datetime]:
    """From the midnight before the first of these photos to that after the last, by the clock."""
    clocks = [
        row.taken_at
        for row in session.scalars(select(PhotoRow).where(PhotoRow.id.in_(photo_ids)))
        if row.taken_at is not None
    ]
    return (
        datetime.combine(min(clocks).date(), time()),
        datetime.combine(max(clocks).date() + timedelta(days=1), time()),
    )
