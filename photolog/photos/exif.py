"""When and with what a photo was taken, as its own file says; never the file's modified time."""

from __future__ import annotations

import logging
import math
import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO

import exifread
from PIL import Image

from photolog.photos.decode import opened

__all__ = ["Taken", "read_taken", "taken_from"]

# exifread reports every oddity of a file to its log; what matters is said in `Taken.problem`.
logging.getLogger("exifread").setLevel(logging.CRITICAL)

_DATE = re.compile(
    r"(\d{4})[:\-/.](\d{1,2})[:\-/.](\d{1,2})[ T]+(\d{1,2}):(\d{1,2}):(\d{1,2})"
    r"(?:\.(\d+))?\s*(Z|[+-]\d{2}:\d{2})?",
    # Only the digits 0 to 9: no camera writes others, and garbage can look like them.
    re.ASCII,
)
_OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})", re.ASCII)

# No camera wrote dated photo files before then; clocks without a battery start in 1970 or 1980.
_FIRST_YEAR = 1990

# A camera's notes take some hundreds of reads; in damaged ones a directory may claim 65,535
# entries, and each may point at another, which takes seconds.
_MOST_READS = 30_000

# Wall clocks run up to 14 hours ahead of UTC.
_FURTHEST_AHEAD = timedelta(hours=14)


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What a photo's file says of when and with what it was taken; None where it says nothing.

    Attributes
    ----------
    taken_at : datetime or None
        Wall clock where the camera was, without a zone, to the second.
    offset : str or None
        The zone's offset from UTC, ``+12:00``, where the camera wrote one (few do).
    subsec : str or None
        Decimals of the second, as digits.
    make, model, serial : str or None
        The camera.
    focal35_mm : float or None
        Focal length in terms of 35 mm film.
    exif_size : (int, int) or None
        Width and height that the file claims; differs from the picture's own after cropping.
    digital_zoom : float or None
        Digital zoom ratio; None when not written or not used.
    problem : str or None
        Why there is no date, in a sentence; None when there is one.
    """

    taken_at: datetime | None = None
    offset: str | None = None
    subsec: str | None = None
    make: str | None = None
    model: str | None = None
    serial: str | None = None
    focal35_mm: float | None = None
    exif_size: tuple[int, int] | None = None
    digital_zoom: float | None = None
    problem: str | None = None


def read_taken(path: Path, *, now: datetime | None = None) -> Taken:
    """What the file says of when and with what it was taken.

    ``now`` (aware; the clock's own when None) tells dates in the future. Raises ``PhotoError``
    when the file can't be opened as a photo.
    """
    with opened(path) as image:
        return taken_from(image, path, now=now)


def taken_from(image: Image.Image, path: Path, *, now: datetime | None = None) -> Taken:
    """The same from an image already opened, which need not be decoded yet."""
    try:
        tags = _tags(image, path)
    except Exception as error:
        # exifread raises nearly anything on damaged blocks; the picture itself may be fine.
        return Taken(
            problem=f"The date can't be read: the camera's notes in the file are damaged "
            f"({type(error).__name__})."
        )
    if not tags:
        return Taken(problem="The file carries no camera data, so no date.")
    taken_at, subsec, offset, problem = _when(tags, now=now or datetime.now(UTC))
    return Taken(
        taken_at=taken_at,
        offset=offset,
        subsec=subsec,
        make=_text(tags, "Image Make"),
        model=_text(tags, "Image Model"),
        serial=_text(tags, "EXIF BodySerialNumber"),
        focal35_mm=_positive(tags, "EXIF FocalLengthIn35mmFilm"),
        exif_size=_size(tags),
        digital_zoom=_positive(tags, "EXIF DigitalZoomRatio"),
        problem=problem,
    )


def _tags(image: Image.Image, path: Path) -> Mapping[str, Any]:
    """Every EXIF tag by exifread's name, the block found by Pillow, parsed as TIFF."""
    if image.format == "TIFF":
        with path.open("rb") as file:
            return _parse(file)
    block = image.info.get("exif")
    if not block and image.format == "PNG":
        block = _png_block(image)
    if not block:
        return {}
    return _parse(BytesIO(bytes(block).removeprefix(b"Exif\0\0")))


def _parse(file: BinaryIO) -> Mapping[str, Any]:
    bounded: Any = _Bounded(file)
    tags: Mapping[str, Any] = exifread.process_file(bounded, details=False, extract_thumbnail=False)
    return tags


class _Bounded:
    """A file that is read from so many times and no more."""

    def __init__(self, file: BinaryIO) -> None:
        self.seek, self.tell = file.seek, file.tell
        self._read = file.read
        self._left = _MOST_READS

    def read(self, size: int = -1) -> bytes:
        self._left -= 1
        if self._left < 0:
            msg = "the directories have no end"
            raise ValueError(msg)
        return self._read(size)


def _png_block(image: Image.Image) -> bytes | None:
    """The EXIF block of a PNG that keeps it after the pixels, or as text in the old manner."""
    image.load()
    block = image.info.get("exif")
    old = image.info.get("Raw profile type exif")
    if not block and isinstance(old, str):
        block = bytes.fromhex("".join(old.split("\n")[3:]))
    return block


def _when(
    tags: Mapping[str, Any], *, now: datetime
) -> tuple[datetime | None, str | None, str | None, str | None]:
    """(wall clock, decimals of the second, offset, problem)."""
    problem = None
    for name, kind in (("DateTimeOriginal", "Original"), ("DateTimeDigitized", "Digitized")):
        text = _raw_text(tags, f"EXIF {name}")
        if text is None:
            continue
        found = _parse_date(text, now=now)
        if isinstance(found, str):
            problem = problem or found
            continue
        taken_at, subsec, offset = found
        subsec = subsec or _digits(_text(tags, f"EXIF SubSecTime{kind}"))
        offset = (
            offset
            or _offset(_text(tags, f"EXIF OffsetTime{kind}"))
            or _offset(_text(tags, "EXIF OffsetTime"))
        )
        return taken_at, subsec, offset, None
    if problem is None:
        changed = _text(tags, "Image DateTime")
        problem = (
            f"The file says only when it was last changed ({changed}), not when it was taken."
            if changed
            else "The camera wrote no date into the file."
        )
    return None, None, None, problem


def _parse_date(text: str, *, now: datetime) -> tuple[datetime, str | None, str | None] | str:
    """The date in an EXIF text, or the sentence that says why there is none."""
    shown = text.strip("\0 \t\r\n")
    if not shown.strip("0:-/. T"):
        what = "all zeros" if "0" in shown else "blank"
        return f"The date in the file is {what}: the camera's clock was not set."
    match = _DATE.fullmatch(shown)
    if match is None:
        return f"The date in the file can't be understood: {shown[:40]!r}."
    try:
        taken_at = datetime(*(int(part) for part in match.groups()[:6]))  # type: ignore[arg-type]
    except ValueError:
        return f"The date in the file is impossible: {shown[:40]!r}."
    if taken_at.year < _FIRST_YEAR:
        return f"The date in the file is {shown[:40]}: the camera's clock was not set."
    if taken_at > now.astimezone(UTC).replace(tzinfo=None) + _FURTHEST_AHEAD:
        return f"The date in the file is in the future: {shown[:40]}."
    return taken_at, match[7], _offset(match[8])


def _raw_text(tags: Mapping[str, Any], name: str) -> str | None:
    tag = tags.get(name)
    if tag is None:
        return None
    values = tag.values
    if isinstance(values, bytes):
        return values.decode("utf-8", errors="replace")
    if isinstance(values, str):
        return values
    if isinstance(values, list) and values and isinstance(values[0], str):
        return values[0]
    return str(values)


def _text(tags: Mapping[str, Any], name: str) -> str | None:
    text = _raw_text(tags, name)
    if text is None:
        return None
    return text.split("\0")[0].strip() or None


def _digits(text: str | None) -> str | None:
    return text if text is not None and text.isdigit() and text.isascii() else None


def _offset(text: str | None) -> str | None:
    """``+12:00`` from what the camera wrote; None for what is no offset on earth."""
    if text == "Z":
        return "+00:00"
    match = _OFFSET.fullmatch(text or "")
    if match is None or int(match[2]) > 14 or int(match[3]) > 59:
        return None
    return f"{match[1]}{match[2]}:{match[3]}"


def _number(tags: Mapping[str, Any], name: str) -> float | None:
    tag = tags.get(name)
    values = getattr(tag, "values", None)
    # exifread hands a single floating-point value back as a list of one tuple.
    while isinstance(values, (list, tuple)):
        values = values[0] if values else None
    if values is None:
        return None
    # A camera that doesn't know writes the ratio 0/0.
    with suppress(ZeroDivisionError, TypeError, ValueError, OverflowError):
        number = float(values)
        return number if math.isfinite(number) else None
    return None


def _positive(tags: Mapping[str, Any], name: str) -> float | None:
    number = _number(tags, name)
    return number if number is not None and number > 0 else None


def _size(tags: Mapping[str, Any]) -> tuple[int, int] | None:
    width = _positive(tags, "EXIF ExifImageWidth")
    height = _positive(tags, "EXIF ExifImageLength")
    return (int(width), int(height)) if width and height else None
