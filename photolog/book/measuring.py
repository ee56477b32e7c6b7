"""Measuring the matched photos of a stock book, each number kept with how it was made."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.garden_facts import photo_facts
from photolog.book.measure_photo import Unmeasured, measure_photo
from photolog.book.measure_rows import measured_row, refused_row
from photolog.book.measure_tasks import (
    MEASURED_OF,
    MeasureTask,
    asked_key,
    forms_told,
    overlay_for,
    task_of,
)
from photolog.book.printings import every as every_printing
from photolog.book.stockbook import StockBook
from photolog.book.workers import Lost, OnProgress, Pace, run_in_workers
from photolog.records import MeasurementRow, PhotoRow
from photolog.terms import HowMade, MatchState

__all__ = ["MeasureReport", "NotMeasured", "measure_all", "overlay_of"]


class NotMeasured(NamedTuple):
    """A photo that could not be measured: why, and what to do."""

    photo_id: int
    name: str
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureReport:
    """What one run measured.

    ``doubtful`` of the measured ones carry a flag; ``refused`` could not be measured; ``already``
    had been measured before in the same way.
    """

    measured: int
    doubtful: int
    refused: tuple[NotMeasured, ...]
    already: int
    seconds: float


def measure_all(
    book: StockBook, *, workers: int = 2, progress: OnProgress | None = None
) -> MeasureReport:
    """Measure every matched photo with a card that was not yet measured in the same way.

    The same way: by this version, of the same subject, form, way of holding the card and ruler
    reading. Where one of these changed a row is added; no row is overwritten, and what the grower
    accepted stays accepted. Photos are measured in processes of their own, and one that fails, or
    ends its process, never stops the rest.
    """
    tasks, already = _tasks(book)
    pace = Pace(len(tasks), progress)
    measured = doubtful = 0
    refused: list[NotMeasured] = []
    with closing(run_in_workers(measure_photo, tasks, workers=workers)) as outcomes:
        for task, outcome in outcomes:
            photo_id = task.photo_id or 0
            if isinstance(outcome, Lost):
                # Not kept: the next run tries again.
                remedy = "Measure again; if it happens again, take the photo anew."
                refused.append(NotMeasured(photo_id, task.name, outcome.because, remedy))
            elif isinstance(outcome, Unmeasured):
                refused.append(NotMeasured(photo_id, task.name, outcome.reason, outcome.remedy))
                if outcome.refusal is not None:
                    _keep(book, refused_row(task, outcome))
            else:
                measured += 1
                doubtful += bool(outcome.flags)
                _keep(book, measured_row(task, outcome))
            pace.one_done(task.name)
    return MeasureReport(
        measured=measured,
        doubtful=doubtful,
        refused=tuple(refused),
        already=already,
        seconds=pace.seconds,
    )


def overlay_of(book: StockBook, measurement_id: int) -> Path | None:
    """The picture with card, outline and callipers of a measurement; None where there is none."""
    with book.reading() as session:
        row = session.get(MeasurementRow, measurement_id)
        photo = session.get(PhotoRow, row.photo_id) if row is not None else None
        if row is None or photo is None:
            return None
        path = overlay_for(book, photo.sha256, row.settings.get("asked", {}))
    return path if path.exists() else None


def _tasks(book: StockBook) -> tuple[list[MeasureTask], int]:
    """What is to be measured, and how many photos were already."""
    printings = every_printing(book)
    with book.reading() as session:
        matched = photo_facts(session, PhotoRow.match_state == MatchState.MATCHED)
        dates = {photo.photo_id: photo.taken_at for photo in matched}
        forms = forms_told(session)
        done = _done(session)
        tasks: list[MeasureTask] = []
        already = 0
        for row in _photos_with_card(session):
            task = task_of(
                book,
                row,
                taken_at=dates[row.id],
                form=forms.get(row.id),
                printings=printings,
            )
            if (row.id, asked_key(task.asked)) in done:
                already += 1
            else:
                tasks.append(task)
    return tasks, already


def _photos_with_card(session: Session) -> Iterator[PhotoRow]:
    rows = session.scalars(
        select(PhotoRow)
        .where(
            PhotoRow.match_state == MatchState.MATCHED,
            PhotoRow.subject.in_(list(MEASURED_OF)),
        )
        .order_by(PhotoRow.taken_at, PhotoRow.id)
    )
    return (row for row in rows if row.marks and row.marks["cards"])


def _done(session: Session) -> set[tuple[int, str]]:
    rows = session.execute(
        select(MeasurementRow.photo_id, MeasurementRow.settings).where(
            MeasurementRow.how_made == HowMade.MEASURED
        )
    )
    return {(photo_id, asked_key(settings.get("asked", {}))) for photo_id, settings in rows}


def _keep(book: StockBook, row: MeasurementRow) -> None:
    with book.writing() as session:
        # The photo may have been taken out of the book while it was measured.
        if session.get(PhotoRow, row.photo_id) is not None:
            session.add(row)
