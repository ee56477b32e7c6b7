"""Spoilt files: a date that their own bytes hold or none, and never anything but ``PhotoError``.

``tests/benchmarks/bench_odd_files.py`` does the same to 20,000 and more. Seconds are those of the
processor: on a busy machine the clock would say nothing of the file.
"""

import time
from datetime import UTC, datetime
from random import Random

import pytest

from photolog.photos.decode import open_upright
from photolog.photos.exif import read_taken
from photolog.photos.hashes import content_sha256
from photolog.photos.kinds import PhotoError
from tests.photos.blocks import block, entries, file_with
from tests.photos.mutants import KINDS_OF_SEED, dates_held, mutants
from tests.photos.written import KINDS, exif, picture, write

NOW = datetime(2026, 7, 1, tzinfo=UTC)
COUNT = 416


def test_spoilt_files_of_every_kind(tmp_path):
    outcomes = {"date": 0, "none": 0, "refused": 0}
    for mutant in mutants(count=COUNT, seed=7):
        path = tmp_path / mutant.name
        path.write_bytes(mutant.data)
        begun = time.process_time()
        try:
            taken = read_taken(path, now=NOW)
        except PhotoError:
            outcomes["refused"] += 1
        else:
            if taken.taken_at is None:
                assert taken.problem
                outcomes["none"] += 1
            else:
                said = (mutant.number, mutant.kind, mutant.way, taken.taken_at)
                assert taken.taken_at in dates_held(mutant.data), said
                outcomes["date"] += 1
        try:
            open_upright(path)
            content_sha256(path)
        except PhotoError:
            pass
        assert time.process_time() - begun < 2.0, (mutant.number, mutant.kind, mutant.way)
        path.unlink()
    # Each of the three does happen, so that none is never asked.
    assert min(outcomes.values()) > COUNT // 20, outcomes


@pytest.mark.parametrize("kind", KINDS_OF_SEED)
def test_the_files_that_are_spoilt_are_read_before(tmp_path, kind):
    root, photo = entries(b"2025:05:17 14:03:22", Random(1))
    data = file_with(kind, block(root, photo, order=">" if "big" in kind else "<"))
    path = tmp_path / f"a.{kind[:4]}"
    path.write_bytes(data)
    taken = read_taken(path, now=NOW)
    assert taken.taken_at == datetime(2025, 5, 17, 14, 3, 22)
    assert (taken.offset, taken.subsec, taken.model) == ("+12:00", "417", "Field 35")
    assert (taken.focal35_mm, taken.digital_zoom, taken.serial) == (35.0, 1.5, "LF-00217")
    assert datetime(2025, 5, 17, 14, 3, 22) in dates_held(data)


@pytest.mark.parametrize("digits", ["٢٠٢٥:٠٥:١٧ ١٤:٠٣:٢٢", "２０２５:05:17 14:03:22"])
def test_only_plain_digits_make_a_date(tmp_path, digits):
    taken = read_taken(write(tmp_path, block=exif(original=digits.encode())), now=NOW)
    assert taken.taken_at is None
    assert "can't be understood" in (taken.problem or "")


@pytest.mark.parametrize("kind", ["webp", "heic", "avif"])
@pytest.mark.parametrize("share", [0.3, 0.6])
def test_a_file_whose_end_was_never_copied_is_refused(tmp_path, kind, share):
    # Its decoder would fill the rest of the picture with grey and say nothing.
    path = write(tmp_path, kind, image=picture(1200, 900), block=exif())
    data = path.read_bytes()
    kept = round(share * len(data))
    path.write_bytes(data[:kept] + bytes(len(data) - kept))
    with pytest.raises(PhotoError, match="end of the file holds nothing but zeros"):
        open_upright(path)


@pytest.mark.parametrize("kind", KINDS)
def test_whole_files_end_in_something(tmp_path, kind):
    open_upright(write(tmp_path, kind, image=picture(1200, 900), block=exif()))


@pytest.mark.parametrize("kind", ["webp", "heic", "avif"])
@pytest.mark.parametrize("room", [b"", b"free"])
def test_room_left_behind_a_whole_file_is_no_missing_end(tmp_path, kind, room):
    path = write(tmp_path, kind, image=picture(640, 480), block=exif())
    if room:
        room = (20_008).to_bytes(4, "big") + room
    path.write_bytes(path.read_bytes() + room + bytes(20_000))
    assert open_upright(path).shape == (480, 640, 3)


def test_a_jpeg_that_a_camera_filled_up_with_zeros_is_whole(tmp_path):
    path = write(tmp_path, image=picture(640, 480), block=exif())
    path.write_bytes(path.read_bytes() + bytes(20_000))
    assert open_upright(path).shape == (480, 640, 3)


def test_notes_whose_directories_claim_everything_are_left_soon(tmp_path):
    # One directory of 65,535 entries behind another, each of them pointing at the next.
    block_ = bytearray(b"II*\0\x08\0\0\0" + b"\xff\xff" + bytes(65_000))
    entry = (0x8769).to_bytes(2, "little") + b"\x04\0\x01\0\0\0"
    for number in range(4_000):
        at = 10 + 12 * number
        block_[at : at + 12] = entry + (8 + 12 * (number % 50)).to_bytes(4, "little")
    path = tmp_path / "a.jpg"
    path.write_bytes(file_with("jpeg", bytes(block_[:64_900])))
    begun = time.process_time()
    taken = read_taken(path, now=NOW)
    assert time.process_time() - begun < 2.0
    assert taken.taken_at is None
    assert "the camera's notes in the file are damaged" in (taken.problem or "")
