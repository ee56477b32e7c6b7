"""One picture in several files: other names of a photo, pictures compared, copies, bursts."""

from __future__ import annotations

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, Index, LargeBinary, select
from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Instant, Json, Key, one_of, strict
from photolog.records.photos import PhotoRow
from photolog.terms import CopyState

__all__ = ["BurstRow", "CopyRow", "PhotoFileRow", "SketchRow", "is_no_copy"]


class PhotoFileRow(Base):
    """Another file that held a photo's picture: the same bytes, or the same with other metadata.

    ``taken_over`` says in words what the photo has from this file; the file is then ``kept`` among
    the originals, under its own SHA-256, as that other's evidence.
    """

    __tablename__ = "photo_file"
    __table_args__ = strict(
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        CheckConstraint("kept IN (0, 1)", name="kept_yes_no"),
        Index("uq_photo_file_photo_id_sha256_name", "photo_id", "sha256", "name", unique=True),
        Index("ix_photo_file_sha256", "sha256"),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    sha256: Mapped[str]
    name: Mapped[str]
    file_kind: Mapped[str]
    kept: Mapped[bool] = mapped_column(default=False)
    taken_over: Mapped[str] = mapped_column(default="")
    seen_at: Mapped[Instant]


class SketchRow(Base):
    """A photo shrunk to a few pixels, to find copies by; ``compared`` with the others or not."""

    __tablename__ = "sketch"
    __table_args__ = strict(
        CheckConstraint("compared IN (0, 1)", name="compared_yes_no"),
        Index("ix_sketch_compared", "compared"),
    )

    photo_id: Mapped[int] = mapped_column(
        ForeignKey("photo.id", ondelete="CASCADE"), primary_key=True
    )
    pixels: Mapped[bytes] = mapped_column(LargeBinary)
    compared: Mapped[bool] = mapped_column(default=False)


class CopyRow(Base):
    """A photo that is, or may be, an edited or resized copy of another one in the stock book.

    ``certain``: the pixels are the same, so nobody had to be asked. ``stood_before`` (JSON) is how
    the copy was matched before it was one, and what the other took over, for taking it back.
    """

    __tablename__ = "copy"
    __table_args__ = strict(
        one_of("state", CopyState),
        CheckConstraint("photo_id <> of_photo_id", name="not_of_itself"),
        CheckConstraint("certain IN (0, 1)", name="certain_yes_no"),
        Index("uq_copy_photo_id_of_photo_id", "photo_id", "of_photo_id", unique=True),
        Index("ix_copy_of_photo_id", "of_photo_id"),
        Index("ix_copy_state", "state"),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    of_photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    state: Mapped[CopyState] = mapped_column(default=CopyState.PROPOSED)
    certain: Mapped[bool] = mapped_column(default=False)
    because: Mapped[str]
    stood_before: Mapped[Json | None]
    decided_at: Mapped[Instant | None]


class BurstRow(Base):
    """The grower's word on a photo's burst: it is of the one that begins with ``first_photo_id``.

    Its own number there: it stands alone. Photos without a row are gathered by time and picture.
    """

    __tablename__ = "burst"
    __table_args__ = strict(Index("ix_burst_first_photo_id", "first_photo_id"))

    photo_id: Mapped[int] = mapped_column(
        ForeignKey("photo.id", ondelete="CASCADE"), primary_key=True
    )
    first_photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    said_at: Mapped[Instant]


def is_no_copy() -> ColumnElement[bool]:
    """True of the photos that nobody calls a copy of another one."""
    return PhotoRow.id.not_in(select(CopyRow.photo_id).where(CopyRow.state == CopyState.COPY))
