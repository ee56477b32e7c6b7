"""Cameras as their files name them, and what their clocks say once put right."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from photolog.book.errors import Unknown
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.stockbook import StockBook
from photolog.photos.file_numbers import CountedSpan, FileNumber, file_number
from photolog.records import CameraRow, ClockCorrectionRow, PhotoRow

__all__ = [
    "BEGINNING",
    "CameraView",
    "ClockCorrection",
    "camera_label",
    "camera_named",
    "clocks_of",
    "corrected",
    "correction_of",
    "corrections_of",
    "every",
    "find_or_add",
    "labels_of",
    "offset_s",
    "told_moment",
    "view_of",
]

BEGINNING = datetime(1900, 1, 1)
"""Before any camera's clock: a correction from here holds for all photos of its camera."""

# Two cameras of one model are told apart by where each one's counting stands (judgement).
_COUNTS_ON = 2000


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockCorrection:
    """Seconds to add to what a camera's clock said, from a moment on that clock on.

    It holds up to ``until`` (None: until the next one), and only for photos counted in ``span``
    (None: for all).
    """

    since: datetime
    add_seconds: int
    note: str
    until: datetime | None = None
    span: CountedSpan | None = None
    id: int = 0

    def holds(self, taken_at: datetime, name: str) -> bool:
        """Whether it is one for a photo of this clock and file name."""
        return (
            self.since <= taken_at
            and (self.until is None or taken_at < self.until)
            and (self.span is None or name in self.span)
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraView:
    """A camera as its files name it, with its corrections, oldest first.

    ``part`` is the grower's name for it, where its files don't tell it from another. ``photos`` is
    how many dated ones there are.
    """

    id: int
    make: str
    model: str
    serial: str
    corrections: tuple[ClockCorrection, ...]
    part: str = ""
    photos: int = 0

    @property
    def label(self) -> str:
        """Make, model and serial number in one, as a grower names it."""
        return camera_label(self.make, self.model, self.serial, self.part)


def camera_label(make: str, model: str, serial: str, part: str) -> str:
    """Make, model, serial number and the grower's own name in one."""
    model = model.removeprefix(make).strip()
    parts = [make, model, f"no. {serial}" if serial else "", f"({part})" if part else ""]
    return " ".join(part for part in parts if part) or "a camera that does not name itself"


def every(book: StockBook) -> tuple[CameraView, ...]:
    """All cameras that photos were taken in from."""
    with book.reading() as session:
        counted = select(PhotoRow.camera_id, func.count()).where(PhotoRow.taken_at.is_not(None))
        photos = {row[0]: row[1] for row in session.execute(counted.group_by(PhotoRow.camera_id))}
        rows = session.scalars(
            select(CameraRow)
            .options(selectinload(CameraRow.corrections))
            .order_by(CameraRow.make, CameraRow.model, CameraRow.serial, CameraRow.part)
        )
        return tuple(view_of(row, photos=photos.get(row.id, 0)) for row in rows)


def find_or_add(session: Session, *, make: str, model: str, serial: str, name: str = "") -> int:
    """The number of the camera that a file names, added where it is new; for intake.

    Where the grower told several of a model apart, it is the one whose counting the file's
    ``name`` goes on with; where that is none, the first.
    """
    found = session.scalars(
        select(CameraRow.id)
        .where(CameraRow.make == make, CameraRow.model == model, CameraRow.serial == serial)
        .order_by(CameraRow.id)
    ).all()
    if len(found) > 1 and (number := file_number(name)) is not None:
        return _counting_on(session, found, number)
    if found:
        return found[0]
    row = CameraRow(make=make, model=model, serial=serial)
    session.add(row)
    session.flush()
    return row.id


def _counting_on(session: Session, cameras: Sequence[int], number: FileNumber) -> int:
    names = session.execute(
        select(PhotoRow.camera_id, PhotoRow.original_name).where(PhotoRow.camera_id.in_(cameras))
    )
    nearest: dict[int, int] = {}
    for camera, name in names:
        other = file_number(name)
        if camera is not None and other is not None and other.counted_as == number.counted_as:
            apart = min(
                (number.number - other.number) % number.cycle, abs(number.number - other.number)
            )
            nearest[camera] = min(apart, nearest.get(camera, apart))
    best = min(nearest, key=lambda camera: nearest[camera], default=cameras[0])
    return best if nearest.get(best, 0) <= _COUNTS_ON else cameras[0]


def offset_s(offset: str) -> int:
    """Seconds ahead of UTC from a file's ``+12:00``."""
    hours, minutes = int(offset[1:3]), int(offset[4:6])
    return (-1 if offset[0] == "-" else 1) * (3600 * hours + 60 * minutes)


def told_moment(day: date | None) -> datetime | None:
    """The moment that stands for a day told by the grower: its noon."""
    return None if day is None else datetime.combine(day, time(12))


def correction_of(
    taken_at: datetime, corrections: Iterable[ClockCorrection], name: str = ""
) -> ClockCorrection | None:
    """The correction that holds for a photo: the last that began by then, None where none does.

    One for the photos counted so goes before one for all.
    """
    holding = [one for one in corrections if one.holds(taken_at, name)]
    return max(holding, key=lambda one: (one.span is not None, one.since, one.id), default=None)


def corrected(
    taken_at: datetime, corrections: Iterable[ClockCorrection], name: str = ""
) -> datetime:
    """What the clock should have said for the photo whose file has this name."""
    one = correction_of(taken_at, corrections, name)
    return taken_at if one is None else taken_at + timedelta(seconds=one.add_seconds)


def corrections_of(row: CameraRow) -> tuple[ClockCorrection, ...]:
    """A camera's corrections from its row, oldest first."""
    return tuple(_correction(one) for one in row.corrections)


def clocks_of(session: Session) -> Mapping[int, tuple[ClockCorrection, ...]]:
    """Every camera's corrections by its number, in two queries."""
    rows = session.scalars(select(CameraRow).options(selectinload(CameraRow.corrections)))
    return {row.id: corrections_of(row) for row in rows}


def labels_of(session: Session) -> dict[int, str]:
    """Every camera's label by its number."""
    return {
        row.id: camera_label(row.make, row.model, row.serial, row.part)
        for row in session.scalars(select(CameraRow))
    }


def camera_named(session: Session, camera: str) -> CameraRow:
    """The camera of this label, however it is capitalised, or the only one of this model.

    Raises ``Unknown`` where there is none.
    """
    rows = session.scalars(select(CameraRow).options(selectinload(CameraRow.corrections))).all()
    labels = {view_of(row).label: row for row in rows}
    fitting = [row for label, row in labels.items() if fold(label) == fold(camera)]
    fitting = fitting or [row for row in rows if fold(row.model) == fold(camera)]
    if len(fitting) == 1:
        return fitting[0]
    msg = (
        f"No photos are in the stock book from a camera {camera!r}."
        f"{did_you_mean(nearest_names(camera, labels))}"
    )
    raise Unknown(msg)


def view_of(row: CameraRow, *, photos: int = 0) -> CameraView:
    """A camera as a frozen view."""
    return CameraView(
        id=row.id,
        make=row.make,
        model=row.model,
        serial=row.serial,
        part=row.part,
        corrections=corrections_of(row),
        photos=photos,
    )


def _correction(row: ClockCorrectionRow) -> ClockCorrection:
    span = None
    if row.counted_as is not None and row.first_number is not None and row.last_number is not None:
        span = CountedSpan(counted_as=row.counted_as, first=row.first_number, last=row.last_number)
    return ClockCorrection(
        id=row.id,
        since=row.from_moment,
        until=row.until_moment,
        span=span,
        add_seconds=row.add_seconds,
        note=row.note,
    )
