"""What happened to each plant and batch, gathered for telling their seasons."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from photolog.book.plant_seasons import ENDS, TURNS, Happening, ended, in_order
from photolog.book.stock import StockRef, ref_of
from photolog.book.stockbook import StockBook
from photolog.records import BatchChangeRow, BatchRow, EventRow, EventSubjectRow, PlantRow
from photolog.terms import CameFrom, EventKind

__all__ = ["happenings", "happenings_in", "lifetimes_in"]


def happenings(
    book: StockBook, stock: Collection[StockRef] | None = None
) -> dict[StockRef, tuple[Happening, ...]]:
    """What happened to each plant and batch (all of them, or those asked for), in order.

    Beside its own entries that is: what was entered for the whole garden while it was there; for
    what was split off a batch, what had happened to the batch until then; and for what stayed in
    the ground, its first day as such. Struck-out entries are left out. A fixed number of queries.
    """
    with book.reading() as session:
        return happenings_in(session, stock)


def happenings_in(
    session: Session,
    stock: Collection[StockRef] | None = None,
    *,
    kinds: Collection[EventKind] | None = None,
) -> dict[StockRef, tuple[Happening, ...]]:
    """Do what ``happenings`` does, within a transaction; ``kinds`` leaves out all others."""
    since, stayed = _beginnings(session)
    parts = _split_off(session)
    wanted = None if stock is None else _with_batches(stock, parts)
    own, garden_wide = _entries(session, wanted, kinds)

    gathered: dict[StockRef, tuple[Happening, ...]] = {}

    def gather(ref: StockRef) -> tuple[Happening, ...]:
        if ref not in gathered:
            theirs = list(own.get(ref, []))
            # Planting out the whole garden does not bring back what was lost before.
            end = ended(theirs)
            theirs += [
                one
                for one in garden_wide
                if one.on >= since[ref] and (end is None or one.on <= end.on)
            ]
            if ref in parts:
                batch = parts[ref]
                before = [one for one in gather(batch) if one.on < since[ref]]
                same_day = [one for one in own.get(batch, []) if one.on == since[ref]]
                # What ended the rest of the batch did not end what was split off.
                theirs += [
                    one for one in before + same_day if not one.part and one.kind not in ENDS
                ]
            if ref in stayed:
                theirs.append(Happening(kind=EventKind.STAYED, on=since[ref]))
            gathered[ref] = tuple(in_order(theirs))
        return gathered[ref]

    return {ref: gather(ref) for ref in (since if stock is None else stock) if ref in since}


def lifetimes_in(
    session: Session, stock: Collection[StockRef]
) -> dict[StockRef, tuple[date, date | None]]:
    """Since when each plant or batch is there, and the day on which it ended; None: it is still."""
    since, _ = _beginnings(session)
    ends = {ref: ended(one) for ref, one in happenings_in(session, stock, kinds=TURNS).items()}
    return {ref: (since[ref], None if end is None else end.on) for ref, end in ends.items()}


def _beginnings(session: Session) -> tuple[dict[StockRef, date], set[StockRef]]:
    since: dict[StockRef, date] = {}
    stayed: set[StockRef] = set()
    for kind, rows in (
        ("plant", session.execute(select(PlantRow.id, PlantRow.since, PlantRow.came_from))),
        ("batch", session.execute(select(BatchRow.id, BatchRow.since, BatchRow.came_from))),
    ):
        for id_, day, came_from in rows:
            ref = ref_of(id_, None) if kind == "plant" else ref_of(None, id_)
            since[ref] = day
            if came_from is CameFrom.STAYED:
                stayed.add(ref)
    return since, stayed


def _with_batches(stock: Collection[StockRef], parts: Mapping[StockRef, StockRef]) -> set[StockRef]:
    """These, and every batch that one of them was split off."""
    wanted: set[StockRef] = set()
    for ref in stock:
        following: StockRef | None = ref
        while following is not None and following not in wanted:
            wanted.add(following)
            following = parts.get(following)
    return wanted


def _entries(
    session: Session,
    stock: Collection[StockRef] | None,
    kinds: Collection[EventKind] | None,
) -> tuple[dict[StockRef, list[Happening]], list[Happening]]:
    """What was entered of each (of all, or of these), and what of the whole garden."""
    theirs = (
        or_(EventSubjectRow.plant_id.is_not(None), EventSubjectRow.batch_id.is_not(None))
        if stock is None
        else or_(
            EventSubjectRow.plant_id.in_([one.id for one in stock if one.kind == "plant"]),
            EventSubjectRow.batch_id.in_([one.id for one in stock if one.kind == "batch"]),
        )
    )
    own: dict[StockRef, list[Happening]] = {}
    garden_wide: list[Happening] = []
    query = (
        select(
            EventRow.id,
            EventRow.kind,
            EventRow.on_date,
            EventRow.at_time,
            EventRow.count,
            EventRow.garden_wide,
            EventSubjectRow.plant_id,
            EventSubjectRow.batch_id,
        )
        .outerjoin(EventSubjectRow, EventSubjectRow.event_id == EventRow.id)
        .where(
            EventRow.struck_out_at.is_(None),
            or_(EventRow.garden_wide, theirs),
        )
        .order_by(EventRow.id, EventSubjectRow.id)
    )
    if kinds is not None:
        query = query.where(EventRow.kind.in_(kinds))
    # One entry about many plants is made once and shared by them.
    last: tuple[int, Happening] | None = None
    for id_, kind, on, at, count, wide, plant_id, batch_id in session.execute(query):
        if last is None or last[0] != id_:
            last = id_, Happening(kind=kind, on=on, at=at, part=count is not None)
        if wide:
            garden_wide.append(last[1])
        else:
            own.setdefault(ref_of(plant_id, batch_id), []).append(last[1])
    return own, garden_wide


def _split_off(session: Session) -> dict[StockRef, StockRef]:
    """The batch that each plant or smaller batch was split off, where it was."""
    rows = session.execute(
        select(
            BatchChangeRow.batch_id, BatchChangeRow.plant_id, BatchChangeRow.into_batch_id
        ).where(BatchChangeRow.event_id.is_(None))
    )
    return {ref_of(plant_id, into): StockRef("batch", batch) for batch, plant_id, into in rows}
