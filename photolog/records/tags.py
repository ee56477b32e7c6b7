"""Tags, and which plant or batch held each from date to date."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Key, one_set, strict

__all__ = ["TagHoldingRow", "TagRow"]


class TagRow(Base):
    """A tag, by the number printed on it."""

    __tablename__ = "tag"
    __table_args__ = strict(CheckConstraint("number BETWEEN 1 AND 9999", name="number_1_to_9999"))

    id: Mapped[Key]
    number: Mapped[int] = mapped_column(unique=True)

    holdings: Mapped[list[TagHoldingRow]] = relationship(
        back_populates="tag",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="TagHoldingRow.from_date, TagHoldingRow.id",
    )


class TagHoldingRow(Base):
    """A tag on a plant or a batch, from ``from_date`` up to but not on ``until_date``."""

    __tablename__ = "tag_holding"
    __table_args__ = strict(
        one_set("plant_id", "batch_id"),
        CheckConstraint("until_date >= from_date", name="until_after_from"),
        Index("ix_tag_holding_tag_id_from_date", "tag_id", "from_date"),
        Index("ix_tag_holding_plant_id", "plant_id"),
        Index("ix_tag_holding_batch_id", "batch_id"),
        Index(
            "uq_tag_holding_one_now",
            "tag_id",
            unique=True,
            sqlite_where=text("until_date IS NULL"),
        ),
    )

    id: Mapped[Key]
    tag_id: Mapped[int] = mapped_column(ForeignKey("tag.id", ondelete="RESTRICT"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    from_date: Mapped[date]
    until_date: Mapped[date | None]

    tag: Mapped[TagRow] = relationship(back_populates="holdings")
