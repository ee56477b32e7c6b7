"""Days told by the grower of photos whose files have no date."""

from __future__ import annotations

from sqlalchemy import ForeignKey
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Instant, Key, strict

__all__ = ["DayToldRow"]


class DayToldRow(Base):
    """A photo whose day was told together with others; the day is in ``photo.told_on``.

    Photos of one ``told_at`` were told at once; ``place`` is their order in it, from 0, by name.
    """

    __tablename__ = "day_told"
    __table_args__ = strict()

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"), unique=True)
    place: Mapped[int]
    told_at: Mapped[Instant]
