"""What cameras' clocks are judged by, read from the tables in a few queries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.cameras import ClockCorrection, clocks_of, corrected, correction_of, offset_s
from photolog.photos.clock_shots import Shot, own_tag
from photolog.photos.dates_doubted import DoubtedBlock, doubted_blocks
from photolog.photos.facts import PhotoFacts, tags_in_view
from photolog.records import PhotoRow
from photolog.records.copies import is_no_copy

__all__ = ["ClocksRead", "clocks_read"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ClocksRead:
    """Every dated photo of a known camera, what their counting speaks against, the corrections."""

    shots: tuple[Shot, ...]
    doubted: tuple[DoubtedBlock, ...]
    corrections: Mapping[int, tuple[ClockCorrection, ...]]


def clocks_read(session: Session) -> ClocksRead:
    """What is known of the cameras' clocks now."""
    corrections = clocks_of(session)
    rows = session.execute(
        select(
            PhotoRow.id,
            PhotoRow.original_name,
            PhotoRow.taken_at,
            PhotoRow.taken_offset,
            PhotoRow.camera_id,
            PhotoRow.marks,
        ).where(PhotoRow.taken_at.is_not(None), PhotoRow.camera_id.is_not(None), is_no_copy())
    )
    shots, photos = [], []
    for row in rows:
        of_camera = corrections.get(row.camera_id, ())
        marks: dict[str, Any] = row.marks or {}
        photo = PhotoFacts(
            photo_id=row.id,
            name=row.original_name,
            taken_at=corrected(row.taken_at, of_camera, row.original_name),
            camera=row.camera_id,
            longest_px=1,
            shows=None,
            has_card=bool(marks.get("cards")),
            tags=tags_in_view(row.marks),
        )
        photos.append(photo)
        holds = correction_of(row.taken_at, of_camera, row.original_name)
        shots.append(
            Shot(
                photo_id=row.id,
                name=row.original_name,
                camera=row.camera_id,
                clock=row.taken_at,
                at=photo.taken_at or row.taken_at,
                correction=None if holds is None else holds.id,
                zone_s=offset_s(row.taken_offset) if row.taken_offset else None,
                tag=own_tag(photo),
            )
        )
    return ClocksRead(
        shots=tuple(shots), doubted=tuple(doubted_blocks(photos)), corrections=corrections
    )
