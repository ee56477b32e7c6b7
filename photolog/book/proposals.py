"""Entries that word cards propose: listed, confirmed, put right, turned down, and taken back."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book import boxes, daybook
from photolog.book.anew import match_anew, match_settings
from photolog.book.errors import AlreadyThere, BookError, Unknown, WrongEntry
from photolog.book.garden_facts import garden_facts, photo_facts
from photolog.book.moves import Moves
from photolog.book.proposal_views import ProposedEntry, card_of, proposal_views
from photolog.book.proposing import renew_proposals
from photolog.book.stock import StockRef, columns_of, must_be_there
from photolog.book.stockbook import StockBook
from photolog.book.tags import resolve_in
from photolog.records import EventRow, ProposalRow
from photolog.records.copies import is_no_copy
from photolog.terms import ProposalState
from photolog.word_cards import WordCard, words_named

__all__ = [
    "Confirmed",
    "ProposedEntry",
    "Unconfirmed",
    "confirm",
    "correct",
    "proposed",
    "turn_down",
    "turned_down",
    "undo",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed:
    """What was confirmed, and what was left, with the reason in ``against`` or ``because``.

    ``moves`` are the photos that moved by what was confirmed.
    """

    confirmed: tuple[ProposedEntry, ...]
    left: tuple[ProposedEntry, ...]
    moves: Moves


@dataclass(frozen=True, slots=True, kw_only=True)
class Unconfirmed:
    """What was taken back and waits again, and the photos that moved by it."""

    entries: tuple[ProposedEntry, ...]
    moves: Moves


def proposed(book: StockBook) -> tuple[ProposedEntry, ...]:
    """What waits for the grower's word, by day and hour, as it was last matched."""
    with book.reading() as session:
        return proposal_views(session, _rows(session, ProposalState.PROPOSED))


def turned_down(book: StockBook) -> tuple[ProposedEntry, ...]:
    """What the grower turned down, by day and hour."""
    with book.reading() as session:
        return proposal_views(session, _rows(session, ProposalState.TURNED_DOWN))


def confirm(book: StockBook, ids: Collection[int] | None = None) -> Confirmed:
    """Enter in the day book what is proposed: everything that nothing speaks against, or ``ids``.

    Each becomes an entry of its own, with the photo's name in its note. Named by its number, one
    is entered although something speaks against it. Raises ``Unknown`` for a number, ``WrongEntry``
    where it is not said whose it is or when; nothing is entered then.
    """
    now = datetime.now(UTC)
    with book.writing() as session:
        _renew(book, session)
        if ids is None:
            rows = _rows(session, ProposalState.PROPOSED)
        else:
            rows = _wanted(session, ids, ProposalState.PROPOSED)
        views = proposal_views(session, rows)
        by_id = {row.id: row for row in rows}
        done: list[int] = []
        left: list[ProposedEntry] = []
        for view in views:
            if ids is None and not view.ready:
                left.append(view)
                continue
            try:
                with book.writing():
                    _enter(book, session, by_id[view.id], view, now=now)
            except BookError as error:
                if ids is not None:
                    raise
                left.append(replace(view, against=str(error)))
            else:
                done.append(view.id)
        session.flush()
        moves = match_anew(book)
        kept = proposal_views(session, [by_id[id_] for id_ in done])
    return Confirmed(confirmed=kept, left=tuple(left), moves=moves)


def correct(
    book: StockBook,
    proposal_id: int,
    *,
    tag: str | int | None = None,
    stock: StockRef | None = None,
    word: str | None = None,
    count: int | None = None,
) -> ProposedEntry:
    """Put a proposal right: whose it is, which word was meant, how many of a batch.

    It then waits to be confirmed like the others, and matching anew leaves it so. Raises
    ``Unknown`` for the proposal, the plant or the word, ``WrongEntry`` where the photo has no date,
    ``AlreadyThere`` where the day book has such an entry.
    """
    with book.writing() as session:
        (row,) = _wanted(session, [proposal_id], ProposalState.PROPOSED)
        if row.on_date is None:
            msg = (
                f"Proposal {proposal_id} has no day, since its photo has no date. Say first when "
                f"photo {row.photo_id} was taken: photolog decide {row.photo_id} TAG --on DAY"
            )
            raise WrongEntry(msg)
        number = None if tag is None else boxes.number_of(str(tag))
        if number is not None:
            row.box_id = boxes.row_of(session, number).id
            row.plant_id = row.batch_id = None
        elif tag is not None:
            stock = resolve_in(session, tag, on=row.on_date).stock
        if stock is not None:
            must_be_there(session, [stock])
            columns = columns_of(stock)
            row.plant_id, row.batch_id = columns["plant_id"], columns["batch_id"]
            row.box_id = None
        if word is not None:
            row.meant = _card_named(word).mark
        if count is not None:
            if count < 1 or row.batch_id is None:
                msg = f"A number belongs to a batch and starts at 1, got {count}."
                raise WrongEntry(msg)
            row.count = count
        row.by_hand = True
        session.flush()
        _renew(book, session)
        again = session.get(ProposalRow, proposal_id)
        if again is None:
            msg = (
                f"“{card_of(row.meant).word}” is in the day book of {row.on_date} already for what "
                "you named."
            )
            raise AlreadyThere(msg)
        return proposal_views(session, [again])[0]


def turn_down(book: StockBook, ids: Collection[int]) -> tuple[ProposedEntry, ...]:
    """Turn proposals down: they are never made again, unless ``undo`` takes that back.

    Raises ``Unknown`` for a number that nothing open has; nothing is turned down then.
    """
    with book.writing() as session:
        rows = _wanted(session, ids, ProposalState.PROPOSED)
        for row in rows:
            row.state, row.decided_at = ProposalState.TURNED_DOWN, datetime.now(UTC)
        session.flush()
        _renew(book, session)
        return proposal_views(session, rows)


def undo(book: StockBook, ids: Collection[int] | None = None) -> Unconfirmed:
    """Take back what was confirmed or turned down: ``ids``, or all that was confirmed last at once.

    The entries are struck out, and the proposals wait again. Raises ``Unknown`` for a number that
    was neither, ``WrongEntry`` where nothing was confirmed.
    """
    with book.writing() as session:
        if ids is None:
            rows = _confirmed_last(session)
        else:
            rows = _wanted(session, ids, ProposalState.CONFIRMED, ProposalState.TURNED_DOWN)
        for row in rows:
            entry = None if row.event_id is None else session.get(EventRow, row.event_id)
            row.state, row.event_id, row.decided_at = ProposalState.PROPOSED, None, None
            session.flush()
            if entry is not None and entry.struck_out_at is None:
                daybook.strike_out(book, entry.id)
        moves = match_anew(book)
        wanted = [row.id for row in rows]
        again = [row for row in _rows(session, ProposalState.PROPOSED) if row.id in wanted]
        return Unconfirmed(entries=proposal_views(session, again), moves=moves)


def _enter(
    book: StockBook, session: Session, row: ProposalRow, view: ProposedEntry, *, now: datetime
) -> None:
    if (view.stock is None and view.box is None) or view.on is None:
        msg = (
            f"Nobody can say whose “{view.word}” in {view.photo} is: {view.because} "
            f"Say it first: photolog correct {view.id} --tag TAG"
        )
        raise WrongEntry(msg)
    card = card_of(row.meant)
    entry = daybook.enter(
        book,
        card.kind,
        on=view.on,
        at=view.at,
        stock=[] if view.stock is None else [view.stock],
        place=None if view.box is None else f"box {view.box}",
        count=view.count,
        cause=card.cause,
        note=f"word card in {view.photo}",
    )
    row.state, row.event_id, row.decided_at = ProposalState.CONFIRMED, entry.id, now
    session.flush()


def _renew(book: StockBook, session: Session) -> None:
    """Make the open proposals anew, so that none is confirmed that is in the day book by now."""
    photos = photo_facts(session, is_no_copy())
    renew_proposals(session, photos, garden_facts(session), match_settings(book))


def _rows(session: Session, state: ProposalState) -> list[ProposalRow]:
    return list(session.scalars(select(ProposalRow).where(ProposalRow.state == state)))


def _wanted(session: Session, ids: Collection[int], *states: ProposalState) -> list[ProposalRow]:
    rows = {
        row.id: row for row in session.scalars(select(ProposalRow).where(ProposalRow.id.in_(ids)))
    }
    for id_ in ids:
        if id_ not in rows:
            msg = f"There is no proposal {id_}. photolog proposed lists them."
            raise Unknown(msg)
        if rows[id_].state not in states:
            msg = f"Proposal {id_} stands as {rows[id_].state}, so that can't be done with it."
            raise Unknown(msg)
    return [rows[id_] for id_ in dict.fromkeys(ids)]


def _confirmed_last(session: Session) -> list[ProposalRow]:
    rows = _rows(session, ProposalState.CONFIRMED)
    if not rows:
        msg = "Nothing that word cards proposed was confirmed, so there is nothing to take back."
        raise WrongEntry(msg)
    last = max(row.decided_at for row in rows if row.decided_at is not None)
    return [row for row in rows if row.decided_at == last]


def _card_named(word: str) -> WordCard:
    try:
        cards = words_named(word)
    except ValueError as trouble:
        raise Unknown(str(trouble)) from trouble
    if len(cards) != 1:
        msg = f"One word is wanted, got {word!r}."
        raise Unknown(msg)
    return cards[0]
