"""One photo read for the stock book: pixels, date, camera, marks and small picture, in one go."""

from __future__ import annotations

import errno
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple

from measure import Picture, read_marks
from photolog import __version__
from photolog.photos.decode import open_upright, opened, upright_pixels
from photolog.photos.exif import Taken, taken_from
from photolog.photos.hashes import content_of, likeness
from photolog.photos.kinds import Kind, PhotoError, sniff
from photolog.photos.marks import marks_to_json, subject_of_marks
from photolog.photos.thumbnails import save_jpeg, shrunk
from photolog.terms import Subject

__all__ = [
    "MarksRead",
    "PhotoRead",
    "ReadJob",
    "Unreadable",
    "made_by",
    "read_marks_of",
    "read_photo",
]

_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadJob:
    """A file to read, where its small picture goes, and what counts as now for its date."""

    path: Path
    thumbnail: Path
    now: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRead:
    """What was read; sizes in pixels, upright.

    ``marks`` is JSON, with the picture's likeness; None: searching for them failed, and the photo
    is to be searched again some other time.
    """

    kind: Kind
    width_px: int
    height_px: int
    content_sha256: str
    taken: Taken
    marks: dict[str, Any] | None
    subject: Subject


class MarksRead(NamedTuple):
    """The marks of a photo as JSON, and what it is of by them."""

    marks: dict[str, Any]
    subject: Subject


@dataclass(frozen=True, slots=True, kw_only=True)
class Unreadable:
    """A file that is no photo or a damaged one; ``full``: the disk had no room instead."""

    reason: str
    remedy: str
    full: bool = False


def made_by() -> str:
    """The measuring program and its version, as kept beside everything that it made."""
    return f"measure {__version__}"


def read_photo(job: ReadJob) -> PhotoRead | Unreadable:
    """Read a photo and write its small picture. Bad files come back as ``Unreadable``."""
    try:
        kind = sniff(job.path)
        with opened(job.path) as image:
            taken = taken_from(image, job.path, now=job.now)
            content = content_of(image, job.path)
            picture = upright_pixels(image)
    except PhotoError as error:
        return Unreadable(reason=error.reason, remedy=error.remedy)
    small = shrunk(picture)
    try:
        save_jpeg(small, job.thumbnail)
    except OSError as error:
        return Unreadable(
            reason=f"Its small picture can't be written ({error.strerror}).",
            remedy="Look at the stock book's folder and its disk.",
            full=error.errno in _FULL,
        )
    height_px, width_px = picture.shape[:2]
    marks, subject = _marks(picture, small)
    return PhotoRead(
        kind=kind,
        width_px=width_px,
        height_px=height_px,
        content_sha256=content,
        taken=taken,
        marks=marks,
        subject=subject,
    )


def read_marks_of(path: Path) -> MarksRead | None:
    """Search an original for marks again; None when it can't be opened or the search fails."""
    try:
        picture = open_upright(path)
    except PhotoError:
        return None
    marks, subject = _marks(picture, shrunk(picture))
    return MarksRead(marks, subject) if marks is not None else None


def _marks(picture: Picture, small: Picture) -> tuple[dict[str, Any] | None, Subject]:
    try:
        marks = read_marks(picture)
    except Exception:
        # A fault in searching must not cost the photo: it is kept, and searched again later.
        return None, Subject.UNKNOWN
    kept = marks_to_json(marks) | {"likeness": f"{likeness(small):016x}"}
    return kept, subject_of_marks(marks, longest_px=max(picture.shape[:2]))
