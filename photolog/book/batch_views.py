"""A batch as it leaves the book, with what is left of it and why."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from photolog.book.happenings import happenings_in
from photolog.book.plant_seasons import TURNS, Season, seasons_of
from photolog.book.stock import StockRef, ref_of, ref_or_none
from photolog.book.tags import Holding, held_by_stock
from photolog.book.whats_left import counted_changes
from photolog.records import BatchChangeRow, BatchRow
from photolog.terms import BatchKind, CameFrom

__all__ = ["BatchChange", "BatchView", "batch_views"]


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchChange:
    """So many fewer since a day: split off as ``into``, or by the day book entry ``entry_id``."""

    on: date
    fewer: int
    into: StockRef | None
    entry_id: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchView:
    """A batch as it leaves the book: ``count`` it began with, ``left`` after all its changes."""

    ref: StockRef
    variety_id: int
    variety: str
    form: str | None
    kind: BatchKind
    count: int
    left: int
    since: date
    came_from: CameFrom
    parent: StockRef | None
    note: str
    tags: tuple[Holding, ...]
    seasons: tuple[Season, ...]
    changes: tuple[BatchChange, ...]

    def left_on(self, day: date) -> int:
        """How many were left at the end of a day; 0 before the batch began."""
        if day < self.since:
            return 0
        return self.count - sum(change.fewer for change in self.changes if change.on <= day)


def batch_views(session: Session, ids: list[int] | None) -> tuple[BatchView, ...]:
    """The frozen views of some batches, or of all (None), at a fixed number of queries."""
    query = select(BatchRow).options(joinedload(BatchRow.variety))
    if ids is not None:
        query = query.where(BatchRow.id.in_(ids))
    rows = sorted(session.scalars(query), key=lambda row: (row.variety.name_key, row.since, row.id))
    wanted = None if ids is None else [StockRef("batch", one) for one in ids]
    happened = happenings_in(session, wanted, kinds=TURNS)
    held = held_by_stock(session)
    changed: dict[int, list[BatchChangeRow]] = {}
    for change in counted_changes(session, ids):
        changed.setdefault(change.batch_id, []).append(change)

    def view(row: BatchRow) -> BatchView:
        ref = StockRef("batch", row.id)
        changes = tuple(_change_view(change) for change in changed.get(row.id, []))
        return BatchView(
            ref=ref,
            variety_id=row.variety_id,
            variety=row.variety.name,
            form=row.variety.form,
            kind=row.kind,
            count=row.count,
            left=row.count - sum(change.fewer for change in changes),
            since=row.since,
            came_from=row.came_from,
            parent=ref_or_none(row.parent_plant_id, row.parent_batch_id),
            note=row.note,
            tags=held.get(ref, ()),
            seasons=seasons_of(happened[ref]),
            changes=changes,
        )

    return tuple(view(row) for row in rows)


def _change_view(change: BatchChangeRow) -> BatchChange:
    split = change.event_id is None
    return BatchChange(
        on=change.on_date,
        fewer=change.fewer,
        into=ref_of(change.plant_id, change.into_batch_id) if split else None,
        entry_id=change.event_id,
    )
