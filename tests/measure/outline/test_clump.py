"""Outlines of drawn clumps: true spreads, laws, and what must be left out, flagged or refused."""

from typing import Any

import cv2
import numpy as np
import pytest

from measure.outline.clump import find_clump
from measure.outline.regions import overlap, widest_of
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Picture
from tests.measure.outline.drawn import DrawnClump, draw_clump, ground, outcome


def outline_of(
    picture: Picture, *, near: tuple[float, float] = (405, 345), **given: Any
) -> Outline:
    options: dict[str, Any] = {
        "keep_out": np.zeros(picture.shape[:2], dtype=bool),
        "px_per_mm": 2.0,
        **given,
    }
    return find_clump(picture, near=near, **options).outline


def region_of(outline: Outline, shape: tuple[int, int]) -> np.ndarray:
    region = np.zeros(shape, np.uint8)
    corners = np.round(outline.points * 16).astype(np.int32).reshape(-1, 1, 2)
    cv2.fillPoly(region, [corners], 1, cv2.LINE_8, 4)
    return region > 0


@pytest.fixture(scope="module")
def plain() -> DrawnClump:
    return draw_clump()


@pytest.fixture(scope="module")
def plain_outline(plain: DrawnClump) -> Outline:
    return outline_of(plain.picture)


@pytest.mark.parametrize("background", ["wood", "sacking", "slate", "soil", "sheet"])
def test_spread_on_each_ground_with_shadow(background: str) -> None:
    drawn = draw_clump(background=background, seed=3)
    found = outline_of(drawn.picture)
    assert widest_of(found.points) == pytest.approx(drawn.spread_px, rel=0.012)
    assert overlap(region_of(found, drawn.truth.shape), drawn.truth) > 0.96


def test_roots_thinner_than_4_mm_are_left_out_and_thicker_ones_kept() -> None:
    drawn = draw_clump(background="slate", roots_mm=35)
    found = outline_of(drawn.picture)
    # The roots would add 70 mm.
    assert widest_of(found.points) == pytest.approx(drawn.spread_px, rel=0.025)
    with_roots = outline_of(drawn.picture, root_mm=1.0)
    assert widest_of(with_roots.points) > 1.02 * widest_of(found.points)


@pytest.mark.parametrize("background", ["wood", "slate"])
def test_stem_that_juts_out_is_left_out(background: str) -> None:
    drawn = draw_clump(
        headings_deg=(150, 200, 250, 290),
        lengths_mm=(110, 120, 115, 105),
        stem_heading_deg=40,
        stem_mm=75,
        background=background,
        centre=(480, 380),
    )
    found = region_of(outline_of(drawn.picture, near=(440, 350)), drawn.truth.shape)
    y, x = np.indices(drawn.truth.shape)
    jut = (
        (np.hypot(x - 480, y - 380) > 40 * 2)
        & (np.hypot(x - 480, y - 380) < 74 * 2)
        & (np.abs(np.degrees(np.arctan2(y - 380, x - 480)) - 40) < 6)
    )
    assert found[jut].mean() < 0.1
    assert overlap(found, drawn.truth) > 0.93


def test_card_is_never_clump(plain: DrawnClump) -> None:
    card = np.zeros(plain.truth.shape, dtype=bool)
    card[60:300, 20:190] = True
    picture = plain.picture.copy()
    picture[card & ~plain.truth] = 235
    found = outline_of(picture, keep_out=card & ~plain.truth)
    assert widest_of(found.points) == pytest.approx(plain.spread_px, rel=0.012)


def test_twice_the_picture_gives_twice_the_outline(
    plain: DrawnClump, plain_outline: Outline
) -> None:
    doubled = plain.picture.repeat(2, axis=0).repeat(2, axis=1)
    found = outline_of(doubled, near=(810.5, 690.5), px_per_mm=4.0)
    assert widest_of(found.points) == pytest.approx(2 * widest_of(plain_outline.points), rel=0.008)


def test_mirrored_picture_mirrors_the_outline(plain: DrawnClump, plain_outline: Outline) -> None:
    width = plain.picture.shape[1]
    mirrored = np.ascontiguousarray(plain.picture[:, ::-1])
    found = outline_of(mirrored, near=(width - 1 - 405, 345))
    assert widest_of(found.points) == pytest.approx(widest_of(plain_outline.points), rel=0.008)
    x, y = plain_outline.points.mean(axis=0)
    assert found.points.mean(axis=0) == pytest.approx((width - 1 - x, y), abs=4)


def test_moved_picture_moves_the_outline(plain: DrawnClump, plain_outline: Outline) -> None:
    moved = np.ascontiguousarray(plain.picture[24:, 30:])
    found = outline_of(moved, near=(375, 321))
    assert widest_of(found.points) == pytest.approx(widest_of(plain_outline.points), rel=0.008)


def test_same_picture_gives_the_same_outline(plain: DrawnClump, plain_outline: Outline) -> None:
    again = outline_of(plain.picture)
    assert np.array_equal(again.points, plain_outline.points)


def test_second_clump_is_flagged() -> None:
    one = draw_clump(centre=(300, 330), background="slate", shape=(660, 1200))
    two = draw_clump(centre=(900, 330), background="slate", shape=(660, 1200), seed=2)
    picture = np.where(two.truth[..., None], two.picture, one.picture)
    found = outline_of(picture, near=(320, 330))
    assert Flag.OTHERS_IN_VIEW in found.flags
    assert widest_of(found.points) == pytest.approx(one.spread_px, rel=0.02)


def test_clump_cut_off_is_flagged_or_refused() -> None:
    drawn = draw_clump(centre=(420, 140), background="slate")
    seen = outcome(lambda: outline_of(drawn.picture, near=(405, 200)))
    assert seen & {Refusal.SUBJECT_CUT_OFF, Flag.TOUCHES_EDGE}


def test_clump_half_outside_is_refused() -> None:
    drawn = draw_clump(centre=(420, 10), background="slate", thick_mm=60)
    with pytest.raises(MeasureError, match="cut off by the edge of the picture"):
        outline_of(drawn.picture, near=(405, 100))


@pytest.mark.parametrize("background", ["wood", "sacking"])
def test_bare_ground_is_refused_or_doubted(background: str) -> None:
    rng = np.random.default_rng(5)
    bare = np.clip(ground(background, (600, 800), rng), 0, 255).astype(np.uint8)
    seen = outcome(lambda: outline_of(bare))
    assert seen & {Refusal.NO_SUBJECT, Refusal.OUTLINE_FAILED, Flag.OUTLINE_UNSURE}


def test_even_grey_holds_no_clump() -> None:
    grey = np.full((300, 400, 3), 128, dtype=np.uint8)
    with pytest.raises(MeasureError, match="Nothing to measure was found beside the card"):
        outline_of(grey, near=(200, 150))
