"""Other files with a photo's picture: their names remembered, what only they know taken over."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.cameras import find_or_add
from photolog.book.originals import original_path
from photolog.book.stockbook import StockBook
from photolog.photos.exif import Taken
from photolog.photos.kinds import Kind
from photolog.records import PhotoFileRow, PhotoRow

__all__ = ["KnownFile", "known_file", "remember", "remember_name", "take_over"]


class KnownFile(NamedTuple):
    """The photo that a file is of, and where its own original ought to lie."""

    photo_id: int
    original: Path
    only_metadata: bool


def known_file(book: StockBook, sha256: str) -> KnownFile | None:
    """Whose file it is that has this hash; None: of no photo in the book."""
    columns = select(PhotoRow.id, PhotoRow.sha256, PhotoRow.file_kind)
    with book.reading() as session:
        row = session.execute(columns.where(PhotoRow.sha256 == sha256)).first()
        if row is None:
            others = columns.join(PhotoFileRow, PhotoFileRow.photo_id == PhotoRow.id)
            row = session.execute(others.where(PhotoFileRow.sha256 == sha256)).first()
    if row is None:
        return None
    return KnownFile(
        photo_id=row.id,
        original=original_path(book, row.sha256, row.file_kind),
        only_metadata=row.sha256 != sha256,
    )


def _is_remembered(session: Session, photo_id: int, *, sha256: str, name: str) -> bool:
    """Whether this file is known as one of the photo's, under this name."""
    photo = session.get_one(PhotoRow, photo_id)
    if (photo.sha256, photo.original_name) == (sha256, name):
        return True
    found = session.scalars(
        select(PhotoFileRow.id).where(
            PhotoFileRow.photo_id == photo_id,
            PhotoFileRow.sha256 == sha256,
            PhotoFileRow.name == name,
        )
    )
    return found.first() is not None


def remember(
    session: Session,
    photo_id: int,
    *,
    sha256: str,
    name: str,
    kind: Kind,
    taken_over: str = "",
) -> None:
    """Enter a file as one of the photo's, once for each name; with ``taken_over`` it is kept."""
    if _is_remembered(session, photo_id, sha256=sha256, name=name):
        return
    session.add(
        PhotoFileRow(
            photo_id=photo_id,
            sha256=sha256,
            name=name,
            file_kind=kind,
            kept=bool(taken_over),
            taken_over=taken_over,
            seen_at=datetime.now(UTC),
        )
    )


def remember_name(book: StockBook, photo_id: int, source: Path, sha256: str, kind: Kind) -> None:
    """Remember another name of a photo's own file; nothing is written for a name known already."""
    with book.reading() as session:
        if _is_remembered(session, photo_id, sha256=sha256, name=source.name):
            return
    with book.writing() as session:
        remember(session, photo_id, sha256=sha256, name=source.name, kind=kind)


def take_over(session: Session, photo: PhotoRow, taken: Taken) -> tuple[str, str]:
    """Give a photo what its own file lacks and another file of the same picture says.

    Returns what was taken over and what the two files contradict each other in, both in words and
    '' for nothing. What the photo's own file says always stands.
    """
    said = []
    against = ""
    if photo.taken_at is None and taken.taken_at is not None:
        photo.taken_at, photo.taken_subsec = taken.taken_at, taken.subsec
        photo.taken_offset, photo.date_problem = taken.offset, None
        said.append(f"its date {taken.taken_at}")
        if taken.offset:
            said.append(f"its time zone {taken.offset}")
        if photo.told_on not in (None, taken.taken_at.date()):
            said[0] += f" (and no longer {photo.told_on}, the day that you told)"
    elif photo.taken_at is not None and taken.taken_at not in (None, photo.taken_at):
        against = f"it says {taken.taken_at}, the photo keeps {photo.taken_at}"
    elif photo.taken_at is not None and photo.taken_at == taken.taken_at:
        if photo.taken_offset is None and taken.offset is not None:
            photo.taken_offset = taken.offset
            said.append(f"its time zone {taken.offset}")
        if photo.taken_subsec is None:
            photo.taken_subsec = taken.subsec
    if against:
        return "", against
    if photo.camera_id is None and (taken.make or taken.model):
        photo.camera_id = find_or_add(
            session,
            make=taken.make or "",
            model=taken.model or "",
            serial=taken.serial or "",
            name=photo.original_name,
        )
        said.append(f"its camera {taken.model or taken.make}")
    if photo.focal35_mm is None and taken.focal35_mm is not None:
        photo.focal35_mm = taken.focal35_mm
        said.append("its lens")
    return ", ".join(said), ""
