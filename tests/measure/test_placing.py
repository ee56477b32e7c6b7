"""Where the subject is looked for, what is kept out, and pictures in which nothing can be read."""

import dataclasses
import math

import cv2
import numpy as np
import pytest

from measure import MeasureError, Picture, Printing, measure_clump, read_marks
from measure.card.sharpness import looks_blurred
from measure.placing import keep_out_mask, places_to_look, stands_apart
from measure.pose import Pose, find_pose
from measure.quality import Refusal
from measure.results import MarksSeen, Outline
from measure.staging import BloomScene, ClumpScene, exact_marks, stage_bloom, stage_clump


def pose_of(scene: BloomScene | ClumpScene, marks: MarksSeen) -> Pose:
    return find_pose(marks, size_px=scene.camera.size_px, optics=scene.optics, printing=Printing())


@pytest.mark.parametrize("left", [False, True])
@pytest.mark.parametrize("turned_deg", [0.0, 180.0])
def test_a_clump_is_looked_for_on_its_own_side_first(left: bool, turned_deg: float) -> None:
    scene = stage_clump(left=left, turned_deg=turned_deg)
    marks = exact_marks(scene)
    places = places_to_look(
        scene.camera.size_px, pose_of(scene, marks), printing=Printing(), typical_mm=240.0
    )
    outline = scene.outline()
    assert np.all(np.asarray(places[0]) > outline.min(axis=0))
    assert np.all(np.asarray(places[0]) < outline.max(axis=0))


def test_a_bloom_is_looked_for_before_its_card() -> None:
    scene = stage_bloom("ball")
    places = places_to_look(
        scene.camera.size_px,
        pose_of(scene, exact_marks(scene)),
        printing=Printing(),
        typical_mm=110.0,
    )
    outline = scene.outline()
    assert len(places) == 1
    assert cv2.pointPolygonTest(outline.astype(np.float32), places[0], False) > 0


def test_card_and_tag_are_kept_out_and_nothing_else() -> None:
    scene = stage_clump()
    picture = scene.canvas(tag=12).finish()
    marks = read_marks(picture)
    mask = keep_out_mask(
        scene.camera.size_px, pose_of(scene, marks), marks, printing=Printing(), margin_mm=0.0
    )
    design = scene.design
    card = scene.camera.project(
        np.array(
            [
                [0, 0, 0],
                [design.width_mm, 0, 0],
                [design.width_mm, design.height_mm, 0],
                [0, design.height_mm, 0],
            ],
            np.float64,
        )
    )
    drawn = np.zeros(mask.shape, np.uint8)
    cv2.fillConvexPoly(drawn, np.round(card).astype(np.int32), 1)
    assert np.count_nonzero(mask != (drawn > 0)) < 0.02 * np.count_nonzero(drawn)
    x, y = np.round(scene.outline()).astype(int).T
    assert not mask[y, x].any()


def test_a_subject_far_from_the_card_is_told() -> None:
    scene = stage_clump()
    pose = pose_of(scene, exact_marks(scene))
    near = Outline(points=scene.outline(), confidence=1.0, edge_sigma_px=0.3)
    places = np.array([[700.0, 100.0, 0.0], [800.0, 60.0, 0.0], [800.0, 140.0, 0.0]])
    far = Outline(points=scene.camera.project(places), confidence=1.0, edge_sigma_px=0.3)
    assert not stands_apart(pose, near)
    assert stands_apart(pose, far)


def shaken(picture: Picture, *, length_px: int) -> Picture:
    path = np.zeros((length_px, length_px), np.float32)
    path[length_px // 2] = 1.0 / length_px
    return np.asarray(cv2.filter2D(picture, -1, path), np.uint8)


def test_a_shaken_picture_is_refused_as_blurred_not_as_without_card() -> None:
    scene = stage_clump()
    picture = shaken(scene.canvas(tag=12).finish(noise=1.0), length_px=41)
    with pytest.raises(MeasureError, match=r"too blurred\. \(No scale card could be read"):
        measure_clump(picture, marks=read_marks(picture), optics=scene.optics)


@pytest.mark.parametrize("distance_mm", [1000.0, 1400.0, 1600.0, 2000.0, 3000.0, 3500.0, 5000.0])
def test_a_card_too_far_to_be_read_asks_for_going_closer(distance_mm: float) -> None:
    scene = stage_clump(distance_mm=distance_mm)
    picture = scene.canvas(tag=12).finish(blur_px=0.8)
    marks = read_marks(picture)
    if distance_mm == 1000.0:
        made = measure_clump(picture, marks=marks, optics=scene.optics)
        assert made.sizes["spread_mm"].value == pytest.approx(scene.clump.spread_mm, rel=0.05)
        return
    with pytest.raises(MeasureError, match=r"No scale card in|too small in") as refused:
        measure_clump(picture, marks=marks, optics=scene.optics)
    assert refused.value.refusal is (Refusal.CARD_FAR_AWAY if marks.cards else Refusal.NO_CARD)
    assert "o closer" in refused.value.remedy


def test_large_marks_of_which_few_are_read_are_hidden_not_far() -> None:
    scene = stage_clump()
    marks = read_marks(scene.canvas().finish())
    (card,) = marks.cards
    few = dataclasses.replace(card, corner_ids=card.corner_ids[:2], corners=card.corners[:2])
    for side_px, refusal in (
        (card.mark_px, Refusal.CARD_HIDDEN),
        (15.0, Refusal.CARD_FAR_AWAY),
        (math.nan, Refusal.CARD_HIDDEN),
    ):
        seen = dataclasses.replace(marks, cards=(dataclasses.replace(few, mark_px=side_px),))
        with pytest.raises(MeasureError, match=r"too small|board is hidden") as refused:
            pose_of(scene, seen)
        assert refused.value.refusal is refusal


# From further away what is shaken loses its contrast too, and that it is shaken can't be told.
@pytest.mark.parametrize("distance_mm", [720.0, 1500.0])
@pytest.mark.parametrize("direction", ["across", "down"])
def test_shaken_is_told_from_small(distance_mm: float, direction: str) -> None:
    picture = stage_clump(distance_mm=distance_mm).canvas(tag=12).finish(blur_px=0.8)
    assert not looks_blurred(picture)
    # Two per cent of the picture: a step of which two pixels in sixteen hold an eighth.
    turned = picture if direction == "across" else picture.transpose(1, 0, 2)
    assert looks_blurred(shaken(np.ascontiguousarray(turned), length_px=32))


def test_sharp_pictures_are_not_taken_for_blurred() -> None:
    assert not looks_blurred(stage_bloom("cactus").canvas().finish())
    assert not looks_blurred(stage_clump().canvas().finish(blur_px=1.0))
    assert not looks_blurred(np.full((300, 400, 3), 128, np.uint8))
    for distance_mm in (1500.0, 2500.0, 4000.0):
        assert not looks_blurred(stage_clump(distance_mm=distance_mm).canvas(tag=12).finish())
