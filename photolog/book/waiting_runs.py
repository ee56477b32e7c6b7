"""The waiting list as runs: the photos of one camera's outing together, and what is proposed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby

from sqlalchemy import select

from photolog.book import cameras
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.book.waiting import SURE, WaitingCandidate, WaitingPhoto, matched, waiting
from photolog.photos.facts import Shows
from photolog.records import PhotoRow
from photolog.terms import MatchState

__all__ = [
    "Example",
    "Likely",
    "WaitingRun",
    "examples",
    "is_laid",
    "is_proposed",
    "is_sure",
    "likely",
    "waiting_on",
    "waiting_runs",
]

# A candidate below the first is hardly worth a line; at least one is shown all the same.
_WORTH_A_LINE = 0.05
_OUTING = timedelta(hours=2)
_LIKELIER_THAN_NOT, _FEWEST_LAID = 0.5, 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Likely:
    """The candidates worth showing, and how many others there are, none likelier than ``at_most``.

    ``at_most`` is 0 where there are no others.
    """

    shown: tuple[WaitingCandidate, ...]
    others: int
    at_most: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Example:
    """A matched photo of a plant, to compare a waiting one with."""

    photo_id: int
    taken_at: datetime | None


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingRun:
    """Waiting photos of one camera's outing, in the order in which they were taken.

    ``camera`` None: unknown, or the photos have no date; ``on`` is then None. ``by_order`` says
    that most of it is laid along an order of plants, so that it can be taken as proposed at once.
    """

    on: date | None
    camera: str | None
    photos: tuple[WaitingPhoto, ...]

    @property
    def first_at(self) -> datetime | None:
        """When its first photo was taken."""
        return self.photos[0].taken_at

    @property
    def last_at(self) -> datetime | None:
        """When its last photo was taken."""
        return self.photos[-1].taken_at

    @property
    def sure(self) -> tuple[WaitingPhoto, ...]:
        """The photos whose first candidate is sure enough to be taken with the others."""
        return tuple(one for one in self.photos if is_sure(one))

    @property
    def unsure(self) -> tuple[WaitingPhoto, ...]:
        """The others."""
        return tuple(one for one in self.photos if not is_sure(one))

    @property
    def proposed(self) -> tuple[WaitingPhoto, ...]:
        """The photos whose first candidate is likelier than not."""
        return tuple(one for one in self.photos if is_proposed(one))

    @property
    def by_order(self) -> bool:
        """Whether it is an afternoon laid along an order, so that it can be taken at once."""
        laid = [one for one in self.photos if is_laid(one)]
        return len(laid) >= _FEWEST_LAID and 2 * len(laid) >= len(self.photos)


def is_laid(photo: WaitingPhoto) -> bool:
    """Whether what is proposed first is by an order of plants."""
    return bool(photo.candidates) and photo.candidates[0].reason == "order"


def is_proposed(photo: WaitingPhoto) -> bool:
    """Whether the first candidate is likelier than not."""
    return bool(photo.candidates) and photo.candidates[0].probability >= _LIKELIER_THAN_NOT


def is_sure(photo: WaitingPhoto) -> bool:
    """Whether the first candidate is sure enough to be taken without a look at the photo."""
    return bool(photo.candidates) and photo.candidates[0].probability >= SURE


def likely(candidates: Sequence[WaitingCandidate], *, most: int = 3) -> Likely:
    """The few candidates worth showing, the most probable first; the others are only counted."""
    shown = [one for one in candidates[:most] if one.probability >= _WORTH_A_LINE]
    shown = shown or list(candidates[:1])
    others = candidates[len(shown) :]
    return Likely(
        shown=tuple(shown),
        others=len(others),
        at_most=max((one.probability for one in others), default=0.0),
    )


def waiting_runs(book: StockBook, *, only: Iterable[int] | None = None) -> tuple[WaitingRun, ...]:
    """What waits, by outing: the photos of one camera and day with no pause of two hours.

    Photos without a date or a known camera come last, in a run of their own.
    """
    photos = waiting(book, only=only)
    labels = {one.id: one.label for one in cameras.every(book)}
    with book.reading() as session:
        of_photo = {
            row.id: row.camera_id
            for row in session.execute(
                select(PhotoRow.id, PhotoRow.camera_id).where(
                    PhotoRow.match_state == MatchState.WAITING
                )
            )
        }
    placed = [one for one in photos if one.taken_at and of_photo.get(one.photo_id) is not None]
    # They come oldest first, and sorting keeps that within a day.
    placed.sort(key=lambda one: (_day(one), of_photo[one.photo_id]))
    runs = []
    for (on, camera), some in groupby(placed, key=lambda one: (_day(one), of_photo[one.photo_id])):
        runs += [
            WaitingRun(on=on, camera=labels[camera], photos=tuple(outing))
            for outing in _outings(list(some))
        ]
    place = {one.photo_id: n for n, one in enumerate(photos)}
    runs.sort(key=lambda run: place[run.photos[0].photo_id])
    seen = {one.photo_id for one in placed}
    if others := [one for one in photos if one.photo_id not in seen]:
        runs.append(WaitingRun(on=None, camera=None, photos=tuple(others)))
    return tuple(runs)


def waiting_on(book: StockBook, day: date) -> tuple[int, ...]:
    """The numbers of the photos of a day that wait, by whatever camera, as they were taken."""
    return tuple(
        one.photo_id
        for one in waiting(book)
        if one.taken_at is not None and one.taken_at.date() == day
    )


def examples(
    book: StockBook, runs: Iterable[WaitingRun]
) -> dict[tuple[StockRef, Shows | None], Example]:
    """For each likely plant and what waiting photos of it would show, its newest photo of that.

    Where it has none of that, its newest of anything.
    """
    wanted = {
        (one.stock, photo.shows)
        for run in runs
        for photo in run.photos
        for one in likely(photo.candidates).shown
    }
    found: dict[tuple[StockRef, Shows | None], Example] = {}
    if not wanted:
        return found
    newest: dict[StockRef, Example] = {}
    for photo in reversed(matched(book)):
        example = Example(photo_id=photo.photo_id, taken_at=photo.taken_at)
        newest.setdefault(photo.stock, example)
        if (photo.stock, photo.shows) in wanted:
            found.setdefault((photo.stock, photo.shows), example)
    for stock, shows in wanted - found.keys():
        if stock in newest:
            found[stock, shows] = newest[stock]
    return found


def _day(photo: WaitingPhoto) -> date:
    return date.max if photo.taken_at is None else photo.taken_at.date()


def _outings(photos: Sequence[WaitingPhoto]) -> list[list[WaitingPhoto]]:
    found: list[list[WaitingPhoto]] = []
    for one in photos:
        last = found[-1][-1].taken_at if found else None
        if last is None or one.taken_at is None or one.taken_at - last > _OUTING:
            found.append([])
        found[-1].append(one)
    return found
