"""An entry that a word card proposes, as it leaves the book: whose, when, what speaks for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.errors import WrongEntry
from photolog.book.garden_facts import garden_facts
from photolog.book.stock import StockRef, ref_or_none
from photolog.photos.garden import Holder
from photolog.records import PhotoRow, ProposalRow
from photolog.terms import ProposalState
from photolog.word_cards import WordCard, word_of_mark

__all__ = ["ProposedEntry", "card_of", "proposal_views"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedEntry:
    """An entry that a word card in a photo proposes.

    ``stock`` None: it is of the ``box`` of this number, or nobody knows whose it is, and
    ``because`` says why; it is empty where the tag is in the photo. ``tag`` is the one held on that
    day. ``against``: what speaks against it; it is confirmed only by its own number. ``entry`` is
    the day book's entry, once it is confirmed.
    """

    id: int
    photo_id: int
    photo: str
    word: str
    stock: StockRef | None
    tag: int | None
    stock_name: str | None
    on: date | None
    at: time | None
    count: int | None
    because: str
    against: str | None
    by_hand: bool
    state: ProposalState
    entry: int | None
    box: int | None = None

    @property
    def ready(self) -> bool:
        """Whether it is confirmed with all others."""
        known = self.stock is not None or self.box is not None
        return known and self.on is not None and self.against is None


def proposal_views(session: Session, rows: Sequence[ProposalRow]) -> tuple[ProposedEntry, ...]:
    """Proposals as they leave the book, by day and hour: a fixed number of queries."""
    if not rows:
        return ()
    garden = garden_facts(session)
    numbers = {fact.box_id: number for number, fact in garden.boxes.items()}
    names = {
        photo.id: photo.original_name
        for photo in session.execute(
            select(PhotoRow.id, PhotoRow.original_name).where(
                PhotoRow.id.in_(select(ProposalRow.photo_id))
            )
        )
    }
    found = []
    for row in rows:
        stock = ref_or_none(row.plant_id, row.batch_id)
        holder = None if stock is None else Holder(stock.kind, stock.id)
        held = () if holder is None else garden.holdings_of_holder.get(holder, ())
        day = row.on_date
        box = numbers.get(row.box_id or 0)
        named = None if box is None else garden.box_named(box)
        found.append(
            ProposedEntry(
                id=row.id,
                photo_id=row.photo_id,
                photo=names[row.photo_id],
                word=card_of(row.meant).word,
                stock=stock,
                tag=next((one.tag for one in held if day is not None and one.on(day)), None),
                stock_name=named if holder is None else garden.named(holder),
                on=day,
                at=row.at_time,
                count=row.count,
                because=row.because,
                against=row.against,
                by_hand=row.by_hand,
                state=row.state,
                entry=row.event_id,
                box=box,
            )
        )
    return tuple(
        sorted(
            found, key=lambda one: (one.on or date.max, one.at or time.max, one.photo_id, one.id)
        )
    )


def card_of(mark: int) -> WordCard:
    """The word card with this mark; ``WrongEntry`` where this program knows none."""
    card = word_of_mark(mark)
    if card is None:
        msg = f"The word card with mark {mark} is of a newer photolog than this one."
        raise WrongEntry(msg)
    return card
