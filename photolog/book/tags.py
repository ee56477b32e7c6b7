"""Tags: whose each one is on a day, and handing one on, which is always an explicit act."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, aliased

from measure.card.marks import TAG_NUMBERS, check_letter
from photolog.book.ahead import refuse_ahead
from photolog.book.errors import AlreadyThere, Unknown, WrongTag
from photolog.book.nearest import did_you_mean, nearest_numbers
from photolog.book.stock import StockRef, columns_of, must_be_there, ref_of
from photolog.book.stockbook import StockBook
from photolog.records import BatchRow, PlantRow, TagHoldingRow, TagRow, VarietyRow

__all__ = [
    "Holding",
    "hand_on",
    "holder",
    "holdings",
    "parse",
    "printed",
    "resolve",
    "take_off",
]

_AS_PRINTED = re.compile(r"0*(\d{1,4})\s*[-–]?\s*([A-Za-z])?")


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """A tag on a plant or batch, from ``since`` up to but not on ``until`` (None: still)."""

    number: int
    stock: StockRef
    variety: str
    since: date
    until: date | None

    @property
    def printed(self) -> str:
        """The tag as printed, '0012-K'."""
        return printed(self.number)

    def holds_on(self, day: date) -> bool:
        """Whether the tag is there on a day."""
        return self.since <= day and (self.until is None or day < self.until)


def printed(number: int) -> str:
    """A tag's number as printed on it, with its check letter: '0012-K'."""
    return f"{number:04d}-{check_letter(number)}"


def parse(text: str | int) -> int:
    """Read a tag as typed: 12, '0012', '0012-K', '12k'.

    Raises ``WrongTag`` where it is no tag number, or the check letter does not belong to it.
    """
    match = _AS_PRINTED.fullmatch(str(text).strip())
    if match is None or int(match[1]) not in TAG_NUMBERS:
        msg = f"{text!r} is no tag. Tags are numbered 1 to 9999, printed like {printed(12)}."
        raise WrongTag(msg)
    number, letter = int(match[1]), match[2]
    if letter is not None and letter.upper() != check_letter(number):
        msg = (
            f"Tag {number:04d}-{letter.upper()} can't be right: {number:04d} has the check letter "
            f"{check_letter(number)}. Look at the tag again; a figure or the letter was misread."
        )
        raise WrongTag(msg)
    return number


def holder(book: StockBook, tag: str | int, *, on: date) -> Holding | None:
    """Whose a tag is on a day, or None; a tag that was never on anything gives None as well."""
    number = parse(tag)
    with book.reading() as session:
        found = [one for one in holdings_in(session, number) if one.holds_on(on)]
        return found[0] if found else None


def resolve(book: StockBook, tag: str | int, *, on: date) -> Holding:
    """Whose a tag is on a day; ``Unknown`` or ``WrongTag`` with what was probably meant."""
    with book.reading() as session:
        return resolve_in(session, tag, on=on)


def holdings(book: StockBook, tag: str | int | None = None) -> tuple[Holding, ...]:
    """Every holding of one tag, or of all, by number and day."""
    number = None if tag is None else parse(tag)
    with book.reading() as session:
        return tuple(holdings_in(session, number))


def hand_on(
    book: StockBook, tag: str | int, *, to: StockRef, on: date, until: date | None = None
) -> Holding:
    """Put a tag on a plant or a batch from a day on, taking it off whatever held it.

    ``until`` fills in the past: the tag was there up to but not on that day. Put on a second thing
    on the very day it was put on the first, it counts as put right: the first never held it.
    Raises ``AlreadyThere`` where it is there, ``WrongTag`` where the days overlap another holding,
    ``WrongEntry`` for a day that is still to come.
    """
    refuse_ahead(on, now=None)
    with book.writing() as session:
        number = parse(tag)
        must_be_there(session, [to])
        put_on(session, number, to=to, on=on, until=until, taking_off=True)
        return resolve_in(session, number, on=on)


def take_off(book: StockBook, tag: str | int, *, on: date, now: datetime | None = None) -> None:
    """Take a tag off what holds it: from that day on it is free; no day that is still to come.

    ``now`` is the moment that this is told by, without it the clock's.
    """
    refuse_ahead(on, now=now)
    with book.writing() as session:
        held = resolve_in(session, tag, on=on)
        row = session.scalars(
            select(TagHoldingRow)
            .join(TagHoldingRow.tag)
            .where(TagRow.number == held.number, TagHoldingRow.from_date == held.since)
            .order_by(TagHoldingRow.id.desc())
        ).first()
        if row is None or row.until_date is not None:
            msg = f"Tag {held.printed} was taken off {held.variety} on {held.until} already."
            raise AlreadyThere(msg)
        row.until_date = on


def resolve_in(session: Session, tag: str | int, *, on: date) -> Holding:
    """Do what ``resolve`` does, within a transaction."""
    try:
        number = parse(tag)
    except WrongTag as wrong:
        msg = f"{wrong}{_with_that_letter(session, str(tag))}"
        raise WrongTag(msg) from wrong
    own = holdings_in(session, number)
    for one in own:
        if one.holds_on(on):
            return one
    if own:
        days = "; ".join(_said(one) for one in own)
        msg = f"Tag {printed(number)} was on nothing on {on}. It {days}."
        raise Unknown(msg)
    by_number: dict[int, str] = {one.number: one.variety for one in holdings_in(session)}
    near = nearest_numbers(number, by_number)
    msg = (
        f"Tag {printed(number)} is not in the stock book."
        f"{did_you_mean(f'{printed(n)} ({by_number[n]})' for n in near)}"
    )
    raise Unknown(msg)


def put_on(
    session: Session,
    number: int,
    *,
    to: StockRef,
    on: date,
    until: date | None = None,
    taking_off: bool = False,
) -> None:
    """Put a tag on, within a transaction; ``taking_off`` says that handing it on is meant."""
    if until is not None and until <= on:
        msg = f"Tag {printed(number)} can't be put on on {on} and taken off on {until}."
        raise WrongTag(msg)
    tag = session.scalar(select(TagRow).where(TagRow.number == number))
    if tag is None:
        tag = TagRow(number=number)
        session.add(tag)
    for row in list(tag.holdings):
        begins_before_end = until is None or row.from_date < until
        ends_after_begin = row.until_date is None or row.until_date > on
        if not (begins_before_end and ends_after_begin):
            continue
        held = next(one for one in holdings_in(session, number) if one.since == row.from_date)
        if held.stock == to and row.from_date <= on:
            msg = (
                f"Tag {printed(number)} has been on this {held.variety} since {held.since} already."
            )
            raise AlreadyThere(msg)
        if not taking_off or row.until_date is not None or row.from_date > on:
            msg = (
                f"Tag {printed(number)} {_said(held)}. Use another tag or another day, or take "
                "it off there first."
            )
            raise WrongTag(msg)
        if row.from_date == on:
            tag.holdings.remove(row)
        else:
            row.until_date = on
        session.flush()
    tag.holdings.append(TagHoldingRow(**columns_of(to), from_date=on, until_date=until))
    session.flush()


def held_by_stock(session: Session) -> dict[StockRef, tuple[Holding, ...]]:
    """The tags that each plant and batch ever wore, oldest first: one query."""
    held: dict[StockRef, list[Holding]] = {}
    for one in holdings_in(session):
        held.setdefault(one.stock, []).append(one)
    return {
        stock: tuple(sorted(worn, key=lambda one: (one.since, one.number)))
        for stock, worn in held.items()
    }


def holdings_in(session: Session, number: int | None = None) -> list[Holding]:
    """Every holding of one tag, or of all, within a transaction: one query."""
    of_plant, of_batch = aliased(VarietyRow), aliased(VarietyRow)
    query = (
        select(
            TagRow.number,
            TagHoldingRow.plant_id,
            TagHoldingRow.batch_id,
            of_plant.name,
            of_batch.name,
            TagHoldingRow.from_date,
            TagHoldingRow.until_date,
        )
        .join(TagHoldingRow.tag)
        .outerjoin(PlantRow, PlantRow.id == TagHoldingRow.plant_id)
        .outerjoin(of_plant, of_plant.id == PlantRow.variety_id)
        .outerjoin(BatchRow, BatchRow.id == TagHoldingRow.batch_id)
        .outerjoin(of_batch, of_batch.id == BatchRow.variety_id)
        .order_by(TagRow.number, TagHoldingRow.from_date, TagHoldingRow.id)
    )
    if number is not None:
        query = query.where(TagRow.number == number)
    return [
        Holding(
            number=found,
            stock=ref_of(plant_id, batch_id),
            variety=plant_name or batch_name,
            since=since,
            until=until,
        )
        for found, plant_id, batch_id, plant_name, batch_name, since, until in session.execute(
            query
        )
    ]


def _said(held: Holding) -> str:
    if held.until is None:
        return f"has been on {held.variety} since {held.since}"
    return f"was on {held.variety} from {held.since} until {held.until}"


def _with_that_letter(session: Session, text: str) -> str:
    match = _AS_PRINTED.fullmatch(text.strip())
    if match is None or match[2] is None or int(match[1]) not in TAG_NUMBERS:
        return ""
    letter = match[2].upper()
    numbers = {one.number: one.variety for one in holdings_in(session)}
    fitting = [
        n
        for n in nearest_numbers(int(match[1]), numbers, most=8)
        if check_letter(n) == letter or n == int(match[1])
    ]
    return did_you_mean(f"{printed(n)} ({numbers[n]})" for n in fitting[:3])
