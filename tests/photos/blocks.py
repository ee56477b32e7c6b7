"""EXIF blocks laid out byte by byte, with any mistake asked for, in small photos of any kind."""

from __future__ import annotations

import io
import struct
import warnings
import zlib
from random import Random
from typing import Literal

import pillow_heif

from tests.photos.written import picture

__all__ = [
    "ASCII",
    "DIGITIZED",
    "GPS_AT",
    "INTEROP_AT",
    "LONG",
    "ORIGINAL",
    "SIZES",
    "Entry",
    "block",
    "entries",
    "file_with",
]

Entry = tuple[int, int, int, bytes]
"""Tag, type, count and value of one entry; longer values are put behind the directory."""

ASCII, SHORT, LONG, RATIONAL, UNDEFINED, SRATIONAL = 2, 3, 4, 5, 7, 10

SIZES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8}

MAKE, MODEL, CHANGED, EXIF_AT, GPS_AT = 0x010F, 0x0110, 0x0132, 0x8769, 0x8825
ORIGINAL, DIGITIZED, OFFSET, SUBSEC = 0x9003, 0x9004, 0x9011, 0x9291
FOCAL35, SERIAL, ZOOM, WIDTH, HEIGHT, NOTE, INTEROP_AT = (
    0xA405, 0xA431, 0xA404, 0xA002, 0xA003, 0x927C, 0xA005
)  # fmt: skip


def entries(date: bytes, rng: Random) -> tuple[list[Entry], list[Entry]]:
    """The entries of an ordinary camera: of the first directory and of the one for the photo."""

    def text(tag: int, value: bytes) -> Entry:
        return tag, ASCII, len(value) + 1, value + b"\0"

    root = [
        text(MAKE, b"Larkfield"),
        text(MODEL, b"Field 35"),
        text(CHANGED, b"2026:06:01 09:00:00"),
    ]
    photo = [
        text(ORIGINAL, date),
        text(DIGITIZED, date),
        text(OFFSET, b"+12:00"),
        text(SUBSEC, b"417"),
        (NOTE, UNDEFINED, 64, rng.randbytes(64)),
        (WIDTH, LONG, 1, (96).to_bytes(4, "little")),
        (HEIGHT, LONG, 1, (64).to_bytes(4, "little")),
        (ZOOM, RATIONAL, 1, struct.pack("<II", 3, 2)),
        (FOCAL35, SHORT, 1, (35).to_bytes(2, "little")),
        text(SERIAL, b"LF-00217"),
    ]
    return root, photo


def block(
    root: list[Entry],
    photo: list[Entry],
    *,
    order: Literal["<", ">"] = "<",
    next_at: int = 0,
    photo_at: int | None = None,
) -> bytes:
    """An EXIF block as TIFF lays it out; ``next_at``, ``photo_at`` put wrong pointers in it."""
    root_size = 2 + 12 * (len(root) + 1) + 4 + sum(_outside(one) for one in root)
    at = 8 + root_size if photo_at is None else photo_at
    pointer: Entry = (EXIF_AT, LONG, 1, at.to_bytes(4, "little"))
    head = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "I", 8)
    first = _directory(sorted([*root, pointer]), 8, order=order, next_at=next_at)
    return head + first + _directory(sorted(photo), 8 + root_size, order=order)


def _outside(entry: Entry) -> int:
    return len(entry[3]) + len(entry[3]) % 2 if len(entry[3]) > 4 else 0


def _directory(found: list[Entry], at: int, *, order: str, next_at: int = 0) -> bytes:
    behind_at = at + 2 + 12 * len(found) + 4
    listed, behind = struct.pack(order + "H", len(found)), b""
    for tag, kind, count, plain in found:
        value = _turned(kind, plain) if order == ">" else plain
        if len(value) > 4:
            listed += struct.pack(order + "HHII", tag, kind, count, behind_at + len(behind))
            behind += value + b"\0" * (len(value) % 2)
        else:
            listed += struct.pack(order + "HHI", tag, kind, count) + value.ljust(4, b"\0")
    return listed + struct.pack(order + "I", next_at & 0xFFFFFFFF) + behind


def _turned(kind: int, value: bytes) -> bytes:
    """Numbers with their most significant byte first."""
    size = {RATIONAL: 4, SRATIONAL: 4}.get(kind, SIZES.get(kind, 1))
    return b"".join(value[i : i + size][::-1] for i in range(0, len(value), size))


def file_with(kind: str, exif: bytes) -> bytes:
    """A small photo of a kind with this EXIF block, whatever is in it."""
    with warnings.catch_warnings():
        # Pillow looks into the block as it writes it.
        warnings.simplefilter("ignore")
        return _written(kind, exif)


def _written(kind: str, exif: bytes) -> bytes:
    image, out = picture(), io.BytesIO()
    base = kind.split(",", maxsplit=1)[0]
    if kind == "png, in text":
        image.save(out, "PNG")
        hexed = (b"Exif\0\0" + exif).hex()
        lines = "\n".join(hexed[i : i + 72] for i in range(0, len(hexed), 72))
        text = f"Raw profile type exif\0\nexif\n{len(exif) + 6:8d}\n{lines}\n".encode("latin-1")
        return _with_chunk(out.getvalue(), b"tEXt", text)
    if base == "png":
        image.save(out, "PNG")
        return _with_chunk(out.getvalue(), b"eXIf", exif)
    if base == "jpeg":
        image.save(out, "JPEG")
        data = out.getvalue()
        segment = b"Exif\0\0" + exif[:65_000]
        return data[:2] + b"\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + data[2:]
    if base == "webp":
        image.save(out, "WEBP", exif=b"Exif\0\0" + exif)
    elif base == "avif":
        image.save(out, "AVIF", exif=b"Exif\0\0" + exif, speed=10)
    elif base == "heic":
        pillow_heif.from_pillow(image).save(out, quality=50, exif=b"Exif\0\0" + exif)
    else:
        return _tiff_with(exif)
    return out.getvalue()


def _with_chunk(png: bytes, name: bytes, body: bytes) -> bytes:
    chunk = struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
    return png[:33] + chunk + png[33:]


def _tiff_with(exif: bytes) -> bytes:
    """A TIFF whose own directory is that of the block, the pixels added to it."""
    order = "<" if exif[:2] == b"II" else ">"
    small = picture(32, 24)
    pixels = small.tobytes()
    (count,) = struct.unpack_from(order + "H", exif, 8)
    body = exif[10 : 10 + 12 * count]
    at = len(exif) + len(exif) % 2
    own: list[Entry] = [
        (0x0100, LONG, 1, (32).to_bytes(4, "little")),
        (0x0101, LONG, 1, (24).to_bytes(4, "little")),
        (0x0102, SHORT, 3, struct.pack("<HHH", 8, 8, 8)),
        (0x0103, SHORT, 1, (1).to_bytes(2, "little")),
        (0x0106, SHORT, 1, (2).to_bytes(2, "little")),
        (0x0111, LONG, 1, (at + 8).to_bytes(4, "little")),
        (0x0115, SHORT, 1, (3).to_bytes(2, "little")),
        (0x0116, LONG, 1, (24).to_bytes(4, "little")),
        (0x0117, LONG, 1, len(pixels).to_bytes(4, "little")),
    ]
    bits = b"".join(struct.pack(order + "H", 8) for _ in range(3)) + b"\0\0"
    directory_at = at + 8 + len(pixels)
    listed = [body[i : i + 12] for i in range(0, len(body), 12)]
    for tag, kind, n, value in own:
        if len(value) > 4:
            listed.append(struct.pack(order + "HHII", tag, kind, n, at))
        else:
            turned = _turned(kind, value) if order == ">" else value
            listed.append(struct.pack(order + "HHI", tag, kind, n) + turned.ljust(4, b"\0"))
    listed.sort(key=lambda one: struct.unpack_from(order + "H", one.ljust(2, b"\0"))[0])
    next_at = exif[10 + 12 * count : 14 + 12 * count].ljust(4, b"\0")
    directory = struct.pack(order + "H", len(listed)) + b"".join(listed) + next_at
    start = exif[:4] + struct.pack(order + "I", directory_at) + exif[8:]
    return start.ljust(at, b"\0") + bits + pixels + directory
