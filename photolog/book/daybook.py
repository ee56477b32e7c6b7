"""The day book: entering what happened, reading it back, striking out what was wrong."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from photolog.book.ahead import refuse_ahead
from photolog.book.entry_rules import refuse_senseless
from photolog.book.errors import AlreadyThere, Unknown, WrongEntry
from photolog.book.happenings import lifetimes_in
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.plant_seasons import ENDS
from photolog.book.stock import StockRef, columns_of, must_be_there, ref_of
from photolog.book.stockbook import StockBook
from photolog.book.tags import parse, resolve_in
from photolog.book.undividing import undivide
from photolog.book.varieties import find_row
from photolog.book.whats_left import take_from
from photolog.records import EventRow, EventSubjectRow, TagHoldingRow, TagRow, VarietyRow
from photolog.terms import EventKind, LossCause

__all__ = ["Entry", "enter", "entries", "kind_named", "strike_out"]

# Up to so many entries are asked for by number (SQLite takes some 32,000 in one query).
_FEW = 1_000

_NOT_STRUCK_OUT = {
    EventKind.SPLIT_OFF: "what was split off is in the stock book; discard it instead",
    EventKind.RENAMED: "rename the variety again instead",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One day book entry.

    ``stock`` are the plants and batches that it is about, ``tags`` the numbers of the tags that
    they held that day, ``varieties`` the names of varieties that it is about as such. ``count`` is
    how many of a batch, None: all of it.
    """

    id: int
    kind: EventKind
    on: date
    at: time | None
    stock: tuple[StockRef, ...]
    tags: tuple[int, ...]
    varieties: tuple[str, ...]
    garden_wide: bool
    place: str | None
    count: int | None
    cause: LossCause | None
    weight_g: float | None
    other_variety: str | None
    note: str
    entered_at: datetime
    struck_out_at: datetime | None


def kind_named(word: str) -> EventKind:
    """The kind that a word names; ``Unknown`` offers what was probably meant, and all of them."""
    wanted = fold(word.replace("_", " "))
    for kind in EventKind:
        if fold(kind.value) == wanted:
            return kind
    words = [kind.value for kind in EventKind]
    msg = (
        f"The day book has no entry {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"It knows: {', '.join(words)}."
    )
    raise Unknown(msg)


def enter(
    book: StockBook,
    kind: EventKind | str,
    *,
    on: date,
    tags: Sequence[str | int] = (),
    stock: Sequence[StockRef] = (),
    variety: str | None = None,
    garden_wide: bool = False,
    place: str | None = None,
    at: time | None = None,
    count: int | None = None,
    cause: LossCause | str | None = None,
    weight_g: float | None = None,
    other_variety: str | None = None,
    note: str = "",
    now: datetime | None = None,
) -> Entry:
    """Enter what happened on a day: to plants and batches, to a variety, a place or everything.

    Parameters
    ----------
    kind : EventKind or its word
    tags, stock : sequence
        What it happened to; a tag stands for what held it on that day. One entry may be about many.
    variety : str, optional
        The variety as such (shown, renamed …).
    garden_wide : bool
        It happened to everything, like a first frost.
    place : str, optional
        The bed or the box, by its name.
    count : int, optional
        How many of one batch; without it all of it. Lost, rogued, discarded and given away make
        the batch so many fewer.
    cause : LossCause or its word, optional
        Why it was lost or rogued.
    other_variety : str, optional
        For "found to be the same as".
    now : aware datetime, optional
        What counts as now, by the clock unless given: later than tomorrow nothing is entered.

    Raises
    ------
    Unknown, WrongEntry, NotEnough
        Nothing is entered then.
    """
    known = kind_named(kind)
    refuse_ahead(on, now=now)
    why = None if cause is None else _cause_named(cause)
    with book.writing() as session:
        must_be_there(session, stock)
        about = list(dict.fromkeys([*stock, *(resolve_in(session, t, on=on).stock for t in tags)]))
        refuse_senseless(
            known,
            about=about,
            garden_wide=garden_wide,
            has_other=place is not None or variety is not None,
            count=count,
            cause=why,
            weight_g=weight_g,
        )
        row = EventRow(
            kind=known,
            on_date=on,
            at_time=at,
            garden_wide=garden_wide,
            place=place,
            count=count,
            cause=why,
            weight_g=weight_g,
            note=note,
            entered_at=datetime.now(UTC),
            subjects=[EventSubjectRow(**columns_of(one)) for one in about],
        )
        if variety is not None:
            row.subjects.append(EventSubjectRow(variety_id=find_row(session, variety).id))
        if other_variety is not None:
            row.other_variety_id = find_row(session, other_variety).id
        session.add(row)
        session.flush()
        if known in ENDS:
            for one in about:
                if one.kind == "batch":
                    take_from(session, one.id, on=on, fewer=count, event=row)
        return _views(session, [row])[0]


def entries(
    book: StockBook,
    *,
    tag: str | int | None = None,
    stock: Collection[StockRef] | None = None,
    first: date | None = None,
    last: date | None = None,
    kinds: Collection[EventKind] | None = None,
    garden_wide: bool = True,
    struck_out: bool = False,
) -> tuple[Entry, ...]:
    """Entries by day and time.

    ``tag`` (what holds it today or held it last) or ``stock`` leaves only theirs, with those of
    the whole garden while they were there, unless these are left out. ``struck_out`` shows the
    struck-out ones too.
    """
    with book.reading() as session:
        query = select(EventRow)
        wanted = None if stock is None else list(stock)
        if tag is not None:
            wanted = [*(wanted or []), _last_holder(session, tag)]
        if wanted is not None:
            theirs = EventRow.subjects.any(
                or_(
                    EventSubjectRow.plant_id.in_([s.id for s in wanted if s.kind == "plant"]),
                    EventSubjectRow.batch_id.in_([s.id for s in wanted if s.kind == "batch"]),
                )
            )
            query = query.where(or_(theirs, EventRow.garden_wide) if garden_wide else theirs)
        elif not garden_wide:
            query = query.where(EventRow.garden_wide.is_(False))
        if first is not None:
            query = query.where(EventRow.on_date >= first)
        if last is not None:
            query = query.where(EventRow.on_date <= last)
        if kinds is not None:
            query = query.where(EventRow.kind.in_(kinds))
        if not struck_out:
            query = query.where(EventRow.struck_out_at.is_(None))
        rows = list(session.scalars(query))
        if wanted is not None and garden_wide:
            lives = lifetimes_in(session, wanted).values()
            rows = [row for row in rows if not row.garden_wide or _within(row.on_date, lives)]
        ordered = sorted(rows, key=lambda row: (row.on_date, row.at_time or time.max, row.id))
        return _views(session, ordered)


def _within(day: date, lives: Collection[tuple[date, date | None]]) -> bool:
    return any(since <= day and (end is None or day <= end) for since, end in lives)


def strike_out(book: StockBook, entry_id: int) -> Entry:
    """Strike out a wrong entry: it stays readable but no longer counts, nor does its loss.

    With "divided" the pieces leave the stock book and the clump has its tag again; where more is
    known of a piece than that, ``WrongEntry``. Raises ``Unknown`` and ``AlreadyThere`` (struck out
    before) as well; nothing is changed then.
    """
    with book.writing() as session:
        row = session.get(EventRow, entry_id)
        if row is None:
            msg = f"There is no entry {entry_id} in the day book."
            raise Unknown(msg)
        if row.struck_out_at is not None:
            msg = f"Entry {entry_id} ({row.kind}, {row.on_date}) is struck out already."
            raise AlreadyThere(msg)
        if row.kind in _NOT_STRUCK_OUT:
            msg = f"'{row.kind}' can't be struck out: {_NOT_STRUCK_OUT[row.kind]}."
            raise WrongEntry(msg)
        if row.kind is EventKind.DIVIDED:
            undivide(session, row)
        row.struck_out_at = datetime.now(UTC)
        session.flush()
        return _views(session, [row])[0]


def _cause_named(word: LossCause | str) -> LossCause:
    wanted = fold(word)
    for cause in LossCause:
        if fold(cause.value) == wanted:
            return cause
    words = [cause.value for cause in LossCause]
    msg = (
        f"{word!r} is no cause that the day book knows."
        f"{did_you_mean(nearest_names(word, words))} It knows: {', '.join(words)}."
    )
    raise Unknown(msg)


def _last_holder(session: Session, tag: str | int) -> StockRef:
    """What holds the tag, or held it last."""
    row = session.scalars(
        select(TagHoldingRow)
        .join(TagHoldingRow.tag)
        .where(TagRow.number == parse(tag))
        .order_by(TagHoldingRow.from_date.desc(), TagHoldingRow.id.desc())
    ).first()
    if row is None:
        return resolve_in(session, tag, on=date.max).stock
    return ref_of(row.plant_id, row.batch_id)


def _views(session: Session, rows: Sequence[EventRow]) -> tuple[Entry, ...]:
    """The frozen views of entries, at three queries however many they are."""
    # Columns and not rows: an entry may be about hundreds of plants.
    query = select(
        EventSubjectRow.event_id,
        EventSubjectRow.plant_id,
        EventSubjectRow.batch_id,
        EventSubjectRow.variety_id,
    ).order_by(EventSubjectRow.id)
    if len(rows) <= _FEW:
        query = query.where(EventSubjectRow.event_id.in_([row.id for row in rows]))
    about: dict[int, list[StockRef]] = {}
    of_varieties: dict[int, list[int]] = {}
    for event_id, plant_id, batch_id, variety_id in session.execute(query):
        if variety_id is None:
            about.setdefault(event_id, []).append(ref_of(plant_id, batch_id))
        else:
            of_varieties.setdefault(event_id, []).append(variety_id)
    names = {row.id: row.name for row in session.execute(select(VarietyRow.id, VarietyRow.name))}
    held: dict[StockRef, list[tuple[int, date, date | None]]] = {}
    for number, plant_id, batch_id, since, until in session.execute(
        select(
            TagRow.number,
            TagHoldingRow.plant_id,
            TagHoldingRow.batch_id,
            TagHoldingRow.from_date,
            TagHoldingRow.until_date,
        ).join(TagHoldingRow.tag)
    ):
        held.setdefault(ref_of(plant_id, batch_id), []).append((number, since, until))

    def view(row: EventRow) -> Entry:
        stock = tuple(about.get(row.id, ()))
        return Entry(
            id=row.id,
            kind=row.kind,
            on=row.on_date,
            at=row.at_time,
            stock=stock,
            tags=tuple(
                number
                for one in stock
                for number, since, until in held.get(one, [])
                if since <= row.on_date and (until is None or row.on_date < until)
            ),
            varieties=tuple(names[one] for one in of_varieties.get(row.id, ())),
            garden_wide=row.garden_wide,
            place=row.place,
            count=row.count,
            cause=row.cause,
            weight_g=row.weight_g,
            other_variety=None if row.other_variety_id is None else names[row.other_variety_id],
            note=row.note,
            entered_at=row.entered_at,
            struck_out_at=row.struck_out_at,
        )

    return tuple(view(row) for row in rows)
