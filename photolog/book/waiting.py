"""The photos that wait for the grower with their candidates, and those that found their plant."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from sqlalchemy import select

from photolog.book.garden_facts import garden_facts, holder_of, photo_facts, tag_held
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.photos.facts import PhotoFacts, Shows
from photolog.photos.garden import Garden
from photolog.records import PhotoRow, PhotoSubjectRow
from photolog.records.photos import candidates_where
from photolog.terms import MatchState

__all__ = [
    "SURE",
    "MatchedPhoto",
    "WaitingCandidate",
    "WaitingPhoto",
    "matched",
    "waiting",
]

SURE = 0.95
"""From this probability on a waiting photo's first candidate is called sure."""

_NO_DATE = datetime(9999, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingCandidate:
    """A plant or batch that a waiting photo may belong to, with the tag that it held that day."""

    stock: StockRef
    tag: int | None
    name: str
    reason: str
    because: str
    probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WaitingPhoto:
    """A photo that waits for the grower; the most probable candidate first.

    ``taken_at`` is the date as put right; None: the file has none.
    """

    photo_id: int
    name: str
    taken_at: datetime | None
    shows: Shows | None
    because: str
    candidates: tuple[WaitingCandidate, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchedPhoto:
    """A photo with one plant or batch that it belongs to, and what says so."""

    photo_id: int
    name: str
    taken_at: datetime | None
    shows: Shows | None
    stock: StockRef
    tag: int | None
    stock_name: str
    reason: str
    because: str
    probability: float
    by_hand: bool


class _Offered(NamedTuple):
    """A candidate's row."""

    plant_id: int | None
    batch_id: int | None
    reason: str
    because: str
    probability: float


def waiting(book: StockBook, *, only: Iterable[int] | None = None) -> tuple[WaitingPhoto, ...]:
    """The photos that wait, or ``only`` those of them, oldest first, as they were last matched."""
    where = [PhotoRow.match_state == MatchState.WAITING]
    if only is not None:
        where.append(PhotoRow.id.in_(list(only)))
    with book.reading() as session:
        because = {
            row.id: row.waiting_because
            for row in session.execute(select(PhotoRow.id, PhotoRow.waiting_because).where(*where))
        }
        candidates: dict[int, list[_Offered]] = {}
        for row in session.execute(candidates_where(*where)):
            candidates.setdefault(row.photo_id, []).append(_Offered(*row[1:]))
        garden = garden_facts(session)
        found = [
            _view(photo, because, candidates.get(photo.photo_id, ()), garden)
            for photo in photo_facts(session, *where)
        ]
    return tuple(sorted(found, key=lambda one: (one.taken_at or _NO_DATE, one.photo_id)))


def matched(book: StockBook, *, only: Collection[int] | None = None) -> tuple[MatchedPhoto, ...]:
    """The photos that belong to something, or ``only`` those of them, oldest first.

    One that belongs to several things comes once for each.
    """
    with book.reading() as session:
        query = select(PhotoSubjectRow).order_by(PhotoSubjectRow.id)
        where = [PhotoRow.match_state == MatchState.MATCHED]
        if only is not None:
            query = query.where(PhotoSubjectRow.photo_id.in_(only))
            where.append(PhotoRow.id.in_(only))
        rows = session.scalars(query).all()
        photos = {photo.photo_id: photo for photo in photo_facts(session, *where)}
        garden = garden_facts(session)
        found = []
        for row in rows:
            photo = photos[row.photo_id]
            holder = holder_of(row.plant_id, row.batch_id)
            found.append(
                MatchedPhoto(
                    photo_id=row.photo_id,
                    name=photo.name,
                    taken_at=photo.taken_at,
                    shows=photo.shows,
                    stock=StockRef(holder.kind, holder.id),
                    tag=tag_held(holder, photo.taken_at, garden),
                    stock_name=garden.named(holder),
                    reason=row.reason,
                    because=row.because,
                    probability=row.probability,
                    by_hand=row.by_hand,
                )
            )
    return tuple(sorted(found, key=lambda one: (one.taken_at or _NO_DATE, one.photo_id)))


def _view(
    photo: PhotoFacts,
    because: Mapping[int, str | None],
    candidates: Sequence[_Offered],
    garden: Garden,
) -> WaitingPhoto:
    views = []
    for row in candidates:
        holder = holder_of(row.plant_id, row.batch_id)
        views.append(
            WaitingCandidate(
                stock=StockRef(holder.kind, holder.id),
                tag=tag_held(holder, photo.taken_at, garden),
                name=garden.named(holder),
                reason=row.reason,
                because=row.because,
                probability=row.probability,
            )
        )
    return WaitingPhoto(
        photo_id=photo.photo_id,
        name=photo.name,
        taken_at=photo.taken_at,
        shows=photo.shows,
        because=because[photo.photo_id] or "It was not matched yet.",
        candidates=tuple(views),
    )
