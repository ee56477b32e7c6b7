"""Which kind of photo a file really is, told from its first bytes and never from its name."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

__all__ = ["EXTENSIONS", "KINDS", "NAMES", "Kind", "PhotoError", "looks_like_photo", "sniff"]

Kind = Literal["jpeg", "png", "tiff", "webp", "heic", "avif"]

KINDS: tuple[Kind, ...] = ("jpeg", "png", "tiff", "webp", "heic", "avif")

NAMES: dict[Kind, str] = {
    "jpeg": "JPEG",
    "png": "PNG",
    "tiff": "TIFF",
    "webp": "WebP",
    "heic": "HEIC",
    "avif": "AVIF",
}

EXTENSIONS: dict[Kind, str] = {
    "jpeg": ".jpg",
    "png": ".png",
    "tiff": ".tif",
    "webp": ".webp",
    "heic": ".heic",
    "avif": ".avif",
}
"""The ending under which a file of this kind is kept."""

_ENDINGS: dict[str, Kind] = {
    ".jpg": "jpeg",
    ".jpeg": "jpeg",
    ".jpe": "jpeg",
    ".jfif": "jpeg",
    ".png": "png",
    ".tif": "tiff",
    ".tiff": "tiff",
    ".webp": "webp",
    ".heic": "heic",
    ".heif": "heic",
    ".hif": "heic",
    ".avif": "avif",
}

_RAW_ENDINGS = frozenset(
    (".dng", ".nef", ".nrw", ".arw", ".cr2", ".cr3", ".crw", ".orf", ".pef", ".rw2", ".raf", ".srw")
)

_HEIC_BRANDS = frozenset(
    (b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1")
)
_AVIF_BRANDS = frozenset((b"avif", b"avis"))

_TAKEN = "JPEG, PNG, TIFF, WebP, HEIC or AVIF"

# What else people keep among their photos, by the first bytes.
_OTHERS: tuple[tuple[bytes, str], ...] = (
    (b"GIF8", "a GIF picture"),
    (b"BM", "a BMP picture"),
    (b"%PDF", "a PDF document"),
    (b"PK\x03\x04", "a zip archive or office document"),
    (b"8BPS", "a layered drawing"),
    (b"\x1aE\xdf\xa3", "a film"),
    (b"\x00\x00\x01\xba", "a film"),
    (b"<?xml", "text"),
    (b"<svg", "a drawing"),
    (b"<html", "a web page"),
    (b"<!DOCTYPE", "a web page"),
    (b"SQLite format 3", "a database"),
)


class PhotoError(Exception):
    """A file that can't be used as a photo: why, and what the grower can do.

    Attributes
    ----------
    reason, remedy : str
        Plain sentences. The file's name is not in them: whoever reports knows it.
    """

    def __init__(self, reason: str, remedy: str) -> None:
        self.reason = reason
        self.remedy = remedy
        super().__init__(f"{reason} {remedy}")

    def __reduce__(self) -> tuple[type[PhotoError], tuple[str, str]]:
        # Raised in worker processes, so it has to travel.
        return type(self), (self.reason, self.remedy)


def looks_like_photo(path: Path) -> bool:
    """Whether the file's name ends like that of a photo, of a kind taken in or a camera's raw."""
    ending = path.suffix.lower()
    return ending in _ENDINGS or ending in _RAW_ENDINGS


def sniff(path: Path) -> Kind:
    """The file's real kind from its bytes, whatever its name says.

    Raises ``PhotoError`` for what is missing, can't be read, is empty, or is no photo.
    """
    start = _first_bytes(path)
    if not start:
        msg = "The file is empty."
        raise PhotoError(msg, "Copy it from the camera or phone again.")
    if path.suffix.lower() in _RAW_ENDINGS:
        msg = "The file is a camera's raw file."
        raise PhotoError(
            msg,
            "Take in the JPEG that the camera wrote beside it, or save it as JPEG or TIFF.",
        )
    kind = _kind_of(start)
    if kind is not None:
        return kind
    if start.count(0) == len(start):
        msg = "The file holds nothing but zeros, as after a failed copy."
        raise PhotoError(
            msg,
            "Copy it from the camera or phone again.",
        )
    what = _other_kind(start)
    claimed = _ENDINGS.get(path.suffix.lower())
    if claimed is not None:
        msg = f"The file is named like a {NAMES[claimed]} photo but holds {what}."
        raise PhotoError(
            msg,
            "Look at where it came from, and copy the photo itself.",
        )
    msg = f"The file is no photo: it holds {what}."
    raise PhotoError(msg, f"Photos are {_TAKEN} files.")


def _first_bytes(path: Path) -> bytes:
    try:
        with path.open("rb") as file:
            return file.read(512)
    except FileNotFoundError:
        msg = "There is no such file."
        raise PhotoError(msg, "Check the name and the folder.") from None
    except IsADirectoryError:
        msg = "This is a folder, not a photo."
        raise PhotoError(msg, "Name the photos in it.") from None
    except PermissionError:
        msg = "The file may not be read."
        raise PhotoError(msg, "Change its permissions, or copy it somewhere else.") from None
    except OSError as error:
        msg = f"The file can't be read ({error.strerror or error})."
        raise PhotoError(
            msg,
            "Check the card or disk that it is on.",
        ) from error


def _kind_of(start: bytes) -> Kind | None:
    kind: Kind | None = None
    if start.startswith(b"\xff\xd8\xff"):
        kind = "jpeg"
    elif start.startswith(b"\x89PNG\r\n\x1a\n"):
        kind = "png"
    elif start[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        kind = "tiff"
    elif start[:4] == b"RIFF" and start[8:12] == b"WEBP":
        kind = "webp"
    elif start[4:8] == b"ftyp":
        kind = _boxed_kind(start)
    return kind


def _boxed_kind(start: bytes) -> Kind | None:
    """HEIC or AVIF by the brands in the file's first box; None for films."""
    size = min(int.from_bytes(start[:4], "big"), len(start))
    brands = [start[8:12], *(start[at : at + 4] for at in range(16, size - 3, 4))]
    # AVIF files often call themselves mif1 first and avif only further on.
    if any(brand in _AVIF_BRANDS for brand in brands):
        return "avif"
    if brands[0] in _HEIC_BRANDS:
        return "heic"
    return None


def _other_kind(start: bytes) -> str:
    if start[4:8] == b"ftyp":
        return "a film"
    for magic, what in _OTHERS:
        if start.startswith(magic):
            return what
    try:
        start[:500].decode("utf-8")
    except UnicodeDecodeError:
        return "something unknown"
    return "text"
