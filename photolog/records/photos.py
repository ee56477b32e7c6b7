"""Photos, the plants and batches that each belongs to, and the candidates of those that wait."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ColumnElement, ForeignKey, Index, Select, select
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import (
    Base,
    Instant,
    Json,
    Key,
    Pixels,
    Probability,
    WallClock,
    is_probability,
    one_of,
    one_set,
    strict,
)
from photolog.records.cameras import CameraRow
from photolog.terms import BloomStage, ClumpStage, MatchState, Subject

__all__ = ["CandidateRow", "PhotoRow", "PhotoSubjectRow", "candidates_where"]


class PhotoRow(Base):
    """One original, kept whole under its SHA-256.

    ``taken_at`` is the camera's clock as it stood, uncorrected, NULL where the file gives no date
    that can be believed (``date_problem`` then says why, and ``told_on`` is the day that the grower
    told instead); ``taken_offset`` is the zone where the file gives one ('+12:00'). ``width_px``
    and ``height_px`` are upright; ``exif_width_px`` and ``exif_height_px`` are what the file
    claims, as stored. ``marks`` is what the detection pass read (JSON; NULL: not read yet), by
    ``marks_read_by``.
    """

    __tablename__ = "photo"
    __table_args__ = strict(
        one_of("subject", Subject),
        one_of("match_state", MatchState),
        CheckConstraint("length(sha256) = 64", name="sha256_whole"),
        CheckConstraint("length(content_sha256) = 64", name="content_sha256_whole"),
        CheckConstraint("width_px > 0 AND height_px > 0", name="has_pixels"),
        CheckConstraint("n_bytes > 0", name="has_bytes"),
        CheckConstraint("held IN ('level', 'behind', 'bench')", name="held_known"),
        CheckConstraint("subject_by_hand IN (0, 1)", name="subject_by_hand_yes_no"),
        CheckConstraint("match_by_hand IN (0, 1)", name="match_by_hand_yes_no"),
        Index("ix_photo_content_sha256", "content_sha256"),
        Index("ix_photo_taken_at", "taken_at"),
        Index("ix_photo_camera_id_taken_at", "camera_id", "taken_at"),
        Index("ix_photo_match_state", "match_state"),
    )

    id: Mapped[Key]
    sha256: Mapped[str] = mapped_column(unique=True)
    content_sha256: Mapped[str]
    original_name: Mapped[str]
    file_kind: Mapped[str]
    n_bytes: Mapped[int]
    width_px: Mapped[Pixels]
    height_px: Mapped[Pixels]
    taken_at: Mapped[WallClock | None]
    taken_offset: Mapped[str | None]
    taken_subsec: Mapped[str | None]
    date_problem: Mapped[str | None]
    told_on: Mapped[date | None]
    file_modified_at: Mapped[Instant | None]
    camera_id: Mapped[int | None] = mapped_column(ForeignKey("camera.id", ondelete="RESTRICT"))
    focal35_mm: Mapped[float | None]
    exif_width_px: Mapped[Pixels | None]
    exif_height_px: Mapped[Pixels | None]
    digital_zoom: Mapped[float | None]
    taken_in_at: Mapped[Instant]
    marks: Mapped[Json | None]
    marks_read_by: Mapped[str | None]
    subject: Mapped[Subject] = mapped_column(default=Subject.UNKNOWN)
    subject_by_hand: Mapped[bool] = mapped_column(default=False)
    held: Mapped[str | None]
    match_state: Mapped[MatchState] = mapped_column(default=MatchState.WAITING)
    match_by_hand: Mapped[bool] = mapped_column(default=False)
    waiting_because: Mapped[str | None]

    camera: Mapped[CameraRow | None] = relationship()
    subjects: Mapped[list[PhotoSubjectRow]] = relationship(
        back_populates="photo",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="PhotoSubjectRow.id",
    )
    candidates: Mapped[list[CandidateRow]] = relationship(
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="CandidateRow.probability.desc(), CandidateRow.id",
    )


class PhotoSubjectRow(Base):
    """A photo belongs to this plant or batch; there may be several of these to one photo.

    ``reason`` is the short reason ('tag', 'run', 'day book', 'by hand'), ``because`` the sentence
    for the grower. ``stage`` is the bloom's or the clump's stage where it was told.
    """

    __tablename__ = "photo_subject"
    __table_args__ = strict(
        one_set("plant_id", "batch_id"),
        is_probability("probability"),
        one_of("stage", BloomStage, ClumpStage),
        CheckConstraint("by_hand IN (0, 1)", name="by_hand_yes_no"),
        Index("uq_photo_subject_plant", "photo_id", "plant_id", unique=True),
        Index("uq_photo_subject_batch", "photo_id", "batch_id", unique=True),
        Index("ix_photo_subject_plant_id", "plant_id"),
        Index("ix_photo_subject_batch_id", "batch_id"),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="RESTRICT"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="RESTRICT"))
    reason: Mapped[str]
    because: Mapped[str] = mapped_column(default="")
    probability: Mapped[Probability]
    by_hand: Mapped[bool] = mapped_column(default=False)
    stage: Mapped[str | None]
    matched_at: Mapped[Instant]

    photo: Mapped[PhotoRow] = relationship(back_populates="subjects")


class CandidateRow(Base):
    """A plant or batch that a waiting photo may belong to, with its reason and probability."""

    __tablename__ = "candidate"
    __table_args__ = strict(
        one_set("plant_id", "batch_id"),
        is_probability("probability"),
        Index("ix_candidate_photo_id", "photo_id"),
        Index("ix_candidate_plant_id", "plant_id"),
        Index("ix_candidate_batch_id", "batch_id"),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    plant_id: Mapped[int | None] = mapped_column(ForeignKey("plant.id", ondelete="CASCADE"))
    batch_id: Mapped[int | None] = mapped_column(ForeignKey("batch.id", ondelete="CASCADE"))
    reason: Mapped[str]
    because: Mapped[str] = mapped_column(default="")
    probability: Mapped[Probability]


def candidates_where(
    *where: ColumnElement[bool],
) -> Select[int, int | None, int | None, str, str, float]:
    """The candidates of the photos of which this is true, likeliest first.

    Photo, plant or batch, reason, why and probability: columns and not rows, for a season may have
    tens of thousands.
    """
    return (
        select(
            CandidateRow.photo_id,
            CandidateRow.plant_id,
            CandidateRow.batch_id,
            CandidateRow.reason,
            CandidateRow.because,
            CandidateRow.probability,
        )
        .join(PhotoRow, PhotoRow.id == CandidateRow.photo_id)
        .where(*where)
        .order_by(CandidateRow.probability.desc(), CandidateRow.id)
    )
