"""Outlines of drawn blooms: true widths, laws, and what must be flagged or refused."""

from typing import Any

import numpy as np
import pytest

from measure.outline.bloom import outline_bloom
from measure.outline.regions import widest_of
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Picture
from tests.measure.outline.drawn import DrawnBloom, draw_bloom, outcome


def outline_of(picture: Picture, near: tuple[float, float], **given: Any) -> Outline:
    options: dict[str, Any] = {
        "keep_out": np.zeros(picture.shape[:2], dtype=bool),
        "px_per_mm": 2.0,
        **given,
    }
    return outline_bloom(picture, near=near, **options)


@pytest.fixture(scope="module")
def plain() -> DrawnBloom:
    return draw_bloom()


@pytest.fixture(scope="module")
def plain_outline(plain: DrawnBloom) -> Outline:
    return outline_of(plain.picture, plain.centre)


SCENES = {
    "double before leaves": {},
    "pale before soil": {"colour": (238, 214, 160), "background": "soil"},
    "pink before a sheet": {"colour": (220, 90, 140), "background": "sheet"},
    "lobed, with a disc": {"petals": 8, "disc_colour": (235, 196, 60), "colour": (196, 40, 70)},
    "narrow petals": {"petals": 14, "colour": (240, 205, 70)},
    "rays": {"petals": 40, "colour": (235, 205, 80)},
    "small": {"radius_px": 60},
}


@pytest.mark.parametrize("scene", SCENES.values(), ids=SCENES.keys())
def test_widest_of_a_drawn_bloom(scene: dict[str, Any]) -> None:
    drawn = draw_bloom(**scene)
    found = outline_of(drawn.picture, (drawn.centre[0] + 15, drawn.centre[1] - 10))
    assert widest_of(found.points) == pytest.approx(drawn.widest_px, rel=0.015)
    assert Flag.OUTLINE_UNSURE not in found.flags


def test_claimed_edge_error_is_not_far_from_the_scatter() -> None:
    # Round, sharp blooms of known radius, moved by parts of a pixel.
    errors, claimed = [], []
    for seed in range(3):
        shift = seed / 3
        drawn = draw_bloom(centre=(400 + shift, 300 - shift), seed=seed, radius_px=120 + shift)
        found = outline_of(drawn.picture, drawn.centre)
        away = np.hypot(*(found.points - drawn.centre).T)
        turn = np.arctan2(*(found.points - drawn.centre).T[::-1])
        true = (120 + shift) * (1 - 0.05 * np.sin(8 * turn) ** 2)
        errors.append(np.sqrt(np.mean((away - true) ** 2)))
        claimed.append(found.edge_sigma_px)
    assert np.mean(errors) == pytest.approx(np.mean(claimed), rel=0.8)


def test_twice_the_picture_gives_twice_the_outline(
    plain: DrawnBloom, plain_outline: Outline
) -> None:
    doubled = plain.picture.repeat(2, axis=0).repeat(2, axis=1)
    near = (plain.centre[0] * 2 + 0.5, plain.centre[1] * 2 + 0.5)
    found = outline_of(doubled, near, px_per_mm=4.0)
    assert widest_of(found.points) == pytest.approx(2 * widest_of(plain_outline.points), rel=0.006)


def test_moved_picture_moves_the_outline(plain: DrawnBloom, plain_outline: Outline) -> None:
    moved = np.ascontiguousarray(plain.picture[20:, 30:])
    found = outline_of(moved, (plain.centre[0] - 30, plain.centre[1] - 20))
    middle = plain_outline.points.mean(axis=0) - [30, 20]
    assert found.points.mean(axis=0) == pytest.approx(middle, abs=0.5)
    assert widest_of(found.points) == pytest.approx(widest_of(plain_outline.points), rel=0.006)


def test_mirrored_picture_mirrors_the_outline(plain: DrawnBloom, plain_outline: Outline) -> None:
    width = plain.picture.shape[1]
    mirrored = np.ascontiguousarray(plain.picture[:, ::-1])
    found = outline_of(mirrored, (width - 1 - plain.centre[0], plain.centre[1]))
    x, y = plain_outline.points.mean(axis=0)
    assert found.points.mean(axis=0) == pytest.approx((width - 1 - x, y), abs=0.5)
    assert widest_of(found.points) == pytest.approx(widest_of(plain_outline.points), rel=0.006)


def test_same_picture_gives_the_same_outline(plain: DrawnBloom, plain_outline: Outline) -> None:
    again = outline_of(plain.picture, plain.centre)
    assert np.array_equal(again.points, plain_outline.points)
    assert again.confidence == plain_outline.confidence


def test_paper_of_the_card_is_not_bloom() -> None:
    drawn = draw_bloom(centre=(400, 260), colour=(226, 120, 60))
    rows, columns = np.indices(drawn.truth.shape)
    card = (columns > 240) & (columns < 560) & (rows > 120) & (rows < 580)
    squares = ((rows // 40 + columns // 40) % 2 == 0) & (rows > 380)
    paper = np.where(squares[..., None], 30, 225) + np.zeros(3)
    picture = np.where((card & ~drawn.truth)[..., None], paper, drawn.picture).astype(np.uint8)
    found = outline_of(picture, (400, 240), keep_out=card)
    assert widest_of(found.points) == pytest.approx(drawn.widest_px, rel=0.015)
    assert found.points[:, 1].max() < 400


def test_white_bloom_on_white_card_is_right_or_doubted() -> None:
    drawn = draw_bloom(colour=(236, 236, 230), background="sheet")
    try:
        found = outline_of(
            drawn.picture, drawn.centre, keep_out=np.ones(drawn.truth.shape, dtype=bool)
        )
    except MeasureError:
        return
    error = abs(widest_of(found.points) / drawn.widest_px - 1)
    assert error < 0.03 or Flag.OUTLINE_UNSURE in found.flags


def test_others_in_view_are_counted_and_flagged() -> None:
    drawn = draw_bloom(centre=(300, 300), radius_px=110, others=((660, 200, 90),))
    found = outline_of(drawn.picture, (320, 300))
    assert Flag.OTHERS_IN_VIEW in found.flags
    assert found.others == 1
    assert widest_of(found.points) == pytest.approx(drawn.widest_px, rel=0.015)


def test_touching_neighbour_is_cut_off() -> None:
    drawn = draw_bloom(centre=(280, 300), radius_px=120, others=((500, 300, 110),))
    found = outline_of(drawn.picture, (270, 300))
    assert widest_of(found.points) == pytest.approx(drawn.widest_px, rel=0.05)


def test_bloom_just_over_the_edge_is_flagged() -> None:
    drawn = draw_bloom(centre=(400, 126), radius_px=130)
    found = outline_of(drawn.picture, (400, 140))
    assert Flag.TOUCHES_EDGE in found.flags


def test_half_a_bloom_is_refused() -> None:
    drawn = draw_bloom(centre=(400, 20), radius_px=150)
    with pytest.raises(MeasureError, match="cut off by the edge of the picture") as caught:
        outline_of(drawn.picture, (400, 60))
    assert caught.value.refusal is Refusal.SUBJECT_CUT_OFF


def test_leaves_alone_are_refused_or_doubted() -> None:
    drawn = draw_bloom(radius_px=1)
    seen = outcome(lambda: outline_of(drawn.picture, drawn.centre))
    assert seen & {Refusal.NO_SUBJECT, Refusal.OUTLINE_FAILED, Flag.OUTLINE_UNSURE}


def test_even_grey_holds_no_subject() -> None:
    grey = np.full((300, 400, 3), 128, dtype=np.uint8)
    with pytest.raises(MeasureError, match="Nothing to measure was found beside the card"):
        outline_of(grey, (200, 150))
