"""Dates and camera data in files of every format, against what other libraries read and wrote."""

import struct
from datetime import UTC, datetime

import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image

from photolog.photos.exif import read_taken
from tests.photos.written import (
    EXIF_HEIGHT,
    EXIF_WIDTH,
    FOCAL35,
    IFD_EXIF,
    KINDS,
    MAKE,
    MODEL,
    OFFSET_ORIGINAL,
    ORIGINAL,
    SERIAL,
    SUBSEC_ORIGINAL,
    exif,
    write,
)

NOW = datetime(2026, 7, 1, tzinfo=UTC)

DATES = [
    ("2025:05:17 14:03:22", None, None),
    ("2026:01:18 07:59:59", "+12:00", "07"),
    ("2024:02:29 23:59:59", "-03:30", "999"),
    ("1999:12:31 00:00:00", None, "5"),
]


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("original", "offset", "subsec"), DATES)
def test_pillow_reads_the_same(tmp_path, kind, original, offset, subsec):
    details: dict[int, object] = {SERIAL: "LF-00217", EXIF_WIDTH: 96, EXIF_HEIGHT: 64}
    if offset:
        details[OFFSET_ORIGINAL] = offset
    if subsec:
        details[SUBSEC_ORIGINAL] = subsec
    path = write(tmp_path, kind, block=exif(original=original, details=details))
    with Image.open(path) as image:
        root = image.getexif()
        inner = root.get_ifd(IFD_EXIF)
        make, model = root[MAKE], root[MODEL]
    ours = read_taken(path, now=NOW)
    assert ours.taken_at == datetime.strptime(inner[ORIGINAL], "%Y:%m:%d %H:%M:%S")
    assert ours.offset == inner.get(OFFSET_ORIGINAL)
    assert ours.subsec == inner.get(SUBSEC_ORIGINAL)
    assert (ours.make, ours.model, ours.serial) == (make, model, inner[SERIAL])
    assert ours.focal35_mm == inner[FOCAL35]
    assert ours.exif_size == (inner[EXIF_WIDTH], inner[EXIF_HEIGHT])
    assert ours.problem is None
    # And both agree with what was written.
    assert inner[ORIGINAL] == original


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("original", ["0000:00:00 00:00:00", "    :  :     :  :  "])
def test_what_pillow_passes_on_as_text_is_no_date(tmp_path, kind, original):
    path = write(tmp_path, kind, block=exif(original=original))
    with Image.open(path) as image:
        assert image.getexif().get_ifd(IFD_EXIF)[ORIGINAL] == original
    ours = read_taken(path, now=NOW)
    assert ours.taken_at is None
    assert "the camera's clock was not set" in (ours.problem or "")


def hand_made_block(original: str, offset: str) -> bytes:
    """An EXIF block laid out by hand after TIFF 6.0 and Exif 2.32, big end first.

    A root IFD with the model and a pointer, an Exif IFD with DateTimeOriginal (0x9003) and
    OffsetTimeOriginal (0x9011).
    """
    texts = [b"Field 35\0", original.encode() + b"\0", offset.encode() + b"\0"]
    root_at, n_root, n_inner = 8, 2, 2
    inner_at = root_at + 2 + 12 * n_root + 4
    at = inner_at + 2 + 12 * n_inner + 4
    places = []
    for text in texts:
        places.append(at)
        at += len(text)

    def entry(tag: int, kind: int, count: int, value: int) -> bytes:
        return struct.pack(">HHII", tag, kind, count, value)

    root = entry(0x0110, 2, len(texts[0]), places[0]) + entry(0x8769, 4, 1, inner_at)
    inner = entry(0x9003, 2, len(texts[1]), places[1]) + entry(0x9011, 2, len(texts[2]), places[2])
    return (
        b"MM\0*"
        + struct.pack(">I", root_at)
        + struct.pack(">H", n_root)
        + root
        + struct.pack(">I", 0)
        + struct.pack(">H", n_inner)
        + inner
        + struct.pack(">I", 0)
        + b"".join(texts)
    )


@pytest.mark.parametrize("ending", [".jpg", ".png", ".webp", ".avif"])
def test_what_opencv_wrote_is_read(tmp_path, ending):
    """OpenCV writes the block into the file with its own copies of libpng, libwebp and libavif."""
    block = hand_made_block("2026:01:18 07:59:59", "+13:00")
    pixels = np.full((64, 96, 3), 120, np.uint8)
    pixels[:32, :48] = (20, 20, 220)
    kinds, blocks = [cv2.IMAGE_METADATA_EXIF], [np.frombuffer(block, np.uint8)]
    written, data = cv2.imencodeWithMetadata(ending, pixels, kinds, blocks)
    assert written
    path = tmp_path / f"LF350101{ending}"
    path.write_bytes(data.tobytes())
    ours = read_taken(path, now=NOW)
    assert (ours.taken_at, ours.offset) == (datetime(2026, 1, 18, 7, 59, 59), "+13:00")
    assert (ours.model, ours.problem) == ("Field 35", None)


def test_the_date_that_tifffile_writes_is_not_when_it_was_taken(tmp_path):
    """tifffile writes DateTime, which is when the file was changed, and no Exif."""
    path = tmp_path / "LF350101.tif"
    pixels = np.full((64, 96, 3), 120, np.uint8)
    tifffile.imwrite(path, pixels, photometric="rgb", datetime=datetime(2026, 1, 18, 7, 59, 59))
    ours = read_taken(path, now=NOW)
    assert ours.taken_at is None
    assert "last changed (2026:01:18 07:59:59)" in (ours.problem or "")
