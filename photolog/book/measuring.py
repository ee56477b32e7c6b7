"""Measuring the matched photos of a stock book, each number kept with how it was made."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from dataclasses import dataclass
from itertools import takewhile
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import Session

from measure import OwnDepth
from photolog.book.bloom_depths import depths_by_day, plant_and_day
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
from photolog.book.photo_sizes import photos_showing
from photolog.book.printings import every as every_printing
from photolog.book.stockbook import StockBook
from photolog.book.workers import Lost, OnProgress, Pace, run_in_workers
from photolog.records import MeasurementRow, PhotoRow
from photolog.terms import HowMade, MatchState, Subject

__all__ = ["MeasureReport", "NotMeasured", "measure_all", "overlay_of"]


_SIDES = (Subject.BLOOM_SIDE,)
# What waits is measured where matching compares it with other photos.
_TO_BE_MEASURED = or_(
    PhotoRow.match_state == MatchState.MATCHED,
    and_(
        PhotoRow.match_state == MatchState.WAITING,
        PhotoRow.subject.in_((Subject.BLOOM_FACE, Subject.CLUMP)),
    ),
)
_REST = tuple(subject for subject in MEASURED_OF if subject not in _SIDES)


class NotMeasured(NamedTuple):
    """A photo that could not be measured: why, and what to do."""

    photo_id: int
    name: str
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasureReport:
    """What one run measured.

    ``doubtful`` of the measured ones carry a flag, ``waiting`` of them wait for their plant;
    ``refused`` could not be measured; ``already`` had been measured before in the same way.
    """

    measured: int
    doubtful: int
    waiting: int
    refused: tuple[NotMeasured, ...]
    already: int
    seconds: float


def measure_all(
    book: StockBook,
    *,
    workers: int = 2,
    progress: OnProgress | None = None,
    stop: Callable[[], bool] | None = None,
) -> MeasureReport:
    """Measure every matched photo with a card that was not yet measured in the same way.

    Faces and clumps that wait for their plant are measured as well, without a form: their colour
    and size help to tell whose they are, so that matching again after it may find more.

    The same way: by this version, of the same subject, form, way of holding the card, ruler reading
    and, of a bloom's face, depth by the photos of its plant from the side of that day, which are
    measured first. Where one of these changed a row is added; no row is overwritten, and what the
    grower accepted stays accepted. Photos are measured in processes of their own, and one that
    fails, or ends its process, never stops the rest. ``stop`` is asked before each photo; once it
    says yes no other is begun.
    """
    sides, already = _tasks(book, _SIDES)
    rest, already_rest = _tasks(book, _REST)
    tally = _Tally(Pace(len(sides) + len(rest), progress), _waiting(book))
    if sides:
        _measure(book, sides, tally, workers=workers, stop=stop)
        # What they tell of the depth changes how the faces of that day are measured.
        rest, already_rest = _tasks(book, _REST)
        tally.pace.total = len(sides) + len(rest)
    _measure(book, rest, tally, workers=workers, stop=stop)
    return MeasureReport(
        measured=tally.measured,
        doubtful=tally.doubtful,
        waiting=tally.waiting,
        refused=tuple(tally.refused),
        already=already + already_rest,
        seconds=tally.pace.seconds,
    )


class _Tally:
    """What has been measured so far."""

    def __init__(self, pace: Pace, those_that_wait: frozenset[int]) -> None:
        self.pace = pace
        self.those_that_wait = those_that_wait
        self.measured = 0
        self.doubtful = 0
        self.waiting = 0
        self.refused: list[NotMeasured] = []


def _measure(
    book: StockBook,
    tasks: list[MeasureTask],
    tally: _Tally,
    *,
    workers: int,
    stop: Callable[[], bool] | None,
) -> None:
    wanted = tasks if stop is None else takewhile(lambda _: not stop(), tasks)
    with closing(run_in_workers(measure_photo, wanted, workers=workers)) as outcomes:
        for task, outcome in outcomes:
            photo_id = task.photo_id or 0
            if isinstance(outcome, Lost):
                # Not kept: the next run tries again.
                remedy = "Measure again; if it happens again, take the photo anew."
                tally.refused.append(NotMeasured(photo_id, task.name, outcome.because, remedy))
            elif isinstance(outcome, Unmeasured):
                tally.refused.append(
                    NotMeasured(photo_id, task.name, outcome.reason, outcome.remedy)
                )
                if outcome.refusal is not None:
                    _keep(book, refused_row(task, outcome))
            else:
                tally.measured += 1
                tally.doubtful += bool(outcome.flags)
                tally.waiting += photo_id in tally.those_that_wait
                _keep(book, measured_row(task, outcome))
            tally.pace.one_done(task.name)


def overlay_of(book: StockBook, measurement_id: int) -> Path | None:
    """The picture with card, outline and callipers of a measurement; None where there is none."""
    with book.reading() as session:
        row = session.get(MeasurementRow, measurement_id)
        photo = session.get(PhotoRow, row.photo_id) if row is not None else None
        if row is None or photo is None:
            return None
        path = overlay_for(book, photo.sha256, row.settings.get("asked", {}))
    return path if path.exists() else None


def _tasks(book: StockBook, subjects: Sequence[Subject]) -> tuple[list[MeasureTask], int]:
    """What of these is to be measured, and how many photos were already."""
    printings = every_printing(book)
    with book.reading() as session:
        facts = photo_facts(session, _TO_BE_MEASURED)
        dates = {photo.photo_id: photo.taken_at for photo in facts}
        forms = forms_told(session)
        done = _done(session)
        depths = _depths(book, session) if Subject.BLOOM_FACE in subjects else {}
        tasks: list[MeasureTask] = []
        already = 0
        for row in _photos_with_card(session, subjects):
            task = task_of(
                book,
                row,
                taken_at=dates[row.id],
                form=forms.get(row.id),
                depth=depths.get(row.id),
                printings=printings,
            )
            if (row.id, asked_key(task.asked)) in done:
                already += 1
            else:
                tasks.append(task)
    return tasks, already


def _depths(book: StockBook, session: Session) -> dict[int, OwnDepth]:
    """The bloom's own depth for each photo of a face, where its plant was taken from the side."""
    depths = depths_by_day(photos_showing(book, session, Subject.BLOOM_SIDE))
    if not depths:
        return {}
    return {
        face.id: depths[key]
        for face in photos_showing(book, session, Subject.BLOOM_FACE)
        if (key := plant_and_day(face)) in depths
    }


def _photos_with_card(session: Session, subjects: Sequence[Subject]) -> Iterator[PhotoRow]:
    rows = session.scalars(
        select(PhotoRow)
        .where(
            _TO_BE_MEASURED,
            PhotoRow.subject.in_(subjects),
        )
        .order_by(PhotoRow.taken_at, PhotoRow.id)
    )
    return (row for row in rows if row.marks and row.marks["cards"])


def _waiting(book: StockBook) -> frozenset[int]:
    with book.reading() as session:
        rows = session.scalars(
            select(PhotoRow.id).where(PhotoRow.match_state == MatchState.WAITING)
        )
        return frozenset(rows)


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
