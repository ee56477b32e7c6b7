"""Photos with whose they are, what they show, and the measurement that counts, as frozen views."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from pathlib import Path
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Select, select
from sqlalchemy.orm import Session, selectinload

from measure.quality import SENTENCES, Flag
from photolog.book.burst_facts import burst_shot, said_of_bursts
from photolog.book.cameras import corrected, corrections_of, told_moment
from photolog.book.measure_tasks import MEASURED_OF
from photolog.book.originals import original_path
from photolog.book.stock import StockRef, ref_of
from photolog.book.stockbook import StockBook
from photolog.photos.bursts import bursts
from photolog.records import CameraRow, MeasurementRow, PhotoRow, PhotoSubjectRow
from photolog.records.copies import is_no_copy
from photolog.terms import Acceptance, HowMade, MatchState, MeasureStatus, Subject

__all__ = [
    "Doubt",
    "MeasuredSizes",
    "PhotoRecord",
    "PhotoSubject",
    "SizeFigure",
    "photos_numbered",
    "photos_of",
    "photos_showing",
]

_NO_DATE = datetime(1, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFigure:
    """One size, in the unit of the name it is filed under; ``u`` None: not estimated.

    ``components`` are standard uncertainties by source, in the same unit.
    """

    value: float
    u: float | None
    interval95: tuple[float, float] | None
    components: Mapping[str, float]

    @property
    def half95(self) -> float | None:
        """Half the 95 % interval."""
        if self.interval95 is None:
            return None
        return (self.interval95[1] - self.interval95[0]) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Something that makes a measurement doubtful: the flag, a sentence, and what to do."""

    flag: str
    sentence: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredSizes:
    """The measurement of a photo that counts: the accepted one, else the newest not turned down.

    ``reason`` and ``remedy`` are of a refusal. ``outline`` is (N, 2), (x, y) pixels in the upright
    photo; ``mm_per_px`` the scale at the subject; both None when refused. ``turned_down`` says
    that the grower turned down every measurement of this photo. ``how_made`` says whether by hand,
    and then ``beside`` has what the program measured last, and ``outline`` and ``mm_per_px`` are
    its own where the hand set none. ``read_on`` is the day of a tape's or a ring's reading.
    """

    measured_of: str
    refused: bool
    reason: str | None
    remedy: str | None
    sizes: Mapping[str, SizeFigure]
    doubts: tuple[Doubt, ...]
    accepted: bool
    turned_down: bool
    printing: str | None
    card_design: str | None
    made_by: str
    outline: NDArray[np.float64] | None
    mm_per_px: float | None
    how_made: HowMade = HowMade.MEASURED
    read_on: date | None = None
    beside: Mapping[str, SizeFigure] = field(default_factory=lambda: MappingProxyType({}))

    @property
    def by_hand(self) -> bool:
        """Whether the grower made it by hand."""
        return self.how_made is not HowMade.MEASURED


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoSubject:
    """A plant or batch that a photo belongs to, and what says so."""

    stock: StockRef
    because: str
    by_hand: bool
    stage: str | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PhotoRecord:
    """One photo.

    ``taken_at`` is its camera's clock, set right where it was out; where the file gives no date,
    the noon of the day that the grower told (``day_told``); None: no date at all. ``burst`` is the
    number of the first photo of the burst that it is of, its own where it is alone; ``set_apart``:
    the grower said that it is alone.
    """

    id: int
    path: Path
    name: str
    taken_at: datetime | None
    day_told: bool
    shows: Subject
    state: MatchState
    waiting_because: str | None
    subjects: tuple[PhotoSubject, ...]
    measured: MeasuredSizes | None
    burst: int
    set_apart: bool


def photos_showing(book: StockBook, session: Session, subject: Subject) -> list[PhotoRecord]:
    """Every photo that shows this, whatever its match, oldest first; none that is a copy."""
    shown = select(PhotoRow.id).where(PhotoRow.subject == subject, is_no_copy())
    return _records(book, session, shown)


def photos_of(book: StockBook, session: Session, stock: StockRef) -> list[PhotoRecord]:
    """Every photo that belongs to a plant or a batch, oldest first."""
    column = PhotoSubjectRow.plant_id if stock.kind == "plant" else PhotoSubjectRow.batch_id
    return _records(book, session, select(PhotoSubjectRow.photo_id).where(column == stock.id))


def photos_numbered(book: StockBook, session: Session, *ids: int) -> list[PhotoRecord]:
    """The photos of these numbers, oldest first; a number that no photo has is left out."""
    return _records(book, session, select(PhotoRow.id).where(PhotoRow.id.in_(ids)))


def _records(book: StockBook, session: Session, ids: Select[int]) -> list[PhotoRecord]:
    """The photos of these ids, in a fixed number of queries however many they are."""
    rows = session.scalars(
        select(PhotoRow)
        .where(PhotoRow.id.in_(ids))
        .options(
            selectinload(PhotoRow.subjects),
            selectinload(PhotoRow.camera).selectinload(CameraRow.corrections),
        )
    ).all()
    measurements: dict[int, list[MeasurementRow]] = {}
    found = session.scalars(
        select(MeasurementRow)
        .where(MeasurementRow.photo_id.in_(ids))
        .options(selectinload(MeasurementRow.sizes))
        .order_by(MeasurementRow.id)
    )
    for measurement in found:
        measurements.setdefault(measurement.photo_id, []).append(measurement)
    said = said_of_bursts(session)
    in_burst = Counter(said.values())
    first = bursts([burst_shot(row) for row in rows], said)
    records = [
        _record(
            book,
            row,
            measurements.get(row.id, []),
            burst=first[row.id],
            # The others of a burst of the grower's may not be among these photos.
            set_apart=row.id in said and in_burst[said[row.id]] == 1,
        )
        for row in rows
    ]
    return sorted(records, key=lambda r: (r.taken_at is None, r.taken_at or _NO_DATE, r.id))


def _record(
    book: StockBook,
    row: PhotoRow,
    measurements: Sequence[MeasurementRow],
    *,
    burst: int,
    set_apart: bool,
) -> PhotoRecord:
    return PhotoRecord(
        id=row.id,
        path=original_path(book, row.sha256, row.file_kind),
        name=row.original_name,
        taken_at=_set_right(row),
        day_told=row.taken_at is None and row.told_on is not None,
        shows=row.subject,
        state=row.match_state,
        waiting_because=row.waiting_because,
        subjects=tuple(
            PhotoSubject(
                stock=ref_of(subject.plant_id, subject.batch_id),
                because=subject.because or subject.reason,
                by_hand=subject.by_hand,
                stage=subject.stage,
            )
            for subject in row.subjects
        ),
        measured=_that_counts(
            [
                m
                for m in measurements
                if MEASURED_OF.get(row.subject, m.measured_of) == m.measured_of
            ]
        ),
        burst=burst,
        set_apart=set_apart,
    )


def _set_right(row: PhotoRow) -> datetime | None:
    """The photo's date by its camera's clock, corrected as known; else the day that was told."""
    if row.taken_at is None:
        return told_moment(row.told_on)
    if row.camera is None:
        return row.taken_at
    return corrected(row.taken_at, corrections_of(row.camera), row.original_name)


def _that_counts(measurements: Sequence[MeasurementRow]) -> MeasuredSizes | None:
    """The accepted one, else the newest not turned down, else the newest."""
    if not measurements:
        return None
    accepted = [m for m in measurements if m.acceptance == Acceptance.ACCEPTED]
    standing = [m for m in measurements if m.acceptance != Acceptance.TURNED_DOWN]
    chosen = (accepted or standing or list(measurements))[-1]
    shown = chosen
    beside: Mapping[str, SizeFigure] = MappingProxyType({})
    if chosen.how_made is not HowMade.MEASURED:
        programs = [
            m
            for m in measurements
            if m.how_made is HowMade.MEASURED
            and m.status == MeasureStatus.MEASURED
            and m.measured_of == chosen.measured_of
        ]
        if programs:
            beside = _sizes(programs[-1])
            shown = programs[-1] if chosen.outline is None else chosen
    return MeasuredSizes(
        measured_of=chosen.measured_of,
        refused=chosen.status == MeasureStatus.REFUSED,
        reason=chosen.reason,
        remedy=chosen.remedy,
        sizes=_sizes(chosen),
        doubts=tuple(_doubt(flag) for flag in chosen.flags),
        accepted=bool(accepted),
        turned_down=not standing,
        printing=None if chosen.printing_id is None else str(chosen.printing_id),
        card_design=chosen.card_design,
        made_by=chosen.made_by,
        outline=None if shown.outline is None else np.array(shown.outline, dtype=np.float64),
        mm_per_px=shown.mm_per_px,
        how_made=chosen.how_made,
        read_on=chosen.read_on,
        beside=beside,
    )


def _sizes(row: MeasurementRow) -> Mapping[str, SizeFigure]:
    return MappingProxyType(
        {
            size.name: SizeFigure(
                value=size.value,
                u=size.u,
                interval95=None if size.low is None or size.high is None else (size.low, size.high),
                components=MappingProxyType(dict(size.components)),
            )
            for size in row.sizes
        }
    )


def _doubt(flag: str) -> Doubt:
    try:
        sentence, remedy = SENTENCES[Flag(flag)]
    except (ValueError, KeyError):
        # A newer or an older version of photolog may have flagged it in words not known here.
        return Doubt(flag=flag, sentence=f"{flag[:1].upper()}{flag[1:]}.", remedy="")
    return Doubt(flag=flag, sentence=sentence, remedy=remedy)
