"""What a tag, an entry or a photo can point at: one plant, or one batch."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, TypedDict

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.errors import Unknown
from photolog.records import BatchRow, PlantRow

__all__ = ["StockColumns", "StockRef", "columns_of", "must_be_there", "ref_of", "ref_or_none"]


@dataclass(frozen=True, slots=True, order=True)
class StockRef:
    """One plant or one batch, by its number in the stock book."""

    kind: Literal["plant", "batch"]
    id: int


class StockColumns(TypedDict):
    """The two columns that hold a reference in a table; one of them is None."""

    plant_id: int | None
    batch_id: int | None


def columns_of(stock: StockRef) -> StockColumns:
    """Spread a reference over the two columns."""
    if stock.kind == "plant":
        return {"plant_id": stock.id, "batch_id": None}
    return {"plant_id": None, "batch_id": stock.id}


def ref_of(plant_id: int | None, batch_id: int | None) -> StockRef:
    """Join the two columns to a reference; ``ValueError`` where not exactly one is set."""
    if plant_id is not None and batch_id is None:
        return StockRef("plant", plant_id)
    if batch_id is not None and plant_id is None:
        return StockRef("batch", batch_id)
    msg = f"one of plant and batch is to be set, got {plant_id!r} and {batch_id!r}"
    raise ValueError(msg)


def ref_or_none(plant_id: int | None, batch_id: int | None) -> StockRef | None:
    """Join the two columns to a reference, or None where neither is set."""
    return None if plant_id is None and batch_id is None else ref_of(plant_id, batch_id)


def must_be_there(session: Session, stock: Iterable[StockRef]) -> None:
    """Raise ``Unknown`` where a reference points at no plant or batch in the book."""
    wanted = set(stock)
    plants = [one.id for one in wanted if one.kind == "plant"]
    batches = [one.id for one in wanted if one.kind == "batch"]
    found = {
        *(
            StockRef("plant", id_)
            for id_ in session.scalars(select(PlantRow.id).where(PlantRow.id.in_(plants)))
        ),
        *(
            StockRef("batch", id_)
            for id_ in session.scalars(select(BatchRow.id).where(BatchRow.id.in_(batches)))
        ),
    }
    for one in sorted(wanted - found):
        msg = f"There is no {one.kind} {one.id} in the stock book."
        raise Unknown(msg)
