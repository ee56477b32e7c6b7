from datetime import UTC, datetime

import pytest
from PIL.TiffImagePlugin import IFDRational

from photolog.photos.exif import read_taken
from tests.photos.written import (
    DATE_TIME,
    DIGITIZED,
    EXIF_HEIGHT,
    EXIF_WIDTH,
    OFFSET_ORIGINAL,
    SERIAL,
    SUBSEC_ORIGINAL,
    ZOOM,
    exif,
    write,
)

NOW = datetime(2026, 6, 20, 2, 0, tzinfo=UTC)


@pytest.mark.parametrize("zoom", [1.5, IFDRational(3, 2)])
def test_everything_the_camera_wrote(tmp_path, zoom):
    block = exif(
        details={
            SUBSEC_ORIGINAL: "417",
            OFFSET_ORIGINAL: "+12:00",
            SERIAL: "LF-00217 ",
            EXIF_WIDTH: 4000,
            EXIF_HEIGHT: 3000,
            ZOOM: zoom,
        }
    )
    taken = read_taken(write(tmp_path, block=block), now=NOW)
    assert taken.taken_at == datetime(2025, 5, 17, 14, 3, 22)
    assert taken.taken_at.tzinfo is None
    assert (taken.offset, taken.subsec) == ("+12:00", "417")
    assert (taken.make, taken.model, taken.serial) == ("Larkfield", "Field 35", "LF-00217")
    assert taken.focal35_mm == 35.0
    assert taken.exif_size == (4000, 3000)
    assert taken.digital_zoom == pytest.approx(1.5)
    assert taken.problem is None


@pytest.mark.parametrize(
    ("original", "says"),
    [
        ("0000:00:00 00:00:00", "all zeros: the camera's clock was not set"),
        ("    :  :     :  :  ", "blank: the camera's clock was not set"),
        ("", "blank: the camera's clock was not set"),
        ("2025:02:30 10:00:00", "is impossible: '2025:02:30 10:00:00'"),
        ("2025:13:45 10:00:00", "is impossible"),
        ("2025:05:17 24:61:00", "is impossible"),
        ("17 May 2025", "can't be understood: '17 May 2025'"),
        ("1970:01:01 00:00:00", "1970:01:01 00:00:00: the camera's clock was not set"),
        ("2031:05:17 10:00:00", "in the future: 2031:05:17"),
        ("2026:06:20 16:00:01", "in the future"),
    ],
)
def test_dates_that_are_none(tmp_path, original, says):
    taken = read_taken(write(tmp_path, block=exif(original=original)), now=NOW)
    assert taken.taken_at is None
    assert says in (taken.problem or "")
    assert taken.model == "Field 35"


def test_this_evening_far_east_is_not_the_future(tmp_path):
    # UTC+14, the zone furthest ahead, reads 16:00 at 02:00 UTC.
    taken = read_taken(write(tmp_path, block=exif(original="2026:06:20 16:00:00")), now=NOW)
    assert taken.taken_at == datetime(2026, 6, 20, 16, 0)


@pytest.mark.parametrize(
    "original", ["2025-05-17 14:03:22", "2025:05:17T14:03:22", "2025/05/17 14:03:22\0\0"]
)
def test_other_spellings(tmp_path, original):
    taken = read_taken(write(tmp_path, block=exif(original=original)), now=NOW)
    assert taken.taken_at == datetime(2025, 5, 17, 14, 3, 22)


def test_a_bad_date_taken_gives_way_to_the_date_digitized(tmp_path):
    block = exif(original="0000:00:00 00:00:00", details={DIGITIZED: "2025:05:17 14:03:22"})
    assert read_taken(write(tmp_path, block=block), now=NOW).taken_at == datetime(
        2025, 5, 17, 14, 3, 22
    )


def test_the_date_of_change_is_never_taken(tmp_path):
    block = exif(original=None, root={DATE_TIME: "2025:06:01 09:00:00"})
    taken = read_taken(write(tmp_path, block=block), now=NOW)
    assert taken.taken_at is None
    assert "last changed (2025:06:01 09:00:00), not when it was taken" in (taken.problem or "")


def test_no_camera_data_at_all(tmp_path):
    taken = read_taken(write(tmp_path), now=NOW)
    assert taken.taken_at is None
    assert taken.problem == "The file carries no camera data, so no date."


def test_no_date_but_a_camera(tmp_path):
    taken = read_taken(write(tmp_path, block=exif(original=None)), now=NOW)
    assert taken.problem == "The camera wrote no date into the file."
    assert taken.make == "Larkfield"


@pytest.mark.parametrize("offset", ["+25:00", "12", "   :  ", "local"])
def test_offsets_that_are_none(tmp_path, offset):
    block = exif(details={OFFSET_ORIGINAL: offset})
    assert read_taken(write(tmp_path, block=block), now=NOW).offset is None


def test_a_block_of_rubbish_is_said_and_survived(tmp_path):
    rubbish = b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" + bytes(range(64))
    path = write(tmp_path)
    data = path.read_bytes()
    segment = b"\xff\xe1" + (len(rubbish) + 2).to_bytes(2, "big") + rubbish
    path.write_bytes(data[:2] + segment + data[2:])
    taken = read_taken(path, now=NOW)
    assert taken.taken_at is None
    assert taken.problem


def test_ratio_of_zeros_is_no_zoom(tmp_path):
    path = write(tmp_path, block=exif(details={ZOOM: IFDRational(7, 1)}))
    data = path.read_bytes()
    at = data.index(b"\x00\x00\x00\x07\x00\x00\x00\x01")
    path.write_bytes(data[:at] + bytes(8) + data[at + 8 :])
    assert read_taken(path, now=NOW).digital_zoom is None
