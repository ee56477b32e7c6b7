"""Cameras, and how far each one's clock was out from date to date."""

from __future__ import annotations

from sqlalchemy import ForeignKey, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Key, WallClock, strict

__all__ = ["CameraRow", "ClockCorrectionRow"]


class CameraRow(Base):
    """A camera as its files name it; '' where they say nothing."""

    __tablename__ = "camera"
    __table_args__ = strict(UniqueConstraint("make", "model", "serial"))

    id: Mapped[Key]
    make: Mapped[str] = mapped_column(default="")
    model: Mapped[str] = mapped_column(default="")
    serial: Mapped[str] = mapped_column(default="")

    corrections: Mapped[list[ClockCorrectionRow]] = relationship(
        back_populates="camera",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="ClockCorrectionRow.from_moment",
    )


class ClockCorrectionRow(Base):
    """Seconds to add to what a camera's clock said, from a moment on that same clock.

    It holds until the next correction of that camera; 0 says that the clock was set right.
    """

    __tablename__ = "clock_correction"
    __table_args__ = strict(UniqueConstraint("camera_id", "from_moment"))

    id: Mapped[Key]
    camera_id: Mapped[int] = mapped_column(ForeignKey("camera.id", ondelete="CASCADE"))
    from_moment: Mapped[WallClock]
    add_seconds: Mapped[int]
    note: Mapped[str] = mapped_column(default="")

    camera: Mapped[CameraRow] = relationship(back_populates="corrections")
