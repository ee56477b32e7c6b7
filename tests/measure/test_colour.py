"""A bloom's main colours: the same in sun and shade, true to what was painted, told apart."""

import functools
import itertools

import numpy as np
import pytest

from measure import Optics, measure_bloom, read_marks
from measure.colour import ciede2000, colours_of, difference, lab_of
from measure.colour_names import COLOUR_WORDS, word_for
from measure.greys import grey_places, light_on
from measure.pose import find_pose
from measure.results import BloomColours, MainColour, Outline, Printing
from measure.staging import exact_marks, stage_bloom
from photolog.photos.decode import open_upright
from tests.measure.relit import (
    LAMP,
    OPEN_SHADE,
    OVERCAST,
    SUN,
    drawn_bloom,
    relit,
    true_reflectance,
)
from tests.sample_truth import SAMPLES

PAINTS = {
    "white": (240, 238, 228),
    "yellow": (238, 205, 50),
    "orange": (228, 120, 50),
    "bronze": (170, 95, 50),
    "pink": (225, 120, 160),
    "red": (190, 30, 40),
    "purple": (110, 40, 110),
    "near-black": (60, 14, 24),
}
SIZE = (1000, 750)


@functools.cache
def staged():
    return stage_bloom("decorative", widest_mm=120.0, seed=5, size_px=SIZE)


@functools.cache
def drawn(word):
    return drawn_bloom(staged(), PAINTS[word])


def pose():
    return find_pose(
        exact_marks(staged()), size_px=SIZE, optics=staged().optics, printing=Printing()
    )


def outline():
    return Outline(points=staged().outline(), confidence=1.0, edge_sigma_px=0.3)


def measured(picture):
    return colours_of(picture, outline=outline(), pose=pose(), printing=Printing())


@functools.cache
def plain_shot(word, light):
    picture = relit(drawn(word), light, bloom_px=staged().outline())
    picture.setflags(write=False)
    return picture


def shot(word, light, **more):
    if not more:
        return plain_shot(word, light)
    return relit(drawn(word), light, bloom_px=staged().outline(), **more)


def test_sun_and_shade_agree_and_unlike_colours_do_not():
    lights = (SUN, OPEN_SHADE, OVERCAST)
    seen = {word: [measured(shot(word, light)) for light in lights] for word in PAINTS}
    repeats = {
        word: [difference(a, b) for a, b in itertools.combinations(of, 2)]
        for word, of in seen.items()
    }
    together = [away for of in repeats.values() for away in of]
    sun_and_shade = np.median([of[0] for of in repeats.values()])
    assert sun_and_shade < 4.0  # the bar
    assert np.median(together) < 3.0
    assert max(together) < 6.0
    # Without balancing the same pictures differ by much more.
    plain = [
        float(ciede2000(*(lab_of(mean_inside(shot(word, light))) for light in lights[:2])))
        for word in PAINTS
    ]
    assert np.median(plain) > 1.5 * sun_and_shade
    unlike = [difference(seen[a][0], seen[b][1]) for a, b in itertools.combinations(PAINTS, 2)]
    assert min(unlike) > 1.5 * max(together)
    for word, of in seen.items():
        assert [colours.colours[0].word for colours in of] == [word] * 3
        assert all(colours.balanced_on == "greys" for colours in of)


def test_sample_blooms_in_sun_and_under_cloud():
    away = []
    for sunny, cloudy in (("0204", "0288"), ("0206", "0290")):
        pair = []
        for number in (sunny, cloudy):
            name = f"summer-2026/LF35{number}.JPG"
            picture = open_upright(SAMPLES / name)
            made = measure_bloom(picture, marks=read_marks(picture), optics=Optics(focal35_mm=26.0))
            pair.append(made.colours)
            assert made.colours.balanced_on == "greys"
        away.append(difference(*pair))
    assert np.median(away) < 4.0
    assert max(away) < 5.0


def mean_inside(picture):
    """Mean linear sRGB of the bloom's middle, as the camera wrote it."""
    x, y = np.round(staged().outline().mean(axis=0)).astype(int)
    some = picture[y - 50 : y + 50, x - 50 : x + 50].reshape(-1, 3) / 255.0
    return np.where(some <= 0.04045, some / 12.92, ((some + 0.055) / 1.055) ** 2.4).mean(axis=0)


@pytest.mark.parametrize("word", PAINTS)
def test_what_was_painted_comes_back(word):
    # Petals are painted at 75 to 100 % of the colour; the lighter half is about 94 % of it. Paper
    # and ink are other than the program supposes, hence the room.
    painted = lab_of(true_reflectance(0.94 * np.array(PAINTS[word])))
    found = np.array(measured(shot(word, OVERCAST)).colours[0].lab)
    assert ciede2000(found, painted) < 5.0


@pytest.mark.parametrize("trouble", ["shadow", "glare", "bright paper", "dim"])
def test_the_light_is_found_in_spite_of(trouble):
    usual = measured(shot("pink", OVERCAST))
    design = staged().design
    if trouble == "shadow":
        # The bloom's own, beside it on the backdrop and down onto the board.
        picture = shot("pink", SUN, shadow_px=staged().outline() + np.array([[36.0, 48.0]]))
        picture = keep_bloom(picture, shot("pink", SUN))
    elif trouble == "glare":
        place = [[design.greys.left + 20.0, design.greys.top + 5.0, 0.0]]
        x, y = staged().camera.project(np.array(place))[0]
        picture = shot("pink", OPEN_SHADE, glare_px=(x, y, 40.0))
    elif trouble == "bright paper":
        light = type(SUN)(light="D55", exposure=1.25, curve=0.0, veil=0.0, seed=4)
        picture = shot("pink", light)
        assert (picture.max(axis=2) >= 254).mean() > 0.03
    else:
        picture = shot("pink", type(SUN)(light="sky", exposure=0.12, noise=0.02, seed=4))
    assert difference(measured(picture), usual) < 5.0


def keep_bloom(picture, lit):
    """The picture with the bloom itself taken from another: a shadow that falls behind it."""
    import cv2

    mask = np.zeros(picture.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round(staged().outline()).astype(np.int32)], 1)
    return np.where(mask[..., None] > 0, lit, picture)


def test_lamplight_is_less_sure_but_no_other_colour():
    assert [measured(shot(word, LAMP)).colours[0].word for word in ("white", "red", "pink")] == [
        "white",
        "red",
        "pink",
    ]


def test_two_colours_and_their_shares():
    inner = stage_bloom("decorative", widest_mm=70.0, seed=6, size_px=SIZE)
    picture = drawn_bloom(staged(), PAINTS["white"], inner=PAINTS["purple"], inner_scene=inner)
    for light in (SUN, OPEN_SHADE):
        seen = measured(relit(picture, light, bloom_px=staged().outline()))
        assert [colour.word for colour in seen.colours] == ["white", "purple"]
        # About 70 squared over 120 squared, both outlines being ragged alike.
        assert seen.colours[1].share == pytest.approx((70 / 120) ** 2, abs=0.06)


def test_shade_between_petals_is_no_colour_of_its_own():
    # Half the petals in a third of the light: one colour all the same, and that of the lit ones.
    low, high = staged().outline().min(axis=0), staged().outline().max(axis=0)
    bars = np.concatenate(
        [
            [[x, low[1]], [x + 12, low[1]], [x + 12, high[1]], [x + 24, high[1]]]
            for x in np.arange(low[0], high[0], 24.0)
        ]
    )
    bars = np.concatenate([bars, [[low[0], high[1]]]])
    for word in ("orange", "red", "white"):
        picture = shot(word, OVERCAST, shadow_px=bars, shadow_depth=0.33)
        seen = measured(picture)
        assert len(seen.colours) == 1
        assert difference(seen, measured(shot(word, OVERCAST))) < 3.0


def test_the_same_picture_gives_the_same_colours():
    picture = shot("bronze", SUN)
    assert measured(picture) == measured(picture)


def test_a_card_of_which_nothing_is_seen_gives_no_colours():
    picture = np.full((SIZE[1], SIZE[0], 3), 255, np.uint8)
    assert measured(picture) is None


def test_without_the_row_of_greys_the_paper_serves():
    picture = shot("orange", OPEN_SHADE).copy()
    design = staged().design
    corners = np.array([[0.0, design.greys.top - 2, 0], [200.0, design.greys.top + 20, 0]])
    (x0, y0), (x1, y1) = np.round(staged().camera.project(corners)).astype(int)
    picture[max(0, y0) : y1, max(0, x0) : x1] = (90, 70, 50)
    seen = measured(picture)
    assert seen.balanced_on == "paper"
    assert difference(seen, measured(shot("orange", OPEN_SHADE))) < 8.0


def test_the_light_s_change_over_the_card_is_seen():
    uneven = []
    for gradient in (0.0, 0.4):
        light = type(SUN)(light="D65", gradient=gradient, curve=0.2)
        picture = shot("pink", light)
        places = grey_places(picture, pose(), printing=Printing(), keep_off=staged().outline())
        uneven.append(light_on(places, at_mm=(100.0, 76.0)).uneven)
    assert uneven[0] < 0.05
    # 40 % of the picture's width, of which 100 mm take about a fifth.
    assert 0.05 < uneven[1] < 0.2


def colours(*parts):
    return BloomColours(
        colours=tuple(MainColour(lab=lab, share=share, word=word_for(lab)) for lab, share in parts),
        balanced_on="greys",
        too_bright=0.0,
    )


def test_difference_follows_the_shares():
    red, white, pink = (40.0, 55.0, 30.0), (90.0, 0.0, 4.0), (65.0, 35.0, 0.0)
    apart = float(ciede2000(np.array(red), np.array(white)))
    one = colours((red, 0.6), (white, 0.4))
    assert difference(one, one) == pytest.approx(0.0, abs=1e-9)
    # A tenth of the bloom has to change from red to white.
    other = colours((red, 0.5), (white, 0.5))
    assert difference(one, other) == pytest.approx(0.1 * apart, rel=1e-6)
    assert difference(other, one) == pytest.approx(0.1 * apart, rel=1e-6)
    # A colour split in two, the halves alike, is no difference.
    split = colours((red, 0.3), (red, 0.3), (white, 0.4))
    assert difference(one, split) == pytest.approx(0.0, abs=1e-9)
    assert difference(colours((red, 1.0)), colours((pink, 1.0))) == pytest.approx(
        float(ciede2000(np.array(red), np.array(pink)))
    )


def test_every_colour_has_a_word_and_every_word_a_colour():
    words = {
        word_for((lightness, chroma * np.cos(np.radians(hue)), chroma * np.sin(np.radians(hue))))
        for lightness in range(0, 101, 4)
        for chroma in range(0, 101, 4)
        for hue in range(0, 360, 6)
    }
    assert words == {word.word for word in COLOUR_WORDS}
