"""The grower's word on a photo's measurement: accepted, turned down, or left to the program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.errors import Unknown, WrongEntry
from photolog.book.measure_tasks import MEASURED_OF
from photolog.book.stockbook import StockBook
from photolog.records import MeasurementRow, PhotoRow
from photolog.terms import Acceptance, MeasureStatus

__all__ = ["Judged", "accept", "take_back", "turn_down"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What was said of which photo's measurement; ``name`` is the photo's file name."""

    photo_id: int
    name: str
    measured_of: str
    said: Acceptance


def accept(book: StockBook, photo_id: int) -> Judged:
    """Accept the photo's newest measurement: it counts, whatever flags it carries.

    Measured again later, by a newer version say, the accepted one still counts, until another is
    accepted in its place. Raises ``Unknown`` where there is no such photo or it is not measured,
    ``WrongEntry`` where it could not be measured.
    """
    with book.writing() as session:
        photo, newest, others = _measurements(session, photo_id)
        if newest.status == MeasureStatus.REFUSED:
            msg = f"Photo {photo_id} ({photo.original_name}) has no size to accept: {newest.reason}"
            raise WrongEntry(msg)
        for other in others:
            if other.acceptance is Acceptance.ACCEPTED:
                other.acceptance, other.decided_at = Acceptance.PROPOSED, datetime.now(UTC)
        # Only one may be accepted at a time, at every moment.
        session.flush()
        return _say(session, photo, newest, Acceptance.ACCEPTED)


def turn_down(book: StockBook, photo_id: int) -> Judged:
    """Turn the photo's measurements down, those accepted too: none of them counts.

    Raises ``Unknown`` as ``accept`` does.
    """
    return _said_of_all(book, photo_id, Acceptance.TURNED_DOWN)


def take_back(book: StockBook, photo_id: int) -> Judged:
    """Take back what was said of the photo's measurements: the newest counts, with its flags.

    Raises ``Unknown`` as ``accept`` does.
    """
    return _said_of_all(book, photo_id, Acceptance.PROPOSED)


def _said_of_all(book: StockBook, photo_id: int, said: Acceptance) -> Judged:
    with book.writing() as session:
        photo, newest, others = _measurements(session, photo_id)
        for other in others:
            if other.acceptance is not said:
                other.acceptance, other.decided_at = said, datetime.now(UTC)
        return _say(session, photo, newest, said)


def _measurements(
    session: Session, photo_id: int
) -> tuple[PhotoRow, MeasurementRow, list[MeasurementRow]]:
    """The photo, its newest measurement, and the others of the same subject."""
    photo = session.get(PhotoRow, photo_id)
    if photo is None:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    found = session.scalars(
        select(MeasurementRow)
        .where(MeasurementRow.photo_id == photo_id)
        .order_by(MeasurementRow.id.desc())
    )
    # Measured of something else before the grower said what it shows: that no longer counts.
    rows = [r for r in found if MEASURED_OF.get(photo.subject, r.measured_of) == r.measured_of]
    if not rows:
        msg = f"Photo {photo_id} ({photo.original_name}) has not been measured yet."
        raise Unknown(msg)
    newest = rows[0]
    return photo, newest, [r for r in rows[1:] if r.measured_of == newest.measured_of]


def _say(session: Session, photo: PhotoRow, row: MeasurementRow, said: Acceptance) -> Judged:
    row.acceptance, row.decided_at = said, datetime.now(UTC)
    session.flush()
    return Judged(
        photo_id=photo.id, name=photo.original_name, measured_of=str(row.measured_of), said=said
    )
