"""Photos taken while their camera's clock had fallen back to its first day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from photolog.book.cameras import labels_of
from photolog.book.clocks_read import clocks_read
from photolog.book.stockbook import StockBook
from photolog.photos.clock_shots import Shot
from photolog.photos.counting_lines import perhaps_fallen
from photolog.photos.dates_doubted import DoubtedBlock
from photolog.records import BatchRow, PlantRow

__all__ = ["FallenClock", "fallen_clocks"]

# Photos by a clock that fell back and with no longer pause between them are told together.
_TOGETHER = timedelta(days=31)


@dataclass(frozen=True, slots=True, kw_only=True)
class FallenClock:
    """Photos of one camera whose clock had fallen back, and is not put right yet.

    ``by_counting``: the numbers of its files say so; else they are dated before anything in the
    stock book, at the start of a year. ``said`` is what the clock said at the first of them.
    ``earliest`` and ``latest`` are when they were taken by their numbers; None where no photo
    before or after them bounds it.
    """

    camera: str
    photo_ids: tuple[int, ...]
    first_name: str
    last_name: str
    said: datetime
    earliest: datetime | None = None
    latest: datetime | None = None
    by_counting: bool = True


def fallen_clocks(book: StockBook) -> tuple[FallenClock, ...]:
    """The photos whose clock had fallen back, by camera and stretch of counting."""
    with book.reading() as session:
        labels = labels_of(session)
        read = clocks_read(session)
        counted = {photo.photo_id for block in read.doubted for photo in block.photos}
        found = [_by_counting(block, labels) for block in read.doubted]
        began = _began(session)
        if began is not None:
            others = [shot for shot in read.shots if shot.photo_id not in counted]
            found += [_by_date(some, labels[some[0].camera]) for some in _before_all(others, began)]
        return tuple(found)


def _by_counting(block: DoubtedBlock, labels: dict[int, str]) -> FallenClock:
    first, last = block.photos[0], block.photos[-1]
    if first.camera is None or first.taken_at is None:
        msg = f"photo {first.photo_id} has no clock"
        raise ValueError(msg)
    return FallenClock(
        camera=labels[first.camera],
        photo_ids=tuple(photo.photo_id for photo in block.photos),
        first_name=first.name,
        last_name=last.name,
        said=first.taken_at,
        earliest=block.dates[0].earliest,
        latest=block.dates[-1].latest,
    )


def _by_date(shots: Sequence[Shot], camera: str) -> FallenClock:
    return FallenClock(
        camera=camera,
        photo_ids=tuple(shot.photo_id for shot in shots),
        first_name=shots[0].name,
        last_name=shots[-1].name,
        said=shots[0].at,
        by_counting=False,
    )


def _began(session: Session) -> date | None:
    """The first day of anything in the stock book."""
    days = [session.scalar(select(func.min(row.since))) for row in (PlantRow, BatchRow)]
    return min((day for day in days if day is not None), default=None)


def _before_all(shots: Iterable[Shot], began: date) -> list[list[Shot]]:
    """Photos dated at the start of a year before anything was there, by camera and pause."""
    of_camera: dict[int, list[Shot]] = {}
    for shot in shots:
        of_camera.setdefault(shot.camera, []).append(shot)
    found: list[list[Shot]] = []
    for some in of_camera.values():
        fallen = perhaps_fallen([shot.at for shot in some])
        early = [
            shot
            for shot, maybe in zip(some, fallen, strict=True)
            if maybe and shot.at.date() < began
        ]
        early.sort(key=lambda shot: (shot.at, shot.name))
        for nth, shot in enumerate(early):
            if nth and shot.at - early[nth - 1].at <= _TOGETHER:
                found[-1].append(shot)
            else:
                found.append([shot])
    return found
