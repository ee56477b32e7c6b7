"""How many are left in a batch, and taking some from it: never more than there are."""

from __future__ import annotations

from datetime import date

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from photolog.book.errors import NotEnough, Unknown, WrongEntry
from photolog.records import BatchChangeRow, BatchRow, EventRow

__all__ = ["counted_changes", "left_in", "take_from"]


def counted_changes(session: Session, batch_ids: list[int] | None = None) -> list[BatchChangeRow]:
    """Every change that counts (not of a struck-out entry), by batch and day, at one query."""
    query = (
        select(BatchChangeRow)
        .outerjoin(EventRow, EventRow.id == BatchChangeRow.event_id)
        .where(or_(BatchChangeRow.event_id.is_(None), EventRow.struck_out_at.is_(None)))
        .order_by(BatchChangeRow.batch_id, BatchChangeRow.on_date, BatchChangeRow.id)
    )
    if batch_ids is not None:
        query = query.where(BatchChangeRow.batch_id.in_(batch_ids))
    return list(session.scalars(query))


def left_in(session: Session, batch: BatchRow) -> int:
    """How many are left in a batch after all that was entered of it, whatever the day."""
    taken = session.scalar(
        select(func.coalesce(func.sum(BatchChangeRow.fewer), 0))
        .outerjoin(EventRow, EventRow.id == BatchChangeRow.event_id)
        .where(
            BatchChangeRow.batch_id == batch.id,
            or_(BatchChangeRow.event_id.is_(None), EventRow.struck_out_at.is_(None)),
        )
    )
    return batch.count - int(taken or 0)


def take_from(
    session: Session,
    batch_id: int,
    *,
    on: date,
    fewer: int | None = None,
    event: EventRow | None = None,
    plant_id: int | None = None,
    into_batch_id: int | None = None,
) -> None:
    """Make a batch so many fewer (None: all that are left), saying by what.

    Raises ``NotEnough`` where it has not so many, ``WrongEntry`` on a day before it began.
    """
    batch = session.get(BatchRow, batch_id)
    if batch is None:
        msg = f"There is no batch {batch_id} in the stock book."
        raise Unknown(msg)
    left = left_in(session, batch)
    wanted = left if fewer is None else fewer
    if on < batch.since:
        msg = (
            f"The batch of {batch.kind} of {batch.variety.name} began on {batch.since}, so nothing "
            f"can be taken from it on {on}."
        )
        raise WrongEntry(msg)
    if wanted > left or left == 0:
        there = {0: "none are left", 1: "only 1 is left"}.get(left, f"only {left} are left")
        msg = (
            f"Of the batch of {batch.count} {batch.kind} of {batch.variety.name} {there}, "
            f"so {fewer or 'more'} can't be taken from it."
        )
        raise NotEnough(msg)
    session.add(
        BatchChangeRow(
            batch_id=batch.id,
            on_date=on,
            fewer=wanted,
            event_id=None if event is None else event.id,
            plant_id=plant_id,
            into_batch_id=into_batch_id,
        )
    )
    session.flush()
