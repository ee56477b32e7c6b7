"""Plants: one plant, or its clump, from season to season until it is divided."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Key, one_of, strict
from photolog.records.varieties import VarietyRow
from photolog.terms import CameFrom

__all__ = ["PlantRow"]


class PlantRow(Base):
    """One plant. At most one parent: a plant, or the batch that it was split off or raised from."""

    __tablename__ = "plant"
    __table_args__ = strict(
        one_of("came_from", CameFrom),
        CheckConstraint("parent_plant_id IS NULL OR parent_batch_id IS NULL", name="one_parent"),
        CheckConstraint("parent_plant_id <> id", name="not_own_parent"),
        Index("ix_plant_variety_id", "variety_id"),
        Index("ix_plant_parent_plant_id", "parent_plant_id"),
        Index("ix_plant_parent_batch_id", "parent_batch_id"),
    )

    id: Mapped[Key]
    variety_id: Mapped[int] = mapped_column(ForeignKey("variety.id", ondelete="RESTRICT"))
    since: Mapped[date]
    came_from: Mapped[CameFrom]
    parent_plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="RESTRICT"))
    # use_alter: plants and batches point at each other; this says which table comes first.
    parent_batch_id: Mapped[int | None] = mapped_column(
        ForeignKey("batch.id", ondelete="RESTRICT", use_alter=True)
    )
    note: Mapped[str] = mapped_column(default="")

    variety: Mapped[VarietyRow] = relationship()
