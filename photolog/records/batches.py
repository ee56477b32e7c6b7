"""Batches: a counted group under one tag, and every change of its count."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Key, one_of, one_set, strict
from photolog.records.varieties import VarietyRow
from photolog.terms import BatchKind, CameFrom

__all__ = ["BatchChangeRow", "BatchRow"]


class BatchRow(Base):
    """A counted group. ``count`` is what it began with; what is left follows from its changes."""

    __tablename__ = "batch"
    __table_args__ = strict(
        one_of("kind", BatchKind),
        one_of("came_from", CameFrom),
        CheckConstraint("count > 0", name="count_above_none"),
        CheckConstraint("parent_plant_id IS NULL OR parent_batch_id IS NULL", name="one_parent"),
        CheckConstraint("parent_batch_id <> id", name="not_own_parent"),
        Index("ix_batch_variety_id", "variety_id"),
        Index("ix_batch_parent_plant_id", "parent_plant_id"),
        Index("ix_batch_parent_batch_id", "parent_batch_id"),
    )

    id: Mapped[Key]
    variety_id: Mapped[int] = mapped_column(ForeignKey("variety.id", ondelete="RESTRICT"))
    kind: Mapped[BatchKind]
    count: Mapped[int]
    since: Mapped[date]
    came_from: Mapped[CameFrom]
    parent_plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="RESTRICT"))
    parent_batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="RESTRICT"))
    note: Mapped[str] = mapped_column(default="")

    variety: Mapped[VarietyRow] = relationship()
    changes: Mapped[list[BatchChangeRow]] = relationship(
        foreign_keys="BatchChangeRow.batch_id",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="BatchChangeRow.on_date, BatchChangeRow.id",
    )


class BatchChangeRow(Base):
    """So many fewer in a batch: lost (a day book entry), split off as a plant, or as a batch.

    A change made by a day book entry that is struck out no longer counts.
    """

    __tablename__ = "batch_change"
    __table_args__ = strict(
        CheckConstraint("fewer > 0", name="fewer_above_none"),
        CheckConstraint("plant_id IS NULL OR fewer = 1", name="plant_is_one"),
        CheckConstraint("into_batch_id <> batch_id", name="not_into_itself"),
        one_set("event_id", "plant_id", "into_batch_id"),
        Index("ix_batch_change_batch_id", "batch_id"),
        Index("ix_batch_change_event_id", "event_id"),
        Index("ix_batch_change_plant_id", "plant_id"),
        Index("ix_batch_change_into_batch_id", "into_batch_id"),
    )

    id: Mapped[Key]
    batch_id: Mapped[int] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    on_date: Mapped[date]
    fewer: Mapped[int]
    event_id: Mapped[int | None] = mapped_column(ForeignKey("event.id", ondelete="CASCADE"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    into_batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
