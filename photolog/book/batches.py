"""Batches: a counted group under one tag; splitting some off, losing some."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime

from sqlalchemy.orm import Session

from photolog.book import daybook, plants
from photolog.book.ahead import refuse_ahead
from photolog.book.batch_views import BatchChange, BatchView, batch_views
from photolog.book.errors import NotEnough, Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.plants import PlantView, came_from_named, parent_meant
from photolog.book.stock import StockRef, columns_of
from photolog.book.stockbook import StockBook
from photolog.book.tags import parse, put_on, resolve_in
from photolog.book.varieties import add_row as add_variety
from photolog.book.varieties import find_row
from photolog.book.whats_left import left_in, take_from
from photolog.records import BatchRow, EventRow, EventSubjectRow, PlantRow
from photolog.terms import BatchKind, CameFrom, EventKind, LossCause

__all__ = [
    "BatchChange",
    "BatchView",
    "add",
    "every",
    "get",
    "lose",
    "of_tag",
    "split_batch",
    "split_plants",
]

_USUALLY_FROM = {
    BatchKind.POT_TUBERS: CameFrom.POT_TUBER,
    BatchKind.CUTTINGS: CameFrom.CUTTING,
    BatchKind.SEEDLINGS: CameFrom.SEED,
    BatchKind.SINGLE_TUBERS: CameFrom.DIVISION,
}


def add(
    book: StockBook,
    *,
    variety: str,
    count: int,
    kind: BatchKind | str,
    since: date,
    tag: str | int | None = None,
    came_from: CameFrom | str | None = None,
    parent: StockRef | None = None,
    parent_tag: str | int | None = None,
    note: str = "",
) -> BatchView:
    """Add a batch: a counted group of one variety (or of one cross), under one tag.

    ``came_from`` unless said follows the kind: pot tubers from pot tubers, cuttings from cuttings,
    seedlings from seed, single tubers from a division.
    """
    with book.writing() as session:
        parent = parent_meant(session, parent, parent_tag, since=since)
        known = _kind_named(kind)
        row = _add_row(
            session,
            variety_id=find_row(session, variety).id,
            count=count,
            kind=known,
            since=since,
            came_from=_USUALLY_FROM[known] if came_from is None else came_from_named(came_from),
            parent=parent,
            tag=tag,
            note=note,
        )
        return batch_views(session, [row.id])[0]


def get(book: StockBook, stock: StockRef) -> BatchView:
    """One batch; ``Unknown`` where there is none."""
    with book.reading() as session:
        found = batch_views(session, [stock.id]) if stock.kind == "batch" else ()
        if not found:
            msg = f"There is no batch {stock.id} in the stock book."
            raise Unknown(msg)
        return found[0]


def of_tag(book: StockBook, tag: str | int, *, on: date) -> BatchView:
    """The batch that held a tag on a day; ``Unknown`` where nothing or a single plant did."""
    with book.reading() as session:
        return batch_views(session, [_batch_of(session, tag, on=on).id])[0]


def every(book: StockBook) -> tuple[BatchView, ...]:
    """All batches, by variety and the day since which they are there."""
    with book.reading() as session:
        return batch_views(session, None)


def split_plants(
    book: StockBook,
    tag: str | int,
    *,
    on: date,
    tags: Sequence[str | int] = (),
    count: int | None = None,
    seedling_numbers: Sequence[str] = (),
    note: str = "",
    now: datetime | None = None,
) -> tuple[PlantView, ...]:
    """Split single plants off the batch that holds a tag on that day.

    One plant for each of ``tags``; ``count`` may ask for more, the rest without a tag yet.
    ``seedling_numbers`` gives each seedling its own raiser's number (a variety of its own), one to
    each plant. Raises ``NotEnough`` where the batch has not so many left, ``WrongEntry``
    on a day later than tomorrow (by ``now`` or the clock); nothing is split then.
    """
    refuse_ahead(on, now=now)
    with book.writing() as session:
        batch = _batch_of(session, tag, on=on)
        wanted = count if count is not None else max(len(tags), len(seedling_numbers))
        if wanted < 1 or len(tags) > wanted:
            msg = f"Say how many plants to split off: {len(tags)} tags and a count of {wanted}."
            raise WrongEntry(msg)
        _refuse_strange_numbers(batch, seedling_numbers, wanted=wanted)
        left = left_in(session, batch)
        if wanted > left:
            msg = (
                f"Of the batch of {batch.count} {batch.kind} of {batch.variety.name} only {left} "
                f"{'is' if left == 1 else 'are'} left, so {wanted} can't be split off."
            )
            raise NotEnough(msg)
        made: list[PlantRow] = []
        for index in range(wanted):
            variety_id = batch.variety_id
            if seedling_numbers:
                number = seedling_numbers[index]
                variety_id = add_variety(session, None, seedling_number=number).id
            plant = plants.add_row(
                session,
                variety_id=variety_id,
                since=on,
                came_from=batch.came_from,
                parent=StockRef("batch", batch.id),
                tag=tags[index] if index < len(tags) else None,
            )
            take_from(session, batch.id, on=on, fewer=1, plant_id=plant.id)
            made.append(plant)
        _enter_split(
            session, batch, on=on, note=note, into=[StockRef("plant", one.id) for one in made]
        )
        found = {one.ref.id: one for one in plants.views(session, [one.id for one in made])}
        return tuple(found[one.id] for one in made)


def split_batch(
    book: StockBook,
    tag: str | int,
    *,
    on: date,
    count: int,
    new_tag: str | int | None = None,
    note: str = "",
    now: datetime | None = None,
) -> BatchView:
    """Split a smaller batch, with its own tag now or later, off the batch that holds a tag.

    ``WrongEntry`` on a day later than tomorrow, by ``now`` or the clock.
    """
    refuse_ahead(on, now=now)
    with book.writing() as session:
        batch = _batch_of(session, tag, on=on)
        smaller = _add_row(
            session,
            variety_id=batch.variety_id,
            count=count,
            kind=batch.kind,
            since=on,
            came_from=batch.came_from,
            parent=StockRef("batch", batch.id),
            tag=new_tag,
            note=note,
        )
        take_from(session, batch.id, on=on, fewer=count, into_batch_id=smaller.id)
        _enter_split(session, batch, on=on, note=note, into=[StockRef("batch", smaller.id)])
        return batch_views(session, [smaller.id])[0]


def lose(
    book: StockBook,
    tag: str | int,
    *,
    on: date,
    count: int | None = None,
    cause: LossCause | str = LossCause.OTHER,
    note: str = "",
    now: datetime | None = None,
) -> BatchView:
    """Lose some of the batch that holds a tag (all that are left without a count)."""
    with book.writing() as session:
        batch = _batch_of(session, tag, on=on)
        daybook.enter(
            book,
            EventKind.LOST,
            on=on,
            stock=[StockRef("batch", batch.id)],
            count=count,
            cause=cause,
            note=note,
            now=now,
        )
        return batch_views(session, [batch.id])[0]


def _batch_of(session: Session, tag: str | int, *, on: date) -> BatchRow:
    held = resolve_in(session, tag, on=on)
    if held.stock.kind != "batch":
        msg = f"Tag {held.printed} was on a single plant of {held.variety} on {on}, not on a batch."
        raise Unknown(msg)
    return session.get_one(BatchRow, held.stock.id)


def _kind_named(word: BatchKind | str) -> BatchKind:
    wanted = fold(word)
    for kind in BatchKind:
        if fold(kind.value) == wanted:
            return kind
    words = [kind.value for kind in BatchKind]
    msg = (
        f"A batch can't be of {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"It is one of: {', '.join(words)}."
    )
    raise Unknown(msg)


def _refuse_strange_numbers(batch: BatchRow, numbers: Sequence[str], *, wanted: int) -> None:
    if numbers and batch.kind is not BatchKind.SEEDLINGS:
        msg = f"Only seedlings get a raiser's number each; this is a batch of {batch.kind}."
        raise WrongEntry(msg)
    if numbers and len(numbers) != wanted:
        msg = f"{wanted} plants need as many raiser's numbers, got {len(numbers)}."
        raise WrongEntry(msg)


def _add_row(
    session: Session,
    *,
    variety_id: int,
    count: int,
    kind: BatchKind,
    since: date,
    came_from: CameFrom,
    parent: StockRef | None,
    tag: str | int | None,
    note: str,
) -> BatchRow:
    if count < 1:
        msg = f"A batch has at least 1 in it, got {count}."
        raise WrongEntry(msg)
    plants.refuse_strange_parent(session, parent, since=since)
    row = BatchRow(
        variety_id=variety_id,
        kind=kind,
        count=count,
        since=since,
        came_from=came_from,
        parent_plant_id=parent.id if parent is not None and parent.kind == "plant" else None,
        parent_batch_id=parent.id if parent is not None and parent.kind == "batch" else None,
        note=note,
    )
    session.add(row)
    session.flush()
    if tag is not None:
        put_on(session, parse(tag), to=StockRef("batch", row.id), on=since)
    return row


def _enter_split(
    session: Session, batch: BatchRow, *, on: date, note: str, into: Sequence[StockRef]
) -> None:
    about = [StockRef("batch", batch.id), *into]
    session.add(
        EventRow(
            kind=EventKind.SPLIT_OFF,
            on_date=on,
            note=note,
            entered_at=datetime.now(UTC),
            subjects=[EventSubjectRow(**columns_of(one)) for one in about],
        )
    )
    session.flush()
