import hashlib

import pytest

from photolog.photos.decode import open_upright
from photolog.photos.hashes import content_sha256, file_sha256, likeness
from photolog.photos.thumbnails import shrunk
from tests.photos.written import KINDS, exif, picture, write


@pytest.mark.parametrize("kind", KINDS)
def test_only_metadata_changed(tmp_path, kind):
    before = write(tmp_path, kind, name="before", block=exif())
    after = write(tmp_path, kind, name="after", block=exif(original="2024:01:01 10:00:00"))
    assert file_sha256(before) != file_sha256(after)
    assert content_sha256(before) == content_sha256(after)


@pytest.mark.parametrize("kind", KINDS)
def test_another_picture(tmp_path, kind):
    one = write(tmp_path, kind, name="one", block=exif())
    two = write(tmp_path, kind, name="two", block=exif(), image=picture(seed=6))
    assert content_sha256(one) != content_sha256(two)


def test_file_hash_is_sha256_of_the_bytes(tmp_path):
    path = write(tmp_path)
    assert file_sha256(path) == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("progressive", [False, True])
def test_jpeg_stream_is_what_is_hashed(tmp_path, progressive):
    # Rebuilt here by the segment layout of ITU T.81 Annex B: all but APPn and COM, up to EOI.
    path = write(tmp_path, block=exif(), progressive=progressive, comment=b"from the bench")
    data = path.read_bytes()
    with_more = path.with_name("more.jpg")
    with_more.write_bytes(
        data[:2] + b"\xff\xfe\x00\x07hello" + b"\xff\xec\x00\x04ab" + data[2:] + b"trailer"
    )
    assert content_sha256(with_more) == content_sha256(path)
    flipped = bytearray(data)
    flipped[-40] ^= 0x10
    changed = path.with_name("changed.jpg")
    changed.write_bytes(bytes(flipped))
    assert content_sha256(changed) != content_sha256(path)


def test_same_picture_as_png_and_tiff_is_the_same(tmp_path):
    assert content_sha256(write(tmp_path, "png")) == content_sha256(write(tmp_path, "tiff"))


def test_likeness_of_near_and_far_pictures(tmp_path):
    one = open_upright(write(tmp_path, image=picture(640, 480), name="one"))
    again = open_upright(write(tmp_path, image=picture(640, 480), name="again", quality=40))
    other = open_upright(write(tmp_path, image=picture(640, 480, seed=9), name="other"))
    assert (likeness(one) ^ likeness(again)).bit_count() <= 4
    assert (likeness(one) ^ likeness(shrunk(one, longest_px=320))).bit_count() <= 2
    assert (likeness(one) ^ likeness(other)).bit_count() >= 12
