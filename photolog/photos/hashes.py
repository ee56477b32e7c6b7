"""Telling whether a photo was seen before: the file's own hash, and that of its picture alone."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

import numpy as np
from PIL import Image

from photolog.photos.decode import opened

__all__ = ["content_of", "content_sha256", "file_sha256", "likeness"]

_APP_FIRST, _APP_LAST, _COMMENT = 0xE0, 0xEF, 0xFE
_SCAN_START, _END = 0xDA, 0xD9
_NEXT_MARKER = re.compile(rb"\xff+[^\x00\xff\xd0-\xd7]")


def file_sha256(path: Path) -> str:
    """SHA-256 of the whole file, in hexadecimal."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def content_sha256(path: Path) -> str:
    """SHA-256 of the picture without its metadata, in hexadecimal; see ``content_of``."""
    with opened(path) as image:
        return content_of(image, path)


def content_of(image: Image.Image, path: Path) -> str:
    """SHA-256 of an opened picture without its metadata, in hexadecimal.

    Two files give the same when one was made from the other by changing metadata only. A JPEG's
    compressed stream is hashed, without its application and comment segments; of other kinds the
    decoded pixels as stored, so that the image must not have been turned upright yet. Raises what
    the decoder raises.
    """
    if image.format in ("JPEG", "MPO"):
        stripped = _jpeg_without_metadata(path.read_bytes())
        if stripped is not None:
            return stripped
    image.load()
    digest = hashlib.sha256(f"{image.mode} {image.width} {image.height} ".encode())
    digest.update(np.ascontiguousarray(np.asarray(image)).data)
    return digest.hexdigest()


def _jpeg_without_metadata(data: bytes) -> str | None:
    """Hash of a JPEG stream without APPn and COM segments; None when it isn't well formed."""
    digest = hashlib.sha256(b"jpeg ")
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
            continue
        if marker == _END:
            return digest.hexdigest()
        end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if end > len(data):
            return None
        if marker == _SCAN_START:
            # Compressed data follows the header, up to the next marker that is none of its own.
            following = _NEXT_MARKER.search(data, end)
            if following is None:
                return None
            end = following.end() - 2
        if not (_APP_FIRST <= marker <= _APP_LAST or marker == _COMMENT):
            digest.update(data[at:end])
        at = end
    return digest.hexdigest() if data[at : at + 2] == b"\xff\xd9" else None


def likeness(picture: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]) -> int:
    """A 64-bit sketch of (H, W, 3) uint8 pixels: pictures that look the same differ in few bits.

    The signs of the 64 slowest waves (discrete cosine transform of the grey picture shrunk to
    32 × 32) about their median. Two shots of one thing seconds apart differ in a few bits; a small
    copy of a picture gives the same sketch within a bit or two, and sooner.
    """
    small = Image.fromarray(picture).convert("L").resize((32, 32), Image.Resampling.BOX)
    grey = np.asarray(small, dtype=np.float64)
    k = np.arange(32)
    waves = np.cos(np.pi * (2 * k[None, :] + 1) * k[:9, None] / 64.0)
    slow = (waves @ grey @ waves.T)[:8, :9].ravel()[1:65]
    bits = slow > np.median(slow)
    return int("".join("1" if bit else "0" for bit in bits), 2)
