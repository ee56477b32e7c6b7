"""Boxes of the winter store, by the number on their tag, and the photos of each."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Instant, Key, Probability, is_probability, strict
from photolog.records.photos import PhotoRow

__all__ = ["BoxRow", "PhotoBoxRow"]


class BoxRow(Base):
    """A box (crate, tray) of the store; its number is on its tag and stays with it over the years.

    ``name`` is what the grower calls it, '' where nothing but the number was told.
    """

    __tablename__ = "box"
    __table_args__ = strict(CheckConstraint("number BETWEEN 1 AND 399", name="number_1_to_399"))

    id: Mapped[Key]
    number: Mapped[int] = mapped_column(unique=True)
    name: Mapped[str] = mapped_column(default="")
    since: Mapped[date]
    note: Mapped[str] = mapped_column(default="")


class PhotoBoxRow(Base):
    """A photo belongs to this box, besides the plants and batches in it."""

    __tablename__ = "photo_box"
    __table_args__ = strict(
        is_probability("probability"),
        CheckConstraint("by_hand IN (0, 1)", name="by_hand_yes_no"),
        Index("uq_photo_box", "photo_id", "box_id", unique=True),
        Index("ix_photo_box_box_id", "box_id"),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    box_id: Mapped[int] = mapped_column(ForeignKey("box.id", ondelete="RESTRICT"))
    reason: Mapped[str]
    because: Mapped[str] = mapped_column(default="")
    probability: Mapped[Probability]
    by_hand: Mapped[bool] = mapped_column(default=False)
    matched_at: Mapped[Instant]

    photo: Mapped[PhotoRow] = relationship()
    box: Mapped[BoxRow] = relationship()
