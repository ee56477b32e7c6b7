"""A phone's wide-gamut file and an ordinary one of the same colours give the same CIELAB."""

import struct

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms
from skimage.color import deltaE_ciede2000, rgb2lab

from photolog.photos.decode import open_upright

# Chromaticities: sRGB of IEC 61966-2-1; Display P3's primaries of SMPTE EG 432-1 (P3) with D65.
SRGB = ((0.640, 0.330), (0.300, 0.600), (0.150, 0.060))
DISPLAY_P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))
D65 = (0.3127, 0.3290)
# The profile connection space's white (ICC.1:2010, 7.2.16) and Bradford's matrix (annex E).
D50_XYZ = np.array([0.9642, 1.0, 0.8249])
BRADFORD = np.array(
    [[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]]
)

# Petals within sRGB: white, yellow, orange, pink, red, purple, near-black, leaf green.
COLOURS = np.array(
    [
        (238, 234, 222),
        (232, 200, 60),
        (224, 120, 56),
        (222, 128, 164),
        (184, 40, 46),
        (108, 44, 110),
        (54, 18, 26),
        (70, 110, 50),
    ],
    np.uint8,
)


def xyz(chromaticity):
    x, y = chromaticity
    return np.array([x / y, 1.0, (1.0 - x - y) / y])


def to_xyz(primaries):
    """(3, 3) from linear red, green, blue to XYZ, white at D65."""
    columns = np.array([xyz(p) for p in primaries]).T
    return columns * np.linalg.solve(columns, xyz(D65))


def straight(encoded):
    return np.where(encoded <= 0.04045, encoded / 12.92, ((encoded + 0.055) / 1.055) ** 2.4)


def encoded(linear):
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def display_p3_profile():
    """The sRGB profile with the three colorants of Display P3 (same curve, same white)."""
    gain = (BRADFORD @ D50_XYZ) / (BRADFORD @ xyz(D65))
    colorants = np.linalg.inv(BRADFORD) @ np.diag(gain) @ BRADFORD @ to_xyz(DISPLAY_P3)
    # As Apple's profile has them, from memory.
    assert colorants[:, 0] == pytest.approx([0.5151, 0.2412, -0.0011], abs=2e-3)
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    (n_tags,) = struct.unpack_from(">I", profile, 128)
    for at in range(132, 132 + 12 * n_tags, 12):
        name = bytes(profile[at : at + 4])
        if name in (b"rXYZ", b"gXYZ", b"bXYZ"):
            (offset,) = struct.unpack_from(">I", profile, at + 4)
            column = colorants[:, b"rgb".index(name[:1])]
            struct.pack_into(">3i", profile, offset + 8, *np.round(column * 65536).astype(int))
    return bytes(profile).replace("sRGB".encode("utf-16-be"), "P3-d".encode("utf-16-be"))


def in_display_p3(colours):
    turn = np.linalg.inv(to_xyz(DISPLAY_P3)) @ to_xyz(SRGB)
    linear = np.clip(straight(colours / 255.0) @ turn.T, 0.0, 1.0)
    return np.round(encoded(linear) * 255.0).astype(np.uint8)


def patches(colours):
    return Image.fromarray(np.repeat(np.repeat(colours[None], 32, axis=0), 32, axis=1))


def lab_read(path):
    pixels = open_upright(path)
    middles = pixels[16, 16::32].astype(np.float64)
    return rgb2lab(middles / 255.0)


@pytest.mark.parametrize("kind", ["png", "jpeg", "tiff", "webp", "heic"])
def test_a_wide_gamut_file_gives_the_same_colours(tmp_path, kind):
    profile = display_p3_profile()
    path = tmp_path / f"wide.{kind}"
    image = patches(in_display_p3(COLOURS))
    if kind == "heic":
        heif = pillow_heif.from_pillow(image)
        heif.info["icc_profile"] = profile
        heif.save(path, quality=-1)
    else:
        lossy = {"jpeg": {"quality": 100, "subsampling": 0}, "webp": {"lossless": True}}
        image.save(path, icc_profile=profile, **lossy.get(kind, {}))
    plain = tmp_path / "plain.png"
    patches(COLOURS).save(plain)
    away = deltaE_ciede2000(lab_read(path), lab_read(plain))
    # What rounding to 8 bits twice leaves; a lossy chroma step more for JPEG and HEIC.
    assert away.max() < 1.5
    assert np.median(away) < 0.7


def test_leaving_the_profile_out_would_show(tmp_path):
    bare, plain = tmp_path / "bare.png", tmp_path / "plain.png"
    patches(in_display_p3(COLOURS)).save(bare)
    patches(COLOURS).save(plain)
    assert deltaE_ciede2000(lab_read(bare), lab_read(plain)).max() > 3.0
