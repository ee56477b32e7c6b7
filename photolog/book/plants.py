"""Plants: adding one, where it came from, and what became of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from photolog.book.ahead import refuse_ahead
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.happenings import happenings_in
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.plant_seasons import TURNS, Season, ended, seasons_of
from photolog.book.stock import StockRef, ref_or_none
from photolog.book.stockbook import StockBook
from photolog.book.tags import Holding, held_by_stock, holdings_in, parse, put_on, resolve_in
from photolog.book.varieties import find_row
from photolog.records import BatchRow, EventRow, EventSubjectRow, PlantRow
from photolog.terms import CameFrom, EventKind

__all__ = ["PlantView", "add", "came_from_named", "divide", "every", "get", "of_tag"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlantView:
    """A plant as it leaves the book; ``tags`` and ``seasons`` oldest first.

    ``ended_on`` and ``ended_by`` say when and how it ended; None: it is still there.
    """

    ref: StockRef
    variety_id: int
    variety: str
    form: str | None
    since: date
    came_from: CameFrom
    parent: StockRef | None
    note: str
    tags: tuple[Holding, ...]
    seasons: tuple[Season, ...]
    ended_on: date | None
    ended_by: EventKind | None


def add(
    book: StockBook,
    *,
    variety: str,
    since: date,
    came_from: CameFrom | str = CameFrom.BOUGHT,
    tag: str | int | None = None,
    parent: StockRef | None = None,
    parent_tag: str | int | None = None,
    note: str = "",
) -> PlantView:
    """Add a plant of a variety, there since a day, with its tag if it has one.

    ``parent`` (or the tag that it held on that day) is what it is a division, cutting or seedling
    of. A tag that another holds is never taken silently: ``WrongTag`` says to hand it on.
    """
    with book.writing() as session:
        parent = parent_meant(session, parent, parent_tag, since=since)
        row = add_row(
            session,
            variety_id=find_row(session, variety).id,
            since=since,
            came_from=came_from_named(came_from),
            parent=parent,
            tag=tag,
            note=note,
        )
        return views(session, [row.id])[0]


def divide(
    book: StockBook,
    tag: str | int,
    *,
    on: date,
    tags: Sequence[str | int],
    note: str = "",
    now: datetime | None = None,
) -> tuple[PlantView, ...]:
    """Divide the clump that a tag is on: it ends, and a new plant begins under each of the tags.

    The clump's own tag may be among them: dividing hands it on to that piece. ``WrongEntry`` on a
    day later than tomorrow, by ``now`` or the clock.
    """
    refuse_ahead(on, now=now)
    with book.writing() as session:
        clump = resolve_in(session, tag, on=on)
        if clump.stock.kind != "plant":
            msg = f"Tag {clump.printed} is on a batch; a batch is split, not divided."
            raise WrongEntry(msg)
        if not tags:
            msg = f"Give the tags of the pieces that {clump.variety} was divided into."
            raise WrongEntry(msg)
        parent = session.get_one(PlantRow, clump.stock.id)
        own = {one.number for one in holdings_in(session) if one.stock == clump.stock}
        pieces = []
        for number in map(parse, tags):
            row = add_row(
                session,
                variety_id=parent.variety_id,
                since=on,
                came_from=CameFrom.DIVISION,
                parent=clump.stock,
                tag=None,
            )
            put_on(session, number, to=StockRef("plant", row.id), on=on, taking_off=number in own)
            pieces.append(row.id)
        session.add(
            EventRow(
                kind=EventKind.DIVIDED,
                on_date=on,
                note=note,
                entered_at=datetime.now(UTC),
                subjects=[EventSubjectRow(plant_id=parent.id)],
            )
        )
        session.flush()
        return views(session, pieces)


def get(book: StockBook, stock: StockRef) -> PlantView:
    """One plant; ``Unknown`` where there is none."""
    with book.reading() as session:
        found = views(session, [stock.id]) if stock.kind == "plant" else ()
        if not found:
            msg = f"There is no plant {stock.id} in the stock book."
            raise Unknown(msg)
        return found[0]


def of_tag(book: StockBook, tag: str | int, *, on: date) -> PlantView:
    """The plant that held a tag on a day; ``Unknown`` where nothing or a batch did."""
    with book.reading() as session:
        held = resolve_in(session, tag, on=on)
        if held.stock.kind != "plant":
            msg = f"Tag {held.printed} was on a batch of {held.variety} on {on}, not on a plant."
            raise Unknown(msg)
        return views(session, [held.stock.id])[0]


def every(book: StockBook) -> tuple[PlantView, ...]:
    """All plants, by variety and the day since which they are there."""
    with book.reading() as session:
        return views(session, None)


def came_from_named(word: CameFrom | str) -> CameFrom:
    """Where stock can come from, by its word; ``Unknown`` offers what was probably meant."""
    wanted = fold(word)
    for one in CameFrom:
        if wanted in (fold(one.value), fold(one.value).removesuffix(" of")):
            return one
    words = [one.value for one in CameFrom]
    msg = (
        f"Stock can't have come from {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"It is one of: {', '.join(words)}."
    )
    raise Unknown(msg)


def parent_meant(
    session: Session, parent: StockRef | None, parent_tag: str | int | None, *, since: date
) -> StockRef | None:
    """The parent told, by itself or by the tag that it wore that day; ``WrongEntry`` for both."""
    if parent_tag is None:
        return parent
    if parent is not None:
        msg = "Say the parent once, by its tag or by itself."
        raise WrongEntry(msg)
    return resolve_in(session, parent_tag, on=since).stock


def add_row(
    session: Session,
    *,
    variety_id: int,
    since: date,
    came_from: CameFrom,
    parent: StockRef | None,
    tag: str | int | None,
    note: str = "",
) -> PlantRow:
    """Add a plant within a transaction; its number is known afterwards."""
    refuse_strange_parent(session, parent, since=since)
    row = PlantRow(
        variety_id=variety_id,
        since=since,
        came_from=came_from,
        parent_plant_id=parent.id if parent is not None and parent.kind == "plant" else None,
        parent_batch_id=parent.id if parent is not None and parent.kind == "batch" else None,
        note=note,
    )
    session.add(row)
    session.flush()
    if tag is not None:
        put_on(session, parse(tag), to=StockRef("plant", row.id), on=since)
    return row


def refuse_strange_parent(session: Session, parent: StockRef | None, *, since: date) -> None:
    """Raise where the parent is not in the book, or is younger than what came from it."""
    if parent is None:
        return
    row: PlantRow | BatchRow | None = (
        session.get(PlantRow, parent.id)
        if parent.kind == "plant"
        else session.get(BatchRow, parent.id)
    )
    if row is None:
        msg = f"There is no {parent.kind} {parent.id} in the stock book."
        raise Unknown(msg)
    if row.since > since:
        msg = (
            f"What came from {row.variety.name} on {since} can't be older than it: "
            f"it is there since {row.since}."
        )
        raise WrongEntry(msg)


def views(session: Session, ids: list[int] | None) -> tuple[PlantView, ...]:
    """The frozen views of some plants, or of all (None), at a fixed number of queries."""
    query = select(PlantRow).options(joinedload(PlantRow.variety))
    if ids is not None:
        query = query.where(PlantRow.id.in_(ids))
    rows = sorted(session.scalars(query), key=lambda row: (row.variety.name_key, row.since, row.id))
    wanted = None if ids is None else [StockRef("plant", one) for one in ids]
    happened = happenings_in(session, wanted, kinds=TURNS)
    held = held_by_stock(session)

    def view(row: PlantRow) -> PlantView:
        ref = StockRef("plant", row.id)
        end = ended(happened[ref])
        return PlantView(
            ref=ref,
            variety_id=row.variety_id,
            variety=row.variety.name,
            form=row.variety.form,
            since=row.since,
            came_from=row.came_from,
            parent=ref_or_none(row.parent_plant_id, row.parent_batch_id),
            note=row.note,
            tags=held.get(ref, ()),
            seasons=seasons_of(happened[ref]),
            ended_on=None if end is None else end.on,
            ended_by=None if end is None else end.kind,
        )

    return tuple(view(row) for row in rows)
