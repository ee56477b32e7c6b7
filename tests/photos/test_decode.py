import struct

import numpy as np
import pi_heif
import pillow_heif
import pytest
from PIL import Image, ImageCms

from photolog.photos.decode import header, open_upright
from photolog.photos.kinds import PhotoError
from photolog.photos.thumbnails import thumbnail
from tests.photos.written import KINDS, ORIENTATION, exif, picture, png_claiming, write

RED, BLUE = (220, 20, 20), (20, 20, 220)


@pytest.mark.parametrize("kind", KINDS)
def test_header_and_pixels_of_every_kind(tmp_path, kind):
    path = write(tmp_path, kind)
    assert header(path) == (96, 64, kind)
    pixels = open_upright(path)
    assert pixels.shape == (64, 96, 3)
    assert pixels.dtype == np.uint8
    assert np.abs(pixels[4, 4].astype(int) - RED).max() < 30
    assert np.abs(pixels[4, -4].astype(int) - BLUE).max() < 30


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "heic"])
@pytest.mark.parametrize(
    ("orientation", "red_at", "blue_at"),
    [
        # EXIF 2.32 table 6: where the stored picture's row 0 and column 0 belong.
        (3, (-4, -4), (-4, 4)),
        (6, (4, -4), (-4, -4)),
        (8, (-4, 4), (4, 4)),
    ],
)
def test_turned_upright_once(tmp_path, kind, orientation, red_at, blue_at):
    path = write(tmp_path, kind, block=exif(root={ORIENTATION: orientation}))
    pixels = open_upright(path)
    assert pixels.shape == ((64, 96, 3) if orientation == 3 else (96, 64, 3))
    assert np.abs(pixels[red_at].astype(int) - RED).max() < 30
    assert np.abs(pixels[blue_at].astype(int) - BLUE).max() < 30


def test_heic_turned_by_its_own_rotation_only_once(tmp_path):
    # A phone writes the turn both as the container's rotation and into EXIF.
    pillow_heif.register_heif_opener()
    path = tmp_path / "turned.heic"
    picture().save(path, format="HEIF", exif=exif(root={ORIENTATION: 6}).tobytes())
    pi_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
    pixels = open_upright(path)
    assert pixels.shape == (96, 64, 3)
    assert np.abs(pixels[4, -4].astype(int) - RED).max() < 30


@pytest.mark.parametrize("share", [0.3, 0.7, 0.97])
@pytest.mark.parametrize("kind", KINDS)
def test_cut_short(tmp_path, kind, share):
    path = write(tmp_path, kind, image=picture(640, 480))
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(PhotoError, match=r"damaged|Copy it from the camera or phone again"):
        open_upright(path)


@pytest.mark.parametrize(
    ("width", "height", "says"),
    [
        (25_000, 20_000, "500 megapixels; at most 100"),
        (12_000, 10_000, r"120 \(12000 × 10000\) megapixels; at most 100"),
    ],
)
def test_huge_pictures_are_refused_from_the_header(tmp_path, width, height, says):
    path = tmp_path / "huge.png"
    path.write_bytes(png_claiming(width, height))
    for read in (header, open_upright):
        with pytest.raises(PhotoError, match=says):
            read(path)


def test_the_limit_can_be_lowered(tmp_path):
    path = write(tmp_path, image=picture(400, 300))
    with pytest.raises(PhotoError, match="at most 0 are taken"):
        open_upright(path, max_megapixels=0.1)


def test_sizes_up_to_the_limit_do_not_warn(tmp_path):
    # Pillow warns from 89.5 megapixels on; pytest makes an error of a warning.
    path = tmp_path / "large.png"
    path.write_bytes(png_claiming(9_800, 10_000))
    assert header(path) == (9_800, 10_000, "png")


def test_the_srgb_profile_changes_nothing(tmp_path):
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    plain = write(tmp_path, "png", name="plain")
    same = write(tmp_path, "png", name="same", icc_profile=srgb)
    np.testing.assert_array_equal(open_upright(plain), open_upright(same))


@pytest.mark.parametrize("kind", ["png", "jpeg", "tiff", "webp"])
def test_a_colour_profile_is_converted_to_srgb(tmp_path, kind):
    # The sRGB profile with its red and blue primaries swapped: a converter must swap them back.
    # The tags rXYZ and bXYZ of an ICC profile (ICC.1:2010, 9.2) lie at offsets in its table.
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    (n_tags,) = struct.unpack_from(">I", profile, 128)
    for at in range(132, 132 + 12 * n_tags, 12):
        name = bytes(profile[at : at + 4])
        profile[at : at + 4] = {b"rXYZ": b"bXYZ", b"bXYZ": b"rXYZ"}.get(name, name)
    renamed = bytes(profile).replace("sRGB".encode("utf-16-be"), "swap".encode("utf-16-be"))
    path = write(tmp_path, kind, icc_profile=renamed)
    pixels = open_upright(path)
    assert np.abs(pixels[4, 4].astype(int) - RED[::-1]).max() < 30
    assert np.abs(pixels[4, -4].astype(int) - BLUE[::-1]).max() < 30


def test_a_damaged_profile_is_left_aside(tmp_path):
    plain = write(tmp_path, "png", name="plain")
    bad = write(tmp_path, "png", name="bad", icc_profile=b"no profile at all")
    np.testing.assert_array_equal(open_upright(plain), open_upright(bad))


def test_sixteen_bits_are_scaled_not_cut(tmp_path):
    ramp = np.linspace(0, 65535, 64 * 64).reshape(64, 64).astype(np.uint16)
    path = tmp_path / "deep.png"
    Image.fromarray(ramp).save(path)
    pixels = open_upright(path)
    np.testing.assert_allclose(pixels[..., 0], ramp / 257.0, atol=1.0)


def test_see_through_parts_lie_on_white(tmp_path):
    image = Image.new("RGBA", (32, 32), (0, 200, 0, 0))
    path = tmp_path / "clear.png"
    image.save(path)
    assert open_upright(path)[8, 8].tolist() == [255, 255, 255]


def test_damaged_notes_do_not_cost_the_picture(tmp_path):
    path = write(tmp_path)
    data = path.read_bytes()
    rubbish = b"Exif\0\0MM\0*\0\0\0\x08\xff\xff" + bytes(range(64))
    segment = b"\xff\xe1" + (len(rubbish) + 2).to_bytes(2, "big") + rubbish
    (tmp_path / "damaged.jpg").write_bytes(data[:2] + segment + data[2:])
    np.testing.assert_array_equal(open_upright(tmp_path / "damaged.jpg"), open_upright(path))


def test_thumbnail_is_small_upright_and_without_metadata(tmp_path):
    path = write(
        tmp_path, image=picture(1200, 800), block=exif(root={ORIENTATION: 6}), name="large"
    )
    dest = tmp_path / "made" / "small.jpg"
    thumbnail(path, dest, longest_px=300)
    with Image.open(dest) as small:
        assert small.size == (200, 300)
        assert not small.getexif()
    assert [file.name for file in dest.parent.iterdir()] == ["small.jpg"]
