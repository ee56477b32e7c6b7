"""How a plant or a batch was grown in one season, as far as the day book does not say it."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Key, one_of, one_set, strict
from photolog.terms import GrownFrom

__all__ = ["HowGrownRow"]


class HowGrownRow(Base):
    """How one plant or batch was grown in the season named by ``season``; NULL: not told."""

    __tablename__ = "how_grown"
    __table_args__ = strict(
        one_set("plant_id", "batch_id"),
        one_of("grown_from", GrownFrom),
        CheckConstraint("stems > 0", name="stems_above_none"),
        CheckConstraint("disbudded IN (0, 1)", name="disbudded_yes_no"),
        Index("uq_how_grown_plant", "plant_id", "season", unique=True),
        Index("uq_how_grown_batch", "batch_id", "season", unique=True),
    )

    id: Mapped[Key]
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    season: Mapped[int]
    disbudded: Mapped[bool | None]
    stopped_on: Mapped[date | None]
    stems: Mapped[int | None]
    grown_from: Mapped[GrownFrom | None]
