"""What a stock book's photo is measured of and with: form, card, printing, lens, and its marks."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, get_args

from sqlalchemy import select
from sqlalchemy.orm import Session

from measure import FORMS, Form, Held, Optics, OwnDepth, Printing
from photolog.book.measure_photo import MeasureJob, Of
from photolog.book.originals import original_path, overlay_path
from photolog.book.printings import PrintingView, applying
from photolog.book.reading import made_by
from photolog.book.stockbook import StockBook
from photolog.records import BatchRow, PhotoRow, PhotoSubjectRow, PlantRow, VarietyRow
from photolog.terms import Subject

__all__ = ["MEASURED_OF", "MeasureTask", "asked_key", "forms_told", "overlay_for", "task_of"]

MEASURED_OF: dict[Subject, Of] = {
    Subject.BLOOM_FACE: "bloom",
    Subject.BLOOM_SIDE: "bloom-side",
    Subject.CLUMP: "clump",
    Subject.SEEDS: "seeds",
}
"""What is measured in a photo that shows this; other photos are not measured."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureTask(MeasureJob):
    """A photo of the stock book to measure; ``asked`` is what its number will depend on."""

    name: str
    asked: dict[str, Any]
    printing_id: int | None


def task_of(
    book: StockBook,
    row: PhotoRow,
    *,
    taken_at: datetime | None,
    form: Form | None,
    depth: OwnDepth | None = None,
    printings: tuple[PrintingView, ...],
) -> MeasureTask:
    """The task of one photo that shows something to be measured.

    ``taken_at`` is its date as put right, ``form`` that of what it belongs to, ``depth`` the
    bloom's own from the side, ``printings`` every reading there is.
    """
    of = MEASURED_OF[row.subject]
    held = _held(row)
    printing = _reading(row, printings, taken_at.date() if taken_at else None)
    read = printing.for_measuring() if printing is not None else Printing()
    asked: dict[str, Any] = {
        "made_by": made_by(),
        "of": of,
        "form": form if of == "bloom" else None,
        "held": held if of in ("bloom", "bloom-side") else None,
        "depth_mm": None if depth is None else round(depth.mm, 2),
        "u_depth_mm": None if depth is None else round(depth.u_mm, 2),
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
    return MeasureTask(
        photo_id=row.id,
        name=row.original_name,
        path=original_path(book, row.sha256, row.file_kind),
        of=of,
        form=form,
        held=held,
        depth=depth,
        printing=read,
        printing_id=printing.id if printing is not None else None,
        optics=Optics(
            focal35_mm=row.focal35_mm, exif_size=exif_size, digital_zoom=row.digital_zoom
        ),
        # Marks read by another version are searched for anew.
        marks=row.marks if row.marks_read_by == made_by() else None,
        overlay=overlay_for(book, row.sha256, asked),
        asked=asked,
    )


def forms_told(session: Session) -> dict[int, Form]:
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


def asked_key(asked: dict[str, Any]) -> str:
    """A short word that is the same for the same way of measuring, and for no other."""
    return hashlib.sha256(json.dumps(asked, sort_keys=True).encode()).hexdigest()[:12]


def overlay_for(book: StockBook, sha256: str, asked: dict[str, Any]) -> Path:
    """Where the picture with the outline of this measuring lies, or is to lie."""
    return overlay_path(book, sha256, asked_key(asked))


def _reading(
    row: PhotoRow, printings: tuple[PrintingView, ...], day: date | None
) -> PrintingView | None:
    """The ruler reading of the card in the photo that held on its day."""
    if day is None or row.marks is None or not row.marks["cards"]:
        return None
    return applying(printings, row.marks["cards"][0]["design"], on=day)


def _held(row: PhotoRow) -> Held | None:
    """How the card was held, as the grower said it; None: not told."""
    return next((held for held in get_args(Held) if held == row.held), None)
