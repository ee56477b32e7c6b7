"""What the grower decided of photos, each decision whole, so that it can be taken back whole."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Instant, Key, strict

__all__ = ["DecidedPhotoRow", "DecisionRow"]


class DecisionRow(Base):
    """One word of the grower's on one photo or on many; ``said`` is it in words."""

    __tablename__ = "decision"
    __table_args__ = strict()

    id: Mapped[Key]
    decided_at: Mapped[Instant]
    said: Mapped[str]

    photos: Mapped[list[DecidedPhotoRow]] = relationship(
        back_populates="decision",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="DecidedPhotoRow.id",
    )


class DecidedPhotoRow(Base):
    """That a photo belongs to this plant, batch or box; none of them: to no plant.

    Of a photo that belongs to several there is a row for each. ``told_day``: the decision told the
    photo's day as well, where ``told_before`` (NULL: none) had been told until then. What was taken
    back stays readable, and no longer counts; of those that stand, the newest decision of a photo
    does.
    """

    __tablename__ = "decided_photo"
    __table_args__ = strict(
        CheckConstraint(
            "(plant_id IS NOT NULL) + (batch_id IS NOT NULL) + (box_id IS NOT NULL) <= 1",
            name="one_thing",
        ),
        CheckConstraint("told_day IN (0, 1)", name="told_day_yes_no"),
        Index("ix_decided_photo_decision_id", "decision_id"),
        Index("ix_decided_photo_photo_id", "photo_id"),
        Index("ix_decided_photo_plant_id", "plant_id"),
        Index("ix_decided_photo_batch_id", "batch_id"),
        Index("ix_decided_photo_box_id", "box_id"),
    )

    id: Mapped[Key]
    decision_id: Mapped[int] = mapped_column(ForeignKey("decision.id", ondelete="CASCADE"))
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    box_id: Mapped[int | None] = mapped_column(ForeignKey("box.id", ondelete="CASCADE"))
    told_day: Mapped[bool] = mapped_column(default=False)
    taken_back_at: Mapped[Instant | None]
    told_before: Mapped[date | None]

    decision: Mapped[DecisionRow] = relationship(back_populates="photos")
