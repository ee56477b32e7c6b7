"""Same-scale strips: sizes in the pictures against the sizes drawn, and nothing private in them."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from photolog.photos.strips import StripSubject, cut_strip

GROUND = np.array([236, 232, 222])


def disc_photo(path, *, centre, radius_px, size=(600, 400), exif=None):
    y, x = np.mgrid[0 : size[1], 0 : size[0]]
    inside = np.hypot(x - centre[0], y - centre[1]) <= radius_px
    pixels = np.full((size[1], size[0], 3), (40, 120, 60), dtype=np.uint8)
    pixels[inside] = (220, 30, 120)
    image = Image.fromarray(pixels)
    image.save(path, quality=95, exif=exif or Image.Exif())
    angle = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    return np.stack(
        [centre[0] + radius_px * np.cos(angle), centre[1] + radius_px * np.sin(angle)], axis=1
    )


def decoded(piece):
    return np.asarray(Image.open(BytesIO(piece.jpeg)).convert("RGB")).astype(int)


def pink(picture):
    return (picture[..., 0] > 150) & (picture[..., 1] < 110)


def subject(path, outline, mm_per_px, **more):
    return StripSubject(
        photo=path, outline=outline, mm_per_px=mm_per_px, **({"caption": "17 May 2025"} | more)
    )


def test_subjects_come_out_at_one_scale(tmp_path):
    # 100 mm across at 0.5 mm a pixel, and 80 mm across at 0.25 mm a pixel.
    one = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=100)
    two = disc_photo(tmp_path / "two.jpg", centre=(250, 190), radius_px=160)
    strip = cut_strip(
        [subject(tmp_path / "one.jpg", one, 0.5), subject(tmp_path / "two.jpg", two, 0.25)]
    )
    widths = []
    for piece in strip.pieces:
        picture = decoded(piece)
        assert picture.shape == (strip.height_px, strip.width_px, 3)
        widths.append(np.ptp(np.nonzero(pink(picture).any(axis=0))[0]) + 1)
    assert widths[0] / strip.px_per_mm == pytest.approx(100, abs=1.0)
    assert widths[1] / strip.px_per_mm == pytest.approx(80, abs=1.0)


def test_subject_stands_in_the_middle_and_the_rest_is_plain_ground(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=100)
    strip = cut_strip([subject(tmp_path / "one.jpg", outline, 0.5)], longest_px=300)
    picture = decoded(strip.pieces[0])
    rows, columns = np.nonzero(pink(picture))
    assert columns.mean() == pytest.approx((strip.width_px - 1) / 2, abs=0.6)
    assert np.abs(picture[3, 3] - GROUND).max() < 6
    assert rows.max() < strip.height_px - 30


def test_the_bar_is_as_long_as_it_says(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=100)
    strip = cut_strip([subject(tmp_path / "one.jpg", outline, 0.5)])
    foot = decoded(strip.pieces[0])[-30:]
    bar = foot[np.argmax((foot.sum(axis=2) < 400).sum(axis=1))]
    dark = np.nonzero(bar.sum(axis=1) < 400)[0]
    # The lettering stands right of the bar, after a gap.
    gap = np.nonzero(np.diff(dark) > 4)[0]
    dark = dark[: gap[0] + 1] if len(gap) else dark
    assert strip.bar_mm == 50
    assert np.ptp(dark) == pytest.approx(strip.bar_mm * strip.px_per_mm, abs=2.5)


def test_no_photo_is_blown_up(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=40)
    strip = cut_strip([subject(tmp_path / "one.jpg", outline, 1.0)], longest_px=2000)
    assert strip.px_per_mm == pytest.approx(1.0)


def test_nothing_of_the_photos_own_data_goes_along(tmp_path):
    exif = Image.Exif()
    exif[0x010F] = "Larkfield"
    exif.get_ifd(0x8825)[1] = "S"
    exif.get_ifd(0x8825)[2] = (41.0, 12.0, 5.0)
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=50, exif=exif)
    assert b"Larkfield" in (tmp_path / "one.jpg").read_bytes()
    (piece,) = cut_strip([subject(tmp_path / "one.jpg", outline, 0.5)]).pieces
    assert b"Larkfield" not in piece.jpeg
    assert b"Exif" not in piece.jpeg
    assert not Image.open(BytesIO(piece.jpeg)).getexif()


def test_a_subject_at_the_edge_of_its_photo(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(20, 390), radius_px=60)
    strip = cut_strip([subject(tmp_path / "one.jpg", outline, 0.5)])
    picture = decoded(strip.pieces[0])
    assert pink(picture).any()
    # Beyond the photo's edge there is ground, not black.
    assert picture[:-40].sum(axis=2).min() > 150


def test_words_stand_in_for_the_picture(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=50)
    (piece,) = cut_strip(
        [subject(tmp_path / "one.jpg", outline, 0.5, figures="spread 50 ± 2 mm")]
    ).pieces
    assert piece.alt == "17 May 2025: spread 50 ± 2 mm"


def test_a_photo_that_is_gone_does_not_stop_the_others(tmp_path):
    outline = disc_photo(tmp_path / "one.jpg", centre=(300, 200), radius_px=50)
    gone, there = cut_strip(
        [subject(tmp_path / "gone.jpg", outline, 0.5), subject(tmp_path / "one.jpg", outline, 0.5)]
    ).pieces
    assert gone.jpeg == b""
    assert gone.problem
    assert there.jpeg
    assert there.problem is None


def test_bad_input_is_named(tmp_path):
    with pytest.raises(ValueError, match="at least one subject"):
        cut_strip([])
    with pytest.raises(ValueError, match="at least three points"):
        subject(tmp_path, np.zeros((2, 2)), 0.5)
    with pytest.raises(ValueError, match="finite"):
        subject(tmp_path, np.full((4, 2), np.nan), 0.5)
    with pytest.raises(ValueError, match="above zero, got 0"):
        subject(tmp_path, np.zeros((4, 2)), 0.0)
