"""Plain JPEG photos decoded straight into an array, bit for bit as Pillow would, with no copies."""

from __future__ import annotations

import re
from contextlib import suppress
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import ExifTags, Image

__all__ = ["plain_jpeg_pixels"]

# In the scan's own data 0xff is followed by 0, or by a restart marker (ITU-T T.81, B.1.1).
_NEXT_MARKER = re.compile(rb"\xff[^\x00\xd0-\xd7\xff]")
_START_OF_SCAN, _END = 0xDA, 0xD9


def plain_jpeg_pixels(image: Image.Image) -> NDArray[np.uint8] | None:
    """Upright pixels (H, W, 3) uint8, red green blue, of an opened JPEG file not yet decoded.

    None where the file is anything but three plain channels in one whole scan: grey, four inks,
    progressive, cut short or broken, which is for Pillow to read or to refuse. Colour profiles are
    not looked at.
    """
    path = getattr(image, "filename", "")
    if image.format not in ("JPEG", "MPO") or image.mode != "RGB" or not path:
        return None
    data = Path(path).read_bytes()
    if not _is_one_whole_scan(data):
        return None
    # Pillow packs its own four bytes a pixel into three in many small pieces, which takes as long
    # as decoding itself.
    stored = cv2.imdecode(
        np.frombuffer(data, np.uint8), cv2.IMREAD_COLOR_RGB | cv2.IMREAD_IGNORE_ORIENTATION
    )
    if stored is None or stored.shape[:2] != (image.height, image.width):
        return None
    return _upright(np.asarray(stored, np.uint8), _orientation(image))


def _is_one_whole_scan(data: bytes) -> bool:
    """Whether the first scan is the only one and runs to the end marker."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
        if marker == _START_OF_SCAN:
            found = _NEXT_MARKER.search(data, at)
            return found is not None and data[found.end() - 1] == _END
    return False


def _orientation(image: Image.Image) -> int:
    # Whatever is wrong with the camera's notes, the picture itself is there.
    with suppress(Exception):
        return int(image.getexif().get(ExifTags.Base.Orientation, 1))
    return 1


def _upright(stored: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """Turned and mirrored as EXIF's orientation says (EXIF 2.32, table 6); unknown ones: as is."""
    if orientation in (5, 6, 7, 8):
        stored = stored.transpose(1, 0, 2)
    rows = slice(None, None, -1 if orientation in (3, 4, 7, 8) else 1)
    columns = slice(None, None, -1 if orientation in (2, 3, 6, 7) else 1)
    return np.ascontiguousarray(stored[rows, columns])
