"""Where a photo's original, small picture and overlay lie in the stock book's folder."""

from __future__ import annotations

from collections.abc import Collection
from pathlib import Path

from sqlalchemy import select

from photolog.book.errors import Unknown
from photolog.book.stockbook import StockBook
from photolog.photos.kinds import EXTENSIONS, KINDS, PhotoError
from photolog.photos.thumbnails import thumbnail
from photolog.records import PhotoRow

__all__ = [
    "original_of",
    "original_path",
    "overlay_path",
    "thumbnail_of",
    "thumbnail_path",
    "thumbnails_of",
]


def original_path(book: StockBook, sha256: str, file_kind: str) -> Path:
    """Where the original of this hash and kind lies."""
    kind = next(kind for kind in KINDS if kind == file_kind)
    return book.photos / sha256[:2] / f"{sha256}{EXTENSIONS[kind]}"


def thumbnail_path(book: StockBook, sha256: str) -> Path:
    """Where the small picture of the photo of this hash lies, or is to lie."""
    return book.made / "thumbnails" / sha256[:2] / f"{sha256}.jpg"


def overlay_path(book: StockBook, sha256: str, key: str) -> Path:
    """Where a photo's picture with card, outline and callipers drawn in lies, or is to lie.

    ``key`` tells apart several measurements of one photo.
    """
    return book.made / "overlays" / sha256[:2] / f"{sha256}-{key}.jpg"


def original_of(book: StockBook, photo_id: int) -> Path:
    """A photo's original; ``Unknown`` when there is no such photo. It is only to be read."""
    sha256, file_kind = _named(book, photo_id)
    return original_path(book, sha256, file_kind)


def thumbnail_of(book: StockBook, photo_id: int) -> Path:
    """A photo's small picture, made again where it was thrown away."""
    sha256, file_kind = _named(book, photo_id)
    path = thumbnail_path(book, sha256)
    if not path.exists():
        thumbnail(original_path(book, sha256, file_kind), path)
    return path


def thumbnails_of(book: StockBook, ids: Collection[int]) -> dict[int, Path | PhotoError]:
    """Photos' small pictures, made again where they were thrown away; else why one can't be."""
    with book.reading() as session:
        rows = session.execute(
            select(PhotoRow.id, PhotoRow.sha256, PhotoRow.file_kind).where(PhotoRow.id.in_(ids))
        ).all()
    found: dict[int, Path | PhotoError] = {}
    for photo_id, sha256, file_kind in rows:
        path = thumbnail_path(book, sha256)
        found[photo_id] = path
        if not path.exists():
            try:
                thumbnail(original_path(book, sha256, file_kind), path)
            except PhotoError as error:
                found[photo_id] = error
    return found


def _named(book: StockBook, photo_id: int) -> tuple[str, str]:
    with book.reading() as session:
        row = session.get(PhotoRow, photo_id)
        if row is None:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)
        return row.sha256, row.file_kind
