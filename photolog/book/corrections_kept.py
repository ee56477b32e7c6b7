"""Corrections of clocks in the tables: entered, in place of others, and taken back to those."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book import cameras
from photolog.book.cameras import BEGINNING, CameraView, ClockCorrection, view_of
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.stockbook import StockBook
from photolog.photos.file_numbers import CountedSpan
from photolog.records import CameraRow, ClockCorrectionRow, ClockProposalRow, PhotoRow

__all__ = ["Learnt", "keep_correction", "take_back"]

_LONGEST_S = 40 * 366 * 86_400


@dataclass(frozen=True, slots=True, kw_only=True)
class Learnt:
    """A clock put right: the camera, the correction, and of how many photos it changes the time.

    Where one was taken back, ``again`` is the one that it had replaced, which holds again.
    """

    camera: CameraView
    correction: ClockCorrection
    photos: int
    again: ClockCorrection | None = None


def keep_correction(
    session: Session,
    camera: CameraRow,
    *,
    add_seconds: int,
    since: datetime | None,
    until: datetime | None = None,
    span: CountedSpan | None = None,
    note: str,
) -> Learnt:
    """Enter a correction, in place of one for the same photos from the same moment.

    What it replaces is kept with it, and holds again when it is taken back.
    """
    if abs(add_seconds) > _LONGEST_S:
        days = abs(add_seconds) // 86_400
        msg = f"A clock can't be {days} days out: look at the minutes, or at the day, again."
        raise WrongEntry(msg)
    moment = BEGINNING if since is None else since
    if until is not None and until <= moment:
        ends, begins = (f"{one:%Y-%m-%d %H:%M}" for one in (until, moment))
        msg = f"A correction can't end ({ends}) before it begins ({begins})."
        raise WrongEntry(msg)
    counted = (None,) * 3 if span is None else (span.counted_as, span.first, span.last)
    for row in camera.corrections:
        if row.from_moment == moment and (
            (row.counted_as, row.first_number, row.last_number) == counted
        ):
            if (row.add_seconds, row.until_moment) != (add_seconds, until):
                row.stood_before = _as_it_stands(session, row)
            break
    else:
        row = ClockCorrectionRow(
            from_moment=moment,
            counted_as=counted[0],
            first_number=counted[1],
            last_number=counted[2],
        )
        camera.corrections.append(row)
    row.add_seconds, row.note, row.until_moment = add_seconds, note, until
    session.flush()
    session.refresh(camera, ["corrections"])
    view = view_of(camera)
    kept = next(one for one in view.corrections if one.id == row.id)
    return Learnt(camera=view, correction=kept, photos=_n_photos(session, camera, kept))


def take_back(book: StockBook, correction: int) -> Learnt:
    """Take a correction back by its number; ``Unknown`` where there is none.

    One that it had replaced, for the same photos, holds again. One that the program had proposed is
    proposed again.
    """
    with book.writing() as session:
        row = session.get(ClockCorrectionRow, correction)
        if row is None:
            msg = f"There is no clock correction {correction}. photolog clock lists them."
            raise Unknown(msg)
        camera = row.camera
        was = next(one for one in cameras.corrections_of(camera) if one.id == correction)
        count = _n_photos(session, camera, was)
        if row.stood_before is None:
            camera.corrections.remove(row)
            session.flush()
            return Learnt(camera=view_of(camera), correction=was, photos=count)
        _stand_as_before(session, row, row.stood_before)
        view = view_of(camera)
        again = next(one for one in view.corrections if one.id == correction)
        return Learnt(camera=view, correction=was, photos=count, again=again)


def _as_it_stands(session: Session, row: ClockCorrectionRow) -> dict[str, Any]:
    """A correction as JSON, with what it replaced in its turn, before another replaces it."""
    proposals = _proposals_of(session, row)
    for proposal in proposals:
        proposal.correction_id = None
    return {
        "add_seconds": row.add_seconds,
        "until": None if row.until_moment is None else row.until_moment.isoformat(),
        "note": row.note,
        "proposals": [one.id for one in proposals],
        "stood_before": row.stood_before,
    }


def _stand_as_before(session: Session, row: ClockCorrectionRow, before: Mapping[str, Any]) -> None:
    for proposal in _proposals_of(session, row):
        proposal.correction_id = None
    until = before["until"]
    row.add_seconds, row.note = before["add_seconds"], before["note"]
    row.until_moment = None if until is None else datetime.fromisoformat(until)
    row.stood_before = before["stood_before"]
    for number in before["proposals"]:
        again = session.get(ClockProposalRow, number)
        if again is not None:
            again.correction_id = row.id
    session.flush()


def _proposals_of(session: Session, row: ClockCorrectionRow) -> Sequence[ClockProposalRow]:
    """The proposals whose confirming made this correction as it stands."""
    of_row = ClockProposalRow.correction_id == row.id
    return session.scalars(select(ClockProposalRow).where(of_row)).all()


def _n_photos(session: Session, camera: CameraRow, correction: ClockCorrection) -> int:
    """For how many photos of a camera this correction is the one that holds."""
    every = cameras.corrections_of(camera)
    rows = session.execute(
        select(PhotoRow.taken_at, PhotoRow.original_name).where(
            PhotoRow.camera_id == camera.id, PhotoRow.taken_at.is_not(None)
        )
    )
    return sum(
        cameras.correction_of(taken_at, every, name) == correction
        for taken_at, name in rows
        if taken_at is not None
    )
