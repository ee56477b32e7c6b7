"""Photo files written for the tests, of every kind, with the EXIF block asked for."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pillow_heif
from PIL import Image

ENDINGS = {
    "jpeg": ".jpg",
    "png": ".png",
    "tiff": ".tif",
    "webp": ".webp",
    "heic": ".heic",
    "avif": ".avif",
}
KINDS = tuple(ENDINGS)

IFD_EXIF = 0x8769
ORIENTATION, MAKE, MODEL, DATE_TIME = 0x0112, 0x010F, 0x0110, 0x0132
ORIGINAL, DIGITIZED, OFFSET_ORIGINAL = 0x9003, 0x9004, 0x9011
SUBSEC_ORIGINAL, FOCAL35, SERIAL = 0x9291, 0xA405, 0xA431
EXIF_WIDTH, EXIF_HEIGHT, ZOOM = 0xA002, 0xA003, 0xA404


def picture(width: int = 96, height: int = 64, *, seed: int = 5) -> Image.Image:
    """A smooth coloured picture whose top left corner is red and whose top right one is blue."""
    rng = np.random.default_rng(seed)
    coarse = rng.integers(60, 190, (6, 9, 3), dtype=np.uint8)
    image = Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC)
    image.paste((220, 20, 20), (0, 0, width // 4, height // 4))
    image.paste((20, 20, 220), (width - width // 4, 0, width, height // 4))
    return image


def exif(
    *,
    original: str | bytes | None = "2025:05:17 14:03:22",
    root: dict[int, object] | None = None,
    details: dict[int, object] | None = None,
) -> Image.Exif:
    """An EXIF block of the invented camera; ``original`` None leaves the date out."""
    block = Image.Exif()
    block[MAKE] = "Larkfield"
    block[MODEL] = "Field 35"
    for tag, value in (root or {}).items():
        block[tag] = value
    inner = block.get_ifd(IFD_EXIF)
    inner[FOCAL35] = 35
    if original is not None:
        inner[ORIGINAL] = original
    for tag, value in (details or {}).items():
        inner[tag] = value
    return block


def write(
    folder: Path,
    kind: str = "jpeg",
    *,
    name: str = "LF350101",
    image: Image.Image | None = None,
    block: Image.Exif | None = None,
    **options: object,
) -> Path:
    """Write a photo of a kind and return its path."""
    image = image or picture()
    path = folder / (name + ENDINGS[kind])
    if kind == "heic":
        heif = pillow_heif.from_pillow(image)
        extra = {"exif": block.tobytes()} if block is not None else {}
        heif.save(path, quality=80, **extra, **options)
        return path
    if block is not None:
        options["exif"] = block.tobytes()
    image.save(path, **options)
    return path


def png_claiming(width: int, height: int) -> bytes:
    """A PNG whose header claims this size and whose pixels are missing."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(b"\0" * 100))
        + chunk(b"IEND", b"")
    )
