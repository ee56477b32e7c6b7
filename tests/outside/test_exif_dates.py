"""Dates and camera data against Pillow's own EXIF reader, on files written in every format."""

from datetime import UTC, datetime

import pytest
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
