"""Cameras, how far each one's clock was out from date to date, and what is proposed of it."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Instant, Json, Key, WallClock, one_of, strict
from photolog.terms import ClockReason, ProposalState

__all__ = ["CameraRow", "ClockCorrectionRow", "ClockProposalRow"]

_COUNTED_WHOLE = (
    "(counted_as IS NULL) = (first_number IS NULL) AND "
    "(first_number IS NULL) = (last_number IS NULL)"
)


class CameraRow(Base):
    """A camera as its files name it; '' where they say nothing.

    ``part`` is the grower's own name for one of several cameras of a model whose files don't tell
    them apart; '' otherwise.
    """

    __tablename__ = "camera"
    __table_args__ = strict(UniqueConstraint("make", "model", "serial", "part"))

    id: Mapped[Key]
    make: Mapped[str] = mapped_column(default="")
    model: Mapped[str] = mapped_column(default="")
    serial: Mapped[str] = mapped_column(default="")
    part: Mapped[str] = mapped_column(default="")

    corrections: Mapped[list[ClockCorrectionRow]] = relationship(
        back_populates="camera",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="ClockCorrectionRow.from_moment, ClockCorrectionRow.id",
    )


class ClockCorrectionRow(Base):
    """Seconds to add to what a camera's clock said, from a moment on that same clock.

    It holds up to ``until_moment`` on that clock (NULL: until the next correction of that camera);
    0 says that the clock was set right. ``counted_as`` with ``first_number`` and ``last_number``
    (the last may be smaller: the counting passed its end) bind it to the photos that the camera
    counted so, as after its clock fell back to a day that it had shown before; NULL: all photos.
    ``stood_before`` (JSON) is the correction for the same photos that this one replaced, to be
    taken back to.
    """

    __tablename__ = "clock_correction"
    __table_args__ = strict(
        CheckConstraint("until_moment > from_moment", name="until_after_from"),
        CheckConstraint(_COUNTED_WHOLE, name="counted_whole"),
        Index("ix_clock_correction_camera_id_from_moment", "camera_id", "from_moment"),
        Index(
            "uq_clock_correction_of_all",
            "camera_id",
            "from_moment",
            unique=True,
            sqlite_where=text("first_number IS NULL"),
        ),
    )

    id: Mapped[Key]
    camera_id: Mapped[int] = mapped_column(ForeignKey("camera.id", ondelete="CASCADE"))
    from_moment: Mapped[WallClock]
    until_moment: Mapped[WallClock | None]
    counted_as: Mapped[str | None]
    first_number: Mapped[int | None]
    last_number: Mapped[int | None]
    add_seconds: Mapped[int]
    note: Mapped[str] = mapped_column(default="")
    stood_before: Mapped[Json | None]

    camera: Mapped[CameraRow] = relationship(back_populates="corrections")


class ClockProposalRow(Base):
    """A correction that the photos propose, until the grower has said yes or no.

    One that was turned down stays, so that the same is not proposed again. ``correction_id`` is
    the correction that confirming made.
    """

    __tablename__ = "clock_proposal"
    __table_args__ = strict(
        one_of("kind", ClockReason),
        one_of("state", ProposalState),
        CheckConstraint("until_moment > from_moment", name="until_after_from"),
        CheckConstraint(_COUNTED_WHOLE, name="counted_whole"),
        Index("ix_clock_proposal_camera_id", "camera_id"),
        Index("ix_clock_proposal_correction_id", "correction_id"),
    )

    id: Mapped[Key]
    camera_id: Mapped[int] = mapped_column(ForeignKey("camera.id", ondelete="CASCADE"))
    kind: Mapped[ClockReason]
    from_moment: Mapped[WallClock]
    until_moment: Mapped[WallClock | None]
    counted_as: Mapped[str | None]
    first_number: Mapped[int | None]
    last_number: Mapped[int | None]
    add_seconds: Mapped[int]
    because: Mapped[str]
    state: Mapped[ProposalState] = mapped_column(default=ProposalState.PROPOSED)
    correction_id: Mapped[int | None] = mapped_column(
        ForeignKey("clock_correction.id", ondelete="SET NULL")
    )
    decided_at: Mapped[Instant | None]
