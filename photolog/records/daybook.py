"""The day book: what happened, when, and to what."""

from __future__ import annotations

from datetime import date, time

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Instant, Key, one_of, one_set, strict
from photolog.terms import EventKind, LossCause

__all__ = ["EventRow", "EventSubjectRow"]


class EventRow(Base):
    """One entry. ``garden_wide``: it happened to everything (a first frost).

    ``count`` is how many of a batch; NULL: all of it. ``place`` is the bed or box by its name.
    An entry is never deleted: struck out, it keeps its row with the moment it was struck out.
    """

    __tablename__ = "event"
    __table_args__ = strict(
        one_of("kind", EventKind),
        one_of("cause", LossCause),
        CheckConstraint("count > 0", name="count_above_none"),
        CheckConstraint("weight_g > 0.0", name="weight_above_none"),
        CheckConstraint("garden_wide IN (0, 1)", name="garden_wide_yes_no"),
        Index("ix_event_on_date", "on_date"),
        Index("ix_event_other_variety_id", "other_variety_id"),
    )

    id: Mapped[Key]
    kind: Mapped[EventKind]
    on_date: Mapped[date]
    at_time: Mapped[time | None]
    garden_wide: Mapped[bool] = mapped_column(default=False)
    place: Mapped[str | None]
    count: Mapped[int | None]
    cause: Mapped[LossCause | None]
    weight_g: Mapped[float | None]
    other_variety_id: Mapped[int | None] = mapped_column(
        ForeignKey("variety.id", ondelete="RESTRICT")
    )
    note: Mapped[str] = mapped_column(default="")
    entered_at: Mapped[Instant]
    struck_out_at: Mapped[Instant | None]

    subjects: Mapped[list[EventSubjectRow]] = relationship(
        back_populates="event",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="EventSubjectRow.id",
    )


class EventSubjectRow(Base):
    """One plant, batch or variety that an entry is about."""

    __tablename__ = "event_subject"
    __table_args__ = strict(
        one_set("plant_id", "batch_id", "variety_id"),
        Index("uq_event_subject_plant", "event_id", "plant_id", unique=True),
        Index("uq_event_subject_batch", "event_id", "batch_id", unique=True),
        Index("uq_event_subject_variety", "event_id", "variety_id", unique=True),
        Index("ix_event_subject_plant_id", "plant_id"),
        Index("ix_event_subject_batch_id", "batch_id"),
        Index("ix_event_subject_variety_id", "variety_id"),
    )

    id: Mapped[Key]
    event_id: Mapped[int] = mapped_column(ForeignKey("event.id", ondelete="CASCADE"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    variety_id: Mapped[int | None] = mapped_column(ForeignKey("variety.id", ondelete="CASCADE"))

    event: Mapped[EventRow] = relationship(back_populates="subjects")
