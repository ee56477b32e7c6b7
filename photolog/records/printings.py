"""Printings of the scale cards, with what a ruler read on their two bars."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, Index
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Instant, Key, Millimetres, strict

__all__ = ["PrintingRow"]


class PrintingRow(Base):
    """One ruler reading of one printing; it holds for photos from ``in_use_since`` on."""

    __tablename__ = "printing"
    __table_args__ = strict(
        CheckConstraint("across_mm BETWEEN 80.0 AND 120.0", name="across_near_100"),
        CheckConstraint("along_mm BETWEEN 80.0 AND 120.0", name="along_near_100"),
        Index("ix_printing_design_in_use_since", "design", "in_use_since"),
    )

    id: Mapped[Key]
    design: Mapped[str]
    read_on: Mapped[date]
    in_use_since: Mapped[date]
    across_mm: Mapped[Millimetres]
    along_mm: Mapped[Millimetres]
    note: Mapped[str] = mapped_column(default="")
    entered_at: Mapped[Instant]
