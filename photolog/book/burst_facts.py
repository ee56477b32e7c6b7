"""What tells bursts, gathered from the rows of photos."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.photos.bursts import BurstShot
from photolog.records import BurstRow, PhotoRow
from photolog.terms import Subject

__all__ = ["burst_shot", "said_of_bursts"]


def said_of_bursts(session: Session) -> dict[int, int]:
    """The grower's word: for a photo, the first photo of its burst."""
    rows = session.execute(select(BurstRow.photo_id, BurstRow.first_photo_id))
    return {row.photo_id: row.first_photo_id for row in rows}


def burst_shot(row: PhotoRow) -> BurstShot:
    """A photo as bursts are told by; its subjects are to be loaded with it."""
    return BurstShot(
        photo_id=row.id,
        camera=row.camera_id,
        taken_at=row.taken_at,
        subsec=row.taken_subsec or "",
        name=row.original_name,
        shows=row.subject or Subject.UNKNOWN,
        of=_of((one.plant_id, one.batch_id) for one in row.subjects),
        likeness=_likeness(row.marks),
    )


def _of(stock: Iterable[tuple[int | None, int | None]]) -> str:
    return ",".join(sorted(f"{plant or ''}/{batch or ''}" for plant, batch in stock))


def _likeness(marks: dict[str, Any] | None) -> int | None:
    return int(marks["likeness"], 16) if marks and "likeness" in marks else None
