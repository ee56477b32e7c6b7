"""Files that a watched folder held, and what became of each."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Instant, strict

__all__ = ["WatchedFileRow"]


class WatchedFileRow(Base):
    """One file as it was when it was dealt with: a photo in the book, or refused and why.

    A file of the same path, size and time of change is not looked at again; ``sha256`` is of the
    photo that it was taken in as.
    """

    __tablename__ = "watched_file"
    __table_args__ = strict(
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        CheckConstraint("(photo_id IS NULL) = (refused IS NOT NULL)", name="photo_or_refused"),
        CheckConstraint("(photo_id IS NULL) = (sha256 IS NULL)", name="photo_has_sha256"),
        Index("ix_watched_file_photo_id", "photo_id"),
    )

    path: Mapped[str] = mapped_column(primary_key=True)
    n_bytes: Mapped[int]
    modified_ns: Mapped[int]
    sha256: Mapped[str | None]
    photo_id: Mapped[int | None] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    refused: Mapped[str | None]
    seen_at: Mapped[Instant]
