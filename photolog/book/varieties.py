"""Varieties: named, or a seedling under its raiser's number until it is named."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import get_args

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, selectinload

from measure.results import Form
from photolog.book.errors import AlreadyThere, Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.stockbook import StockBook
from photolog.records import EventRow, EventSubjectRow, VarietyNameRow, VarietyRow
from photolog.terms import EventKind, VarietyKind

__all__ = ["NameFrom", "VarietyView", "add", "every", "find", "rename", "set_form"]

FORMS: tuple[str, ...] = get_args(Form)


@dataclass(frozen=True, slots=True, kw_only=True)
class NameFrom:
    """A name and the day from which it was used; None: from the beginning."""

    name: str
    since: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class VarietyView:
    """A variety as it leaves the book; ``names`` oldest first, the last is ``name``."""

    id: int
    name: str
    kind: VarietyKind
    raiser_number: str | None
    form: str | None
    note: str
    names: tuple[NameFrom, ...]

    def name_on(self, day: date) -> str:
        """What it was called on a day."""
        called = self.names[0].name
        for one in self.names:
            if one.since is None or one.since <= day:
                called = one.name
        return called


def add(
    book: StockBook,
    name: str | None = None,
    *,
    form: str | None = None,
    seedling_number: str | None = None,
    note: str = "",
) -> VarietyView:
    """Add a named variety, or a seedling under its raiser's number.

    With ``seedling_number`` alone (or the same text as name) it is a seedling, to be renamed when
    it gets its name; with both, a variety raised here that is named already. Raises
    ``AlreadyThere`` where another variety has this name, also with other accents or capitals;
    ``WrongEntry`` for an unknown form.
    """
    with book.writing() as session:
        row = add_row(session, name, form=form, seedling_number=seedling_number, note=note)
        return view_of(row)


def find(book: StockBook, name: str) -> VarietyView:
    """Look up a variety by its name, a former name or its raiser's number.

    Accents and capitals don't matter. Raises ``Unknown``, offering what was probably meant.
    """
    with book.reading() as session:
        return view_of(find_row(session, name))


def every(book: StockBook) -> tuple[VarietyView, ...]:
    """All varieties, by name."""
    with book.reading() as session:
        rows = session.scalars(
            select(VarietyRow).options(selectinload(VarietyRow.names)).order_by(VarietyRow.name_key)
        )
        return tuple(view_of(row) for row in rows)


def rename(book: StockBook, name: str, *, to: str, on: date) -> VarietyView:
    """Call a variety by another name from a day on, and enter that in the day book.

    A seedling becomes a named variety; its raiser's number is kept. Former names are still found.
    """
    with book.writing() as session:
        row = find_row(session, name)
        to = _clean(to)
        _refuse_taken(session, to, but=row.id)
        if any(one.from_date is not None and one.from_date > on for one in row.names):
            msg = f"{row.name} got that name after {on}. Give the day from which it is called {to}."
            raise WrongEntry(msg)
        former = row.name
        row.names.append(VarietyNameRow(name=to, name_key=fold(to), from_date=on))
        row.name, row.name_key, row.kind = to, fold(to), VarietyKind.NAMED
        session.add(
            EventRow(
                kind=EventKind.RENAMED,
                on_date=on,
                note=f"{former} is called {to}",
                entered_at=datetime.now(UTC),
                subjects=[EventSubjectRow(variety_id=row.id)],
            )
        )
        session.flush()
        return view_of(row)


def set_form(book: StockBook, name: str, form: str) -> VarietyView:
    """Say which form a variety's flower has (ball, cactus, decorative …)."""
    with book.writing() as session:
        row = find_row(session, name)
        row.form = _known_form(form)
        return view_of(row)


def add_row(
    session: Session,
    name: str | None,
    *,
    form: str | None = None,
    seedling_number: str | None = None,
    note: str = "",
) -> VarietyRow:
    """Do what ``add`` does, within a transaction."""
    number = None if seedling_number is None else _clean(seedling_number)
    if name is None and number is None:
        msg = "A variety needs its name, or a seedling its raiser's number."
        raise WrongEntry(msg)
    called = _clean(name) if name is not None else str(number)
    seedling = number is not None and fold(called) == fold(number)
    for wanted in {called, number or called}:
        _refuse_taken(session, wanted)
    row = VarietyRow(
        name=called,
        name_key=fold(called),
        kind=VarietyKind.SEEDLING if seedling else VarietyKind.NAMED,
        raiser_number=number,
        form=None if form is None else _known_form(form),
        note=note,
        names=[VarietyNameRow(name=called, name_key=fold(called))],
    )
    session.add(row)
    session.flush()
    return row


def find_row(session: Session, name: str) -> VarietyRow:
    """Do what ``find`` does, within a transaction: today's name first, then former ones."""
    key = fold(name)
    loaded = select(VarietyRow).options(selectinload(VarietyRow.names))
    row = session.scalar(loaded.where(VarietyRow.name_key == key))
    if row is not None:
        return row
    numbers = {fold(number): id_ for id_, number in _numbers(session)}
    former = session.scalars(
        loaded.where(
            or_(
                VarietyRow.names.any(VarietyNameRow.name_key == key),
                VarietyRow.id == numbers.get(key),
            )
        )
    ).all()
    if len(former) == 1:
        return former[0]
    names = session.scalars(select(VarietyRow.name)).all()
    meant = did_you_mean(nearest_names(name, names))
    msg = (
        f"There is no variety {name!r} in the stock book.{meant} "
        f"{'If not, enter' if meant else 'Enter'} the variety first."
    )
    raise Unknown(msg)


def view_of(row: VarietyRow) -> VarietyView:
    """The frozen view of a row whose names are loaded."""
    return VarietyView(
        id=row.id,
        name=row.name,
        kind=row.kind,
        raiser_number=row.raiser_number,
        form=row.form,
        note=row.note,
        names=tuple(NameFrom(name=one.name, since=one.from_date) for one in row.names),
    )


def _clean(name: str) -> str:
    cleaned = " ".join(name.split())
    if not cleaned:
        msg = "A name can't be blank."
        raise WrongEntry(msg)
    return cleaned


def _known_form(form: str) -> str:
    if form not in FORMS:
        msg = (
            f"{form!r} is not a form of dahlia flower that photolog knows."
            f"{did_you_mean(nearest_names(form, FORMS))} Known are {', '.join(FORMS)}."
        )
        raise WrongEntry(msg)
    return form


def _numbers(session: Session) -> list[tuple[int, str]]:
    rows = session.execute(
        select(VarietyRow.id, VarietyRow.raiser_number).where(VarietyRow.raiser_number.is_not(None))
    )
    return [(id_, number) for id_, number in rows if number is not None]


def _refuse_taken(session: Session, name: str, *, but: int | None = None) -> None:
    try:
        taken = find_row(session, name)
    except Unknown:
        return
    if taken.id != but:
        msg = f"{name} is in the stock book already, as {taken.name}."
        raise AlreadyThere(msg)
