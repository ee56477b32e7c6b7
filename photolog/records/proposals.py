"""Day book entries that word cards in photos propose, until the grower has said yes or no."""

from __future__ import annotations

from datetime import date, time

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Instant, Key, one_of, strict
from photolog.terms import ProposalState

__all__ = ["ProposalRow"]


class ProposalRow(Base):
    """One word card in one photo, and the entry that it proposes.

    ``mark`` is the mark that was read, ``meant`` that of the word as the grower put it right (else
    the same). Neither plant, batch nor box: nobody knows yet whose it is; ``because`` says why.
    ``against`` is what speaks against it; such a one is never confirmed with others. ``by_hand``:
    the grower put it right, so that matching anew changes neither word nor plant. ``event_id`` is
    the entry that confirming made.
    """

    __tablename__ = "proposal"
    __table_args__ = strict(
        CheckConstraint(
            "(plant_id IS NOT NULL) + (batch_id IS NOT NULL) + (box_id IS NOT NULL) <= 1",
            name="one_thing",
        ),
        one_of("state", ProposalState),
        CheckConstraint(
            "(state = 'confirmed') = (event_id IS NOT NULL)", name="confirmed_has_entry"
        ),
        CheckConstraint(
            "mark BETWEEN 200 AND 259 AND meant BETWEEN 200 AND 259", name="mark_of_words"
        ),
        CheckConstraint("count > 0", name="count_above_none"),
        CheckConstraint("by_hand IN (0, 1)", name="by_hand_yes_no"),
        Index("uq_proposal_photo_id_mark", "photo_id", "mark", unique=True),
        Index("ix_proposal_plant_id", "plant_id"),
        Index("ix_proposal_batch_id", "batch_id"),
        Index("ix_proposal_box_id", "box_id"),
        Index("uq_proposal_event_id", "event_id", unique=True),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    mark: Mapped[int]
    meant: Mapped[int]
    state: Mapped[ProposalState] = mapped_column(default=ProposalState.PROPOSED)
    by_hand: Mapped[bool] = mapped_column(default=False)
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    box_id: Mapped[int | None] = mapped_column(ForeignKey("box.id", ondelete="CASCADE"))
    on_date: Mapped[date | None]
    at_time: Mapped[time | None]
    count: Mapped[int | None]
    because: Mapped[str] = mapped_column(default="")
    against: Mapped[str | None]
    event_id: Mapped[int | None] = mapped_column(ForeignKey("event.id", ondelete="RESTRICT"))
    decided_at: Mapped[Instant | None]
