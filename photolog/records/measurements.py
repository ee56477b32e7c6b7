"""Measurements with their origin, and their sizes: added, never overwritten."""

from __future__ import annotations

from datetime import date

from sqlalchemy import DDL, CheckConstraint, ForeignKey, Index, event, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import (
    Base,
    Instant,
    Json,
    Key,
    Millimetres,
    is_probability,
    one_of,
    strict,
)
from photolog.terms import Acceptance, HowMade, MeasureOf, MeasureStatus

__all__ = ["KEPT_TRIGGERS", "MeasurementRow", "SizeRow"]


class MeasurementRow(Base):
    """One measuring of one photo, or the refusal of it, and how it was made.

    ``how_made`` says whether by the program or by hand; a tape's or a ring's reading has the day
    ``read_on`` that it was taken, and neither card nor scale. ``made_by`` is the program and its
    version ('measure 0.1.0'), ``settings`` every option used (JSON object), ``flags`` a JSON list
    of words, ``outline`` and ``callipers`` JSON lists of [x, y] in pixels of the upright picture.
    ``mm_per_px`` is the scale at the subject. ``colours`` are a bloom's (JSON: the main colours
    with CIELAB, share and word, and what the light was judged by).
    """

    __tablename__ = "measurement"
    __table_args__ = strict(
        one_of("measured_of", MeasureOf),
        one_of("status", MeasureStatus),
        one_of("how_made", HowMade),
        one_of("acceptance", Acceptance),
        is_probability("outline_confidence"),
        CheckConstraint("(status = 'refused') = (reason IS NOT NULL)", name="refused_has_reason"),
        CheckConstraint("status = 'refused' OR mm_per_px > 0.0", name="measured_has_scale"),
        CheckConstraint(
            "(how_made = 'tape or ring') = (read_on IS NOT NULL)", name="read_off_has_day"
        ),
        CheckConstraint("status = 'measured' OR how_made = 'measured'", name="by_hand_measured"),
        CheckConstraint("status = 'measured' OR acceptance <> 'accepted'", name="none_accepted"),
        CheckConstraint("lift_u_mm >= 0.0", name="lift_u_not_negative"),
        Index("ix_measurement_photo_id", "photo_id"),
        Index("ix_measurement_printing_id", "printing_id"),
        Index(
            "uq_measurement_one_accepted",
            "photo_id",
            "measured_of",
            unique=True,
            sqlite_where=text("acceptance = 'accepted'"),
        ),
    )

    id: Mapped[Key]
    photo_id: Mapped[int] = mapped_column(ForeignKey("photo.id", ondelete="CASCADE"))
    measured_of: Mapped[MeasureOf]
    status: Mapped[MeasureStatus]
    how_made: Mapped[HowMade] = mapped_column(default=HowMade.MEASURED)
    read_on: Mapped[date | None]
    refusal: Mapped[str | None]
    reason: Mapped[str | None]
    remedy: Mapped[str | None]
    made_by: Mapped[str]
    made_at: Mapped[Instant]
    card_design: Mapped[str | None]
    printing_id: Mapped[int | None] = mapped_column(ForeignKey("printing.id", ondelete="RESTRICT"))
    card_corners: Mapped[int | None]
    card_residual_px: Mapped[float | None]
    tilt_deg: Mapped[float | None]
    distance_mm: Mapped[Millimetres | None]
    lift_mm: Mapped[Millimetres | None]
    lift_u_mm: Mapped[Millimetres | None]
    settings: Mapped[Json]
    flags: Mapped[Json]
    outline: Mapped[Json | None]
    outline_confidence: Mapped[float | None]
    edge_sigma_px: Mapped[float | None]
    callipers: Mapped[Json | None]
    mm_per_px: Mapped[float | None]
    colours: Mapped[Json | None]
    acceptance: Mapped[Acceptance] = mapped_column(default=Acceptance.PROPOSED)
    decided_at: Mapped[Instant | None]

    sizes: Mapped[list[SizeRow]] = relationship(
        back_populates="measurement",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="SizeRow.id",
    )


class SizeRow(Base):
    """One size of one measurement, in the unit of its name; ``u`` NULL: could not be estimated."""

    __tablename__ = "size"
    __table_args__ = strict(
        CheckConstraint("u >= 0.0", name="u_not_negative"),
        CheckConstraint("low <= high", name="low_to_high"),
        Index("uq_size_measurement_id_name", "measurement_id", "name", unique=True),
    )

    id: Mapped[Key]
    measurement_id: Mapped[int] = mapped_column(ForeignKey("measurement.id", ondelete="CASCADE"))
    name: Mapped[str]
    value: Mapped[float]
    u: Mapped[float | None]
    low: Mapped[float | None]
    high: Mapped[float | None]
    components: Mapped[Json]

    measurement: Mapped[MeasurementRow] = relationship(back_populates="sizes")


# All columns but the grower's decision: SQLAlchemy names only changed columns in an UPDATE.
KEPT_TRIGGERS = (
    """CREATE TRIGGER measurement_kept BEFORE UPDATE OF
id, photo_id, measured_of, status, how_made, read_on, refusal, reason, remedy, made_by, made_at,
card_design, printing_id, card_corners, card_residual_px, tilt_deg, distance_mm, lift_mm, lift_u_mm,
settings, flags, outline, outline_confidence, edge_sigma_px, callipers, mm_per_px, colours
ON measurement
BEGIN SELECT RAISE(ABORT, 'a measurement is added, never overwritten'); END""",
    """CREATE TRIGGER size_kept BEFORE UPDATE ON size
BEGIN SELECT RAISE(ABORT, 'a size is added, never overwritten'); END""",
)

for _table, _trigger in zip(("measurement", "size"), KEPT_TRIGGERS, strict=True):
    event.listen(Base.metadata.tables[_table], "after_create", DDL(_trigger))  # type: ignore[no-untyped-call]
