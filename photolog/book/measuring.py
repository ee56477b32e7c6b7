"""Measuring the matched photos of a stock book, each number kept with how it was made."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any, NamedTuple, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from measure import FORMS, Form, Held, Optics, Printing
from photolog.book.garden_facts import photo_facts
from photolog.book.measure_photo import (
    Figures,
    MeasureJob,
    Of,
    Unmeasured,
    measure_photo,
)
from photolog.book.originals import original_path, overlay_path
from photolog.book.printings import PrintingView, applying
from photolog.book.printings import every as every_printing
from photolog.book.reading import made_by
from photolog.book.stockbook import StockBook
from photolog.book.workers import Lost, OnProgress, Pace, run_in_workers
from photolog.records import (
    BatchRow,
    MeasurementRow,
    PhotoRow,
    PhotoSubjectRow,
    PlantRow,
    SizeRow,
    VarietyRow,
)
from photolog.terms import MatchState, MeasureOf, MeasureStatus, Subject

__all__ = ["MeasureReport", "NotMeasured", "measure_all", "overlay_of"]

_MEASURED_OF: dict[Subject, Of] = {
    Subject.BLOOM_FACE: "bloom",
    Subject.BLOOM_SIDE: "bloom-side",
    Subject.CLUMP: "clump",
    Subject.SEEDS: "seeds",
}


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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task(MeasureJob):
    """A photo of the stock book to measure; ``asked`` is what its number will depend on."""

    name: str
    asked: dict[str, Any]
    printing_id: int | None


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
                    _keep(book, _refused_row(task, outcome))
            else:
                measured += 1
                doubtful += bool(outcome.flags)
                _keep(book, _measured_row(task, outcome))
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
        path = _overlay(book, photo.sha256, row.settings.get("asked", {}))
    return path if path.exists() else None


def _tasks(book: StockBook) -> tuple[list[_Task], int]:
    """What is to be measured, and how many photos were already."""
    printings = every_printing(book)
    with book.reading() as session:
        matched = photo_facts(session, PhotoRow.match_state == MatchState.MATCHED)
        dates = {photo.photo_id: photo.taken_at for photo in matched}
        forms = _forms(session)
        done = _done(session)
        tasks: list[_Task] = []
        already = 0
        for row in _photos_with_card(session):
            taken_at = dates[row.id]
            task = _task(
                book,
                row,
                form=forms.get(row.id),
                printing=_reading(row, printings, taken_at.date() if taken_at else None),
            )
            if (row.id, _key(task.asked)) in done:
                already += 1
            else:
                tasks.append(task)
    return tasks, already


def _photos_with_card(session: Session) -> Iterator[PhotoRow]:
    rows = session.scalars(
        select(PhotoRow)
        .where(
            PhotoRow.match_state == MatchState.MATCHED,
            PhotoRow.subject.in_(list(_MEASURED_OF)),
        )
        .order_by(PhotoRow.taken_at, PhotoRow.id)
    )
    return (row for row in rows if row.marks and row.marks["cards"])


def _task(
    book: StockBook, row: PhotoRow, *, form: Form | None, printing: PrintingView | None
) -> _Task:
    of = _MEASURED_OF[row.subject]
    held = _held(row)
    read = printing.for_measuring() if printing is not None else Printing()
    asked: dict[str, Any] = {
        "made_by": made_by(),
        "of": of,
        "form": form if of == "bloom" else None,
        "held": held if of in ("bloom", "bloom-side") else None,
        "across_mm": read.across_mm,
        "along_mm": read.along_mm,
        "scale_u_percent": read.u_percent,
        "photo_sha256": row.sha256,
    }
    exif_size = (
        (row.exif_width_px, row.exif_height_px)
        if row.exif_width_px is not None and row.exif_height_px is not None
        else None
    )
    return _Task(
        photo_id=row.id,
        name=row.original_name,
        path=original_path(book, row.sha256, row.file_kind),
        of=of,
        form=form,
        held=held,
        printing=read,
        printing_id=printing.id if printing is not None else None,
        optics=Optics(
            focal35_mm=row.focal35_mm, exif_size=exif_size, digital_zoom=row.digital_zoom
        ),
        # Marks read by another version are searched for anew.
        marks=row.marks if row.marks_read_by == made_by() else None,
        overlay=_overlay(book, row.sha256, asked),
        asked=asked,
    )


def _reading(
    row: PhotoRow, printings: tuple[PrintingView, ...], day: date | None
) -> PrintingView | None:
    """The ruler reading of the card in the photo that held on its day."""
    if day is None or row.marks is None:
        return None
    return applying(printings, row.marks["cards"][0]["design"], on=day)


def _held(row: PhotoRow) -> Held | None:
    """How the card was held, as the grower said it; None: not told."""
    return next((held for held in get_args(Held) if held == row.held), None)


def _forms(session: Session) -> dict[int, Form]:
    """The form of what each photo shows, where all that it belongs to is of one form."""
    of_plants = (
        select(PhotoSubjectRow.photo_id, VarietyRow.form)
        .join(PlantRow, PlantRow.id == PhotoSubjectRow.plant_id)
        .join(VarietyRow, VarietyRow.id == PlantRow.variety_id)
    )
    of_batches = (
        select(PhotoSubjectRow.photo_id, VarietyRow.form)
        .join(BatchRow, BatchRow.id == PhotoSubjectRow.batch_id)
        .join(VarietyRow, VarietyRow.id == BatchRow.variety_id)
    )
    told: dict[int, set[str | None]] = {}
    for query in (of_plants, of_batches):
        for photo_id, form in session.execute(query):
            told.setdefault(photo_id, set()).add(form)
    known = {str(form): form for form in FORMS}
    return {
        photo_id: known[form]
        for photo_id, forms in told.items()
        if len(forms) == 1 and (form := next(iter(forms))) in known
    }


def _done(session: Session) -> set[tuple[int, str]]:
    rows = session.execute(select(MeasurementRow.photo_id, MeasurementRow.settings))
    return {(photo_id, _key(settings.get("asked", {}))) for photo_id, settings in rows}


def _key(asked: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()[:12]


def _overlay(book: StockBook, sha256: str, asked: dict[str, Any]) -> Path:
    return overlay_path(book, sha256, _key(asked))


def _keep(book: StockBook, row: MeasurementRow) -> None:
    with book.writing() as session:
        # The photo may have been taken out of the book while it was measured.
        if session.get(PhotoRow, row.photo_id) is not None:
            session.add(row)


def _measured_row(task: _Task, figures: Figures) -> MeasurementRow:
    return MeasurementRow(
        photo_id=task.photo_id,
        measured_of=MeasureOf(task.of),
        status=MeasureStatus.MEASURED,
        made_by=made_by(),
        made_at=datetime.now(UTC),
        card_design=figures.card.design,
        printing_id=task.printing_id,
        card_corners=figures.card.corners,
        card_residual_px=figures.card.residual_px,
        tilt_deg=figures.card.tilt_deg,
        distance_mm=figures.card.distance_mm,
        lift_mm=figures.lift_mm,
        lift_u_mm=figures.lift_u_mm,
        settings={**figures.settings, "asked": task.asked},
        flags=figures.flags,
        outline=figures.outline,
        outline_confidence=figures.outline_confidence,
        edge_sigma_px=figures.edge_sigma_px,
        callipers=figures.callipers,
        mm_per_px=figures.mm_per_px,
        sizes=_sizes(figures),
    )


def _sizes(figures: Figures) -> Sequence[SizeRow]:
    return [
        SizeRow(
            name=name,
            value=size.value,
            u=size.u,
            low=size.low,
            high=size.high,
            components=size.components,
        )
        for name, size in figures.sizes.items()
    ]


def _refused_row(task: _Task, refused: Unmeasured) -> MeasurementRow:
    return MeasurementRow(
        photo_id=task.photo_id,
        measured_of=MeasureOf(task.of),
        status=MeasureStatus.REFUSED,
        refusal=refused.refusal,
        reason=refused.reason,
        remedy=refused.remedy,
        made_by=made_by(),
        made_at=datetime.now(UTC),
        card_design=refused.card_design,
        printing_id=task.printing_id,
        settings={"asked": task.asked},
        flags=[],
    )
