"""Every flag and every refusal is reached by some drawn picture, and none by a good one."""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import replace

import cv2
import numpy as np
import pytest

from measure import Optics, measure_bloom, measure_clump, read_marks
from measure.placing import pose_in
from measure.quality import REFUSALS, SENTENCES, Flag, MeasureError, Refusal
from measure.results import MarksSeen, Printing
from measure.scenes import look_at
from measure.seeds import measure_seeds
from measure.side import size_bloom_side
from measure.side_axis import SideAxis
from measure.two_shots import size_two_shots
from tests.measure.relit import OVERCAST
from tests.measure.seeds.drawn import SheetPlan, draw_sheet
from tests.measure.side_scenes import side_scene
from tests.measure.test_two_shots import pair, seen_from
from tests.measure.troubled import (
    READ,
    bent_card,
    bloom_flags,
    bloom_picture,
    bloom_scene,
    clump_flags,
    clump_picture,
    clump_scene,
    covered_board,
    half_in_shade,
    moved_clump,
    on_board,
    pose_flags,
    second_bloom,
    soiled_card,
)

LENS = clump_scene().camera.focal35_mm


def drawn_flags(scene):
    return clump_flags(scene.canvas().finish(), scene=scene)


def cut_at(picture, outline, *, inside_px):
    """The picture cut off so many pixels before the subject's right end."""
    return np.ascontiguousarray(picture[:, : int(outline[:, 0].max() - inside_px)])


@functools.cache
def untold():
    return bloom_flags(bloom_picture(), form=None, printing=Printing())


@functools.cache
def in_the_dark():
    return bloom_flags(bloom_picture(replace(OVERCAST, exposure=0.065)))


def near_and_aslant():
    view = look_at((60.0, 60.0, 0.0), distance_mm=350.0, tilt_deg=30.0)
    scene = dataclasses.replace(bloom_scene(), camera=view)
    return bloom_flags(scene.canvas().finish(), form=None, optics=scene.optics)


def seen_at(**view):
    camera = look_at((240.0, 100.0, 0.0), **view)
    scene = dataclasses.replace(clump_scene(), camera=camera)
    return pose_flags(scene.canvas().finish())


def side_without_a_stem():
    scene = side_scene("decorative")
    by_the_card = SideAxis(turn_deg=0.0, u_deg=15.0, seen_by="card")
    made = size_bloom_side(scene.seen(), pose=scene.pose(), axis=by_the_card, printing=READ)
    return set(made.flags)


def on_blotchy_soil():
    """Soil of the clump's own hue, here as bright and there half as bright."""
    colour = (130, 100, 70)
    width, height = clump_scene().camera.size_px
    coarse = np.random.default_rng(4).normal(0.6, 0.24, (height // 14, width // 14))
    blotches = cv2.resize(coarse, (width, height), interpolation=cv2.INTER_CUBIC)
    soil = np.clip(blotches[..., None] * np.array(colour), 0, 255)
    return clump_flags(clump_scene().canvas(colour=colour, ground=soil).finish(noise=8.0))


def seeds(**plan):
    sheet = draw_sheet(SheetPlan(**plan))
    return set(measure_seeds(sheet.picture, marks=sheet.marks, optics=sheet.optics).flags)


FLAGS = {
    Flag.OUTLINE_UNSURE: in_the_dark,
    Flag.TOUCHES_EDGE: lambda: clump_flags(
        cut_at(clump_picture(), clump_scene().outline(), inside_px=5)
    ),
    Flag.OTHERS_IN_VIEW: lambda: bloom_flags(second_bloom()[0], optics=second_bloom()[1]),
    Flag.LIKE_GROUND: on_blotchy_soil,
    Flag.BLURRED: lambda: pose_flags(clump_picture(1.4)),
    Flag.CARD_FAR: lambda: drawn_flags(moved_clump(by_mm=420.0, distance_mm=1000.0)),
    Flag.CARD_PARTLY_HIDDEN: lambda: pose_flags(
        covered_board(clump_scene(), clump_picture(), share=0.45)
    ),
    Flag.CARD_BENT: lambda: pose_flags(bent_card(clump_scene(), clump_picture(), sag_mm=10.0)),
    Flag.CARD_COVERED: lambda: clump_flags(
        soiled_card(clump_scene(), clump_picture(), radius_mm=11.0)
    ),
    Flag.GLARE: lambda: bloom_flags(
        bloom_picture(glare_px=(*on_board(bloom_scene(), 0.5, 0.5), 50.0))
    ),
    Flag.SHADOW_EDGE: lambda: bloom_flags(
        bloom_picture(shadow_px=half_in_shade(bloom_scene().outline()), shadow_depth=0.25)
    ),
    Flag.TOO_DARK: in_the_dark,
    Flag.TOO_BRIGHT: lambda: bloom_flags(bloom_picture(replace(OVERCAST, exposure=3.0))),
    Flag.SIZE_UNSURE: near_and_aslant,
    Flag.OBLIQUE: lambda: seen_at(distance_mm=700.0, tilt_deg=40.0),
    Flag.LENS_UNKNOWN: lambda: pose_flags(clump_picture(), optics=Optics()),
    Flag.ULTRA_WIDE: lambda: pose_flags(clump_picture(), optics=Optics(focal35_mm=13.0)),
    Flag.CROPPED: lambda: pose_flags(
        clump_picture(), optics=Optics(focal35_mm=LENS, exif_size=(2400, 2400))
    ),
    Flag.SHRUNK: lambda: pose_flags(
        clump_picture(), optics=Optics(focal35_mm=LENS, exif_size=(4000, 3000))
    ),
    Flag.FORM_UNKNOWN: untold,
    Flag.AXIS_UNSURE: side_without_a_stem,
    Flag.COUNT_UNSURE: lambda: seeds(seeds=60, touching=0.9, shade="deep", noise=8.0, blur_px=2.0),
    Flag.NO_RULER_READING: untold,
}


@pytest.mark.parametrize("flag", Flag)
def test_every_flag_is_reached(flag):
    assert flag in FLAGS[flag]()


def test_good_pictures_raise_none():
    assert bloom_flags(bloom_picture()) == set()
    assert clump_flags(clump_picture()) == set()


def no_card():
    plain = np.full((600, 800, 3), 90, np.uint8)
    measure_bloom(plain, marks=read_marks(plain))


def two_cards():
    marks = read_marks(clump_picture())
    twice = dataclasses.replace(marks, cards=marks.cards * 2)
    measure_clump(clump_picture(), marks=twice, optics=clump_scene().optics)


def later_card():
    pose_in(clump_picture(), MarksSeen(strangers=(500, 501, 502)), optics=Optics(), printing=READ)


def bare_card():
    scene = clump_scene()
    bare = dataclasses.replace(scene, clump=dataclasses.replace(scene.clump, bodies=()))
    drawn_flags(bare)


def at_nightfall():
    bloom_flags(bloom_picture(replace(OVERCAST, exposure=0.04)))


def shots(kind):
    near, far = pair("decorative", ratio=1.5 if kind == "alike" else 2.15)
    seen = [seen_from(s, confidence=0.95, edge_px=0.5) for s in (near, far)]
    if kind == "moved":
        gone = dataclasses.replace(far, bloom=far.bloom.moved(to_mm=(10.0, 0.0, 0.0)))
        seen[1] = seen_from(gone, confidence=0.95, edge_px=0.5)
    if kind == "differ":
        pose = seen[1].pose
        other = dataclasses.replace(pose.reading, design="pocket-1")
        seen[1] = dataclasses.replace(seen[1], pose=dataclasses.replace(pose, reading=other))
    size_two_shots(seen, printing=READ)


REFUSED = {
    Refusal.NO_CARD: no_card,
    Refusal.CARD_HIDDEN: lambda: pose_flags(
        covered_board(clump_scene(), clump_picture(), share=0.85)
    ),
    Refusal.CARD_FAR_AWAY: lambda: seen_at(distance_mm=1900.0),
    Refusal.CARD_OBLIQUE: lambda: seen_at(distance_mm=450.0, tilt_deg=63.0),
    Refusal.CARD_BLURRED: lambda: pose_flags(clump_picture(2.0)),
    Refusal.CARD_UNKNOWN: later_card,
    Refusal.TWO_CARDS: two_cards,
    Refusal.NO_SUBJECT: bare_card,
    Refusal.SUBJECT_CUT_OFF: lambda: bloom_flags(
        np.ascontiguousarray(bloom_picture()[int(bloom_scene().outline()[:, 1].min()) + 40 :])
    ),
    Refusal.SUBJECT_ON_CARD: lambda: drawn_flags(moved_clump(by_mm=-110.0)),
    Refusal.OUTLINE_FAILED: at_nightfall,
    Refusal.SHOTS_TOO_ALIKE: lambda: shots("alike"),
    Refusal.SHOTS_MOVED: lambda: shots("moved"),
    Refusal.SHOTS_CARDS_DIFFER: lambda: shots("differ"),
    Refusal.SEEDS_HEAPED: lambda: seeds(seeds=10, heaped=120),
}


@pytest.mark.parametrize("refusal", Refusal)
def test_every_refusal_is_reached(refusal):
    with pytest.raises(MeasureError, match=REFUSALS[refusal][0][:20]) as refused:
        REFUSED[refusal]()
    assert refused.value.refusal is refusal
    assert refused.value.remedy == REFUSALS[refusal][1]


def test_each_has_a_sentence_and_a_remedy_in_plain_words():
    assert set(SENTENCES) == set(Flag)
    assert set(REFUSALS) == set(Refusal)
    for sentence, remedy in [*SENTENCES.values(), *REFUSALS.values()]:
        for text in (sentence, remedy):
            assert text[0].isupper()
            assert text.endswith(".")
            assert len(text) < 140
            for word in ("corner", "residual", "sigma", "pixel", "homograph", "pose", "outlier"):
                assert word not in text.lower()
