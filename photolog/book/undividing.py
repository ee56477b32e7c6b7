"""Taking a division back: its pieces leave the stock book, and the clump has its tag again."""

from __future__ import annotations

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from photolog.book.errors import WrongEntry
from photolog.book.stock import StockRef
from photolog.book.tags import Holding, holdings_in
from photolog.records import (
    BatchChangeRow,
    BatchRow,
    EventRow,
    EventSubjectRow,
    HowGrownRow,
    PhotoSubjectRow,
    PlantRow,
    TagHoldingRow,
)
from photolog.terms import CameFrom

__all__ = ["undivide"]


def undivide(session: Session, event: EventRow) -> None:
    """Take the pieces of a "divided" entry out of the book, within a transaction.

    A tag that the clump handed on to a piece is the clump's again. Where the clump was entered as
    divided twice that day, it stays divided and keeps its pieces. Raises ``WrongEntry``, and
    changes nothing, where anything else is known of a piece: its entries, its photos, how it grew,
    what came of it, a note, or another tag since; or where the clump's own tag is not known.
    """
    clumps = _not_divided_otherwise(session, event)
    pieces = session.scalars(
        select(PlantRow).where(
            PlantRow.parent_plant_id.in_(clumps),
            PlantRow.came_from == CameFrom.DIVISION,
            PlantRow.since == event.on_date,
        )
    ).all()
    if not pieces:
        return
    held: dict[StockRef, list[Holding]] = {}
    for one in holdings_in(session):
        held.setdefault(one.stock, []).append(one)
    tags_of = {piece.id: held.get(StockRef("plant", piece.id), []) for piece in pieces}
    known = [piece for piece in pieces if _more_is_known(session, piece, tags_of[piece.id])]
    if known:
        names = [", ".join(one.printed for one in tags_of[piece.id]) for piece in known]
        msg = (
            f"Entry {event.id} (divided, {event.on_date}) can't be struck out while more is known "
            f"of its pieces: {', '.join(name or 'one without a tag' for name in names)}. Strike "
            "out what was entered of them and decide their photos as none first. If they are real "
            "plants, leave the entry as it is."
        )
        raise WrongEntry(msg)
    ids = [piece.id for piece in pieces]
    handed = session.scalars(select(TagHoldingRow).where(TagHoldingRow.plant_id.in_(ids))).all()
    tag_ids = [one.tag_id for one in handed]
    session.execute(delete(TagHoldingRow).where(TagHoldingRow.plant_id.in_(ids)))
    for row in session.scalars(
        select(TagHoldingRow).where(
            TagHoldingRow.plant_id.in_(clumps),
            TagHoldingRow.tag_id.in_(tag_ids),
            TagHoldingRow.until_date == event.on_date,
        )
    ):
        row.until_date = None
    parents = {StockRef("plant", one.parent_plant_id or 0) for one in pieces}
    session.flush()
    tagged = {one.stock for one in holdings_in(session) if one.holds_on(event.on_date)}
    if not parents <= tagged:
        # Handed on the very day it was put on, a tag counts as never having been the clump's.
        msg = (
            f"Entry {event.id} (divided, {event.on_date}) can't be struck out: the clump wore its "
            "tag from that same day only, so which of its pieces' tags was its own is not known "
            "any more. Leave the entry, and enter pieces that never were as discarded."
        )
        raise WrongEntry(msg)
    session.execute(delete(PlantRow).where(PlantRow.id.in_(ids)))
    session.expire_all()


def _not_divided_otherwise(session: Session, event: EventRow) -> list[int]:
    """The clumps of the entry, but those that another standing entry has divided that day too."""
    others = session.scalars(
        select(EventSubjectRow.plant_id)
        .join(EventSubjectRow.event)
        .where(
            EventRow.id != event.id,
            EventRow.kind == event.kind,
            EventRow.on_date == event.on_date,
            EventRow.struck_out_at.is_(None),
        )
    ).all()
    return [
        one.plant_id
        for one in event.subjects
        if one.plant_id is not None and one.plant_id not in others
    ]


def _more_is_known(session: Session, piece: PlantRow, held: list[Holding]) -> bool:
    counting = select(EventSubjectRow.id).join(EventSubjectRow.event)
    asked = (
        counting.where(EventSubjectRow.plant_id == piece.id, EventRow.struck_out_at.is_(None)),
        select(PhotoSubjectRow.id).where(PhotoSubjectRow.plant_id == piece.id),
        select(HowGrownRow.id).where(HowGrownRow.plant_id == piece.id),
        select(PlantRow.id).where(PlantRow.parent_plant_id == piece.id),
        select(BatchRow.id).where(BatchRow.parent_plant_id == piece.id),
        select(BatchChangeRow.id).where(BatchChangeRow.plant_id == piece.id),
    )
    moved = any(one.until is not None or one.since != piece.since for one in held)
    return bool(piece.note) or moved or any(session.scalar(one.limit(1)) for one in asked)
