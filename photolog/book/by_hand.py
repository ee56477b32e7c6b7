"""Sizes by the grower's hand: an outline or callipers set on a photo, a tape's or ring's reading.

Each is kept beside what the program measured, never over it, with its own uncertainty and how it
was made. It is accepted by being entered; what it stands in for is kept as corrected.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from types import MappingProxyType
from typing import Any, Literal, cast

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from measure import (
    ByHandError,
    MeasureError,
    Measurement,
    Optics,
    Size,
    read_marks,
    size_by_hand_callipers,
    size_by_hand_outline,
    size_by_tape,
)
from measure.by_hand import ByHandOf
from measure.lift import LiftError
from measure.pose import Pose, find_pose
from measure.results import Points
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import photo_facts
from photolog.book.measure_photo import figures_of
from photolog.book.measure_rows import measured_row, read_off_row
from photolog.book.measure_tasks import MEASURED_OF, MeasureTask, forms_told, task_of
from photolog.book.photo_sizes import MeasuredSizes, photos_numbered
from photolog.book.printings import every as every_printing
from photolog.book.stockbook import StockBook
from photolog.photos.decode import open_upright
from photolog.photos.marks import marks_from_json
from photolog.records import MeasurementRow, PhotoRow
from photolog.terms import Acceptance, HowMade, MeasureOf, MeasureStatus

__all__ = [
    "READ_WITH",
    "ByHand",
    "draw_outline",
    "outline_of",
    "read_off",
    "set_callipers",
    "take_back",
]

READ_WITH: Mapping[str, Mapping[str, Literal["tape", "ring"]]] = MappingProxyType(
    {
        "bloom": {"widest_mm": "tape", "diameter_mm": "tape", "ring_mm": "ring"},
        "bloom-side": {"depth_mm": "tape", "across_mm": "tape"},
        "clump": {"spread_mm": "tape", "width_mm": "tape", "longest_tuber_mm": "tape"},
    }
)
"""Which sizes of what is measured can be read off, and with what."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ByHand:
    """A photo after something was entered or taken back; ``measured`` is what counts now.

    ``name`` is the photo's file name. ``measured.beside`` has what the program measured.
    """

    photo_id: int
    name: str
    measured: MeasuredSizes | None


def draw_outline(
    book: StockBook,
    photo_id: int,
    points: Sequence[Sequence[float]],
    *,
    placed_px: float | None = None,
) -> ByHand:
    """Enter the outline that the grower drew or corrected on a photo with a card.

    Parameters
    ----------
    points : at least five [x, y] in pixels of the upright photo, in order round the subject
    placed_px : how well one point was placed, one standard uncertainty in pixels; None: as with a
        mouse on the whole picture

    Raises ``Unknown`` where there is no such photo, ``WrongEntry`` where it can't be measured so.
    """

    def made(pose: Pose, task: MeasureTask) -> Measurement:
        return size_by_hand_outline(_points(points), placed_sigma_px=placed_px, **_told(pose, task))

    return _on_photo(book, photo_id, made, how=HowMade.OUTLINE)


def set_callipers(
    book: StockBook,
    photo_id: int,
    ends: Sequence[Sequence[float]],
    *,
    placed_px: float | None = None,
) -> ByHand:
    """Enter two calliper ends: across a bloom's widest, a side view's depth or a clump's spread.

    ``ends`` are two [x, y] in pixels of the upright photo; the rest as for ``draw_outline``.
    """

    def made(pose: Pose, task: MeasureTask) -> Measurement:
        return size_by_hand_callipers(_points(ends), placed_sigma_px=placed_px, **_told(pose, task))

    return _on_photo(book, photo_id, made, how=HowMade.CALLIPERS)


def read_off(
    book: StockBook, photo_id: int, sizes_mm: Mapping[str, float], *, on: date | None = None
) -> ByHand:
    """Enter what a tape or a ring read on what the photo shows; it needs no card.

    Parameters
    ----------
    sizes_mm : in mm, by the names in ``READ_WITH``: the smallest ring that the bloom just passes as
        ``ring_mm``, everything else by tape
    on : the day; None: the photo's own

    Raises ``Unknown`` where there is no such photo, ``WrongEntry`` where a size can't be, is none
    of what the photo shows, or no day is known.
    """
    if not sizes_mm:
        msg = "Nothing was read off."
        raise WrongEntry(msg)
    with book.writing() as session:
        photo, of = _photo(session, photo_id)
        readable = READ_WITH.get(of, {})
        sizes: dict[str, Size] = {}
        for name, value in sizes_mm.items():
            if name not in readable:
                names = ", ".join(readable) or "nothing"
                msg = f"Of photo {photo_id}, {photo.subject}, can be read off: {names}; not {name}."
                raise WrongEntry(msg)
            try:
                sizes[name] = size_by_tape(value, kind=readable[name])
            except ByHandError as error:
                raise WrongEntry(str(error)) from error
        taken_at = photo_facts(session, PhotoRow.id == photo_id)[0].taken_at
        day = on if on is not None else taken_at.date() if taken_at is not None else None
        if day is None:
            msg = f"Photo {photo_id} has no date: say on which day it was read off."
            raise WrongEntry(msg)
        _enter(session, read_off_row(photo_id, MeasureOf(of), sizes, on=day))
    return _now(book, photo_id)


def take_back(book: StockBook, photo_id: int) -> ByHand:
    """Take back all that was entered by hand of a photo: what the program measured counts again.

    The rows are kept, turned down. Raises ``Unknown`` where nothing was entered by hand.
    """
    with book.writing() as session:
        _photo(session, photo_id)
        rows = _rows(session, photo_id)
        by_hand = [row for row in rows if row.how_made is not HowMade.MEASURED]
        if not any(row.acceptance is not Acceptance.TURNED_DOWN for row in by_hand):
            msg = f"Nothing was entered by hand of photo {photo_id}."
            raise Unknown(msg)
        for row in rows:
            if row in by_hand:
                _say(row, Acceptance.TURNED_DOWN)
            elif row.acceptance is Acceptance.CORRECTED:
                _say(row, Acceptance.PROPOSED)
    return _now(book, photo_id)


def outline_of(book: StockBook, photo_id: int) -> list[list[float]]:
    """The outline that counts, to be corrected: [x, y] in pixels of the upright photo.

    Raises ``Unknown`` where there is no such photo, or no outline of it.
    """
    measured = _now(book, photo_id).measured
    if measured is None or measured.outline is None:
        msg = f"Photo {photo_id} has no outline yet."
        raise Unknown(msg)
    return [[float(x), float(y)] for x, y in measured.outline]


def _on_photo(
    book: StockBook,
    photo_id: int,
    made: Callable[[Pose, MeasureTask], Measurement],
    *,
    how: HowMade,
) -> ByHand:
    printings = every_printing(book)
    with book.writing() as session:
        photo, of = _photo(session, photo_id)
        if of not in READ_WITH:
            msg = f"Photo {photo_id} shows {photo.subject}, which is not measured by hand."
            raise WrongEntry(msg)
        task = task_of(
            book,
            photo,
            taken_at=photo_facts(session, PhotoRow.id == photo_id)[0].taken_at,
            form=forms_told(session).get(photo_id),
            printings=printings,
        )
        try:
            measurement = made(_pose(photo, task), task)
        except (ByHandError, MeasureError, LiftError) as error:
            msg = f"{error.reason} {error.remedy}"
            raise WrongEntry(msg) from error
        _enter(session, measured_row(task, figures_of(measurement), how=how))
    return _now(book, photo_id)


def _pose(photo: PhotoRow, task: MeasureTask) -> Pose:
    """Where the camera stood; marks read by another version are searched for anew."""
    marks = (
        read_marks(open_upright(task.path)) if task.marks is None else marks_from_json(task.marks)
    )
    return find_pose(
        marks,
        size_px=(photo.width_px, photo.height_px),
        optics=task.optics or Optics(),
        printing=task.printing,
    )


def _told(pose: Pose, task: MeasureTask) -> dict[str, Any]:
    return {
        "of": cast("ByHandOf", task.of),
        "pose": pose,
        "form": task.form,
        "held": task.held,
        "printing": task.printing,
    }


def _points(points: Sequence[Sequence[float]]) -> Points:
    try:
        return np.asarray(points, dtype=np.float64)
    except (TypeError, ValueError) as error:
        msg = "An outline is a list of places on the photo, each as [x, y] in pixels."
        raise WrongEntry(msg) from error


def _enter(session: Session, row: MeasurementRow) -> None:
    """Keep what was made by hand: it counts, and what stood before it is kept as corrected."""
    for other in _rows(session, row.photo_id):
        standing = other.acceptance in (Acceptance.PROPOSED, Acceptance.ACCEPTED)
        measured = other.status is MeasureStatus.MEASURED
        if other.measured_of == row.measured_of and measured and standing:
            _say(other, Acceptance.CORRECTED)
    # Only one may be accepted at a time, at every moment.
    session.flush()
    row.acceptance, row.decided_at = Acceptance.ACCEPTED, datetime.now(UTC)
    session.add(row)


def _say(row: MeasurementRow, said: Acceptance) -> None:
    row.acceptance, row.decided_at = said, datetime.now(UTC)


def _rows(session: Session, photo_id: int) -> Sequence[MeasurementRow]:
    return session.scalars(select(MeasurementRow).where(MeasurementRow.photo_id == photo_id)).all()


def _photo(session: Session, photo_id: int) -> tuple[PhotoRow, str]:
    photo = session.get(PhotoRow, photo_id)
    if photo is None:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    if photo.subject not in MEASURED_OF:
        msg = (
            f"What photo {photo_id} ({photo.original_name}) shows is not measured: "
            f"{photo.subject}. Say first what it shows."
        )
        raise WrongEntry(msg)
    return photo, MEASURED_OF[photo.subject]


def _now(book: StockBook, photo_id: int) -> ByHand:
    with book.reading() as session:
        records = photos_numbered(book, session, photo_id)
    if not records:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    (record,) = records
    return ByHand(photo_id=photo_id, name=record.name, measured=record.measured)
