import io

import numpy as np
import pytest
from PIL import Image, ImageOps

from photolog.photos.decode import open_upright
from photolog.photos.jpeg import plain_jpeg_pixels
from photolog.photos.kinds import PhotoError
from tests.photos.written import ORIENTATION, exif, picture, write


def by_pillow(path):
    """The outside check: Pillow's own decoder and its own turning upright."""
    with Image.open(path) as image:
        return np.asarray(ImageOps.exif_transpose(image).convert("RGB"))


def plain(path):
    with Image.open(path) as image:
        return plain_jpeg_pixels(image)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_turned_as_pillow_turns_it(tmp_path, orientation):
    path = write(tmp_path, block=exif(root={ORIENTATION: orientation}))
    pixels = plain(path)
    assert pixels.flags["C_CONTIGUOUS"]
    np.testing.assert_array_equal(pixels, by_pillow(path))


@pytest.mark.parametrize("size", [(16, 16), (641, 479), (1000, 33)])
@pytest.mark.parametrize(
    "how",
    [
        {"subsampling": "4:2:0"},
        {"subsampling": "4:2:2"},
        {"subsampling": "4:4:4", "quality": 98},
        {"keep_rgb": True},
        {"restart_marker_blocks": 3},
    ],
    ids=lambda how: next(iter(how)) + str(next(iter(how.values()))),
)
def test_the_same_bits_as_pillow(tmp_path, size, how):
    speckled = np.random.default_rng(7).integers(0, 256, (*size[::-1], 3), dtype=np.uint8)
    path = write(tmp_path, image=Image.blend(Image.fromarray(speckled), picture(*size), 0.7), **how)
    np.testing.assert_array_equal(plain(path), by_pillow(path))


@pytest.mark.parametrize(
    ("mode", "how"), [("L", {}), ("CMYK", {}), ("RGB", {"progressive": True})], ids=str
)
def test_what_is_not_plain_is_left_to_pillow(tmp_path, mode, how):
    path = write(tmp_path, image=picture(200, 100).convert(mode), **how)
    assert plain(path) is None
    np.testing.assert_array_equal(open_upright(path), by_pillow(path))


def test_what_follows_the_picture_does_not_matter(tmp_path):
    path = write(tmp_path)
    before = plain(path)
    path.write_bytes(path.read_bytes() + bytes(5000) + b"\xff\xc4 a film, as phones append them")
    np.testing.assert_array_equal(plain(path), before)


def test_a_marker_amid_the_picture_is_damage(tmp_path):
    path = write(tmp_path, image=picture(640, 480))
    data = bytearray(path.read_bytes())
    data[len(data) - 900 : len(data) - 898] = b"\xff\xc4"
    path.write_bytes(data)
    assert plain(path) is None
    with pytest.raises(PhotoError, match="damaged"):
        open_upright(path)


def test_no_file_no_pixels():
    block = io.BytesIO()
    picture().save(block, "JPEG")
    with Image.open(block) as image:
        assert plain_jpeg_pixels(image) is None
