"""The overlay shows outline and callipers on any size of picture, and leaves the picture alone."""

import dataclasses

import cv2
import numpy as np
import pytest

from measure import Measurement, Picture, draw_overlay, read_marks
from measure.bloom import size_bloom
from measure.pose import find_pose
from measure.results import MarksSeen, Outline, Printing
from measure.staging import stage_bloom


@pytest.fixture(scope="module")
def measured() -> tuple[Picture, MarksSeen, Measurement]:
    scene = stage_bloom("decorative", size_px=(800, 600))
    picture = scene.canvas().finish()
    marks = read_marks(picture)
    pose = find_pose(marks, size_px=scene.camera.size_px, optics=scene.optics, printing=Printing())
    outline = Outline(points=scene.outline(), confidence=1.0, edge_sigma_px=0.3)
    return picture, marks, size_bloom(outline, pose=pose, form="decorative", printing=Printing())


def test_the_outline_is_drawn_where_it_is(
    measured: tuple[Picture, MarksSeen, Measurement],
) -> None:
    picture, marks, measurement = measured
    drawn = draw_overlay(picture, measurement, marks=marks)
    assert drawn.shape == picture.shape
    assert drawn.dtype == np.uint8
    pink = (drawn[..., 0] > 200) & (drawn[..., 1] < 140) & (drawn[..., 2] > 140)
    near = cv2.dilate(pink.astype(np.uint8), np.ones((5, 5)))
    x, y = np.round(measurement.outline.points).astype(int).T
    # All but what callipers and plate cover.
    assert np.mean(near[y, x]) > 0.85


def test_the_picture_itself_is_left_alone(
    measured: tuple[Picture, MarksSeen, Measurement],
) -> None:
    picture, marks, measurement = measured
    before = picture.copy()
    draw_overlay(picture, measurement, marks=marks)
    assert np.array_equal(picture, before)


@pytest.mark.parametrize("scale", [0.25, 3.0])
def test_small_and_large_pictures(
    measured: tuple[Picture, MarksSeen, Measurement], scale: float
) -> None:
    picture, marks, measurement = measured
    height, width = (round(scale * side) for side in picture.shape[:2])
    resized = np.asarray(cv2.resize(picture, (width, height)), np.uint8)

    def moved(points: np.ndarray) -> np.ndarray:
        return (points + 0.5) * scale - 0.5

    larger = dataclasses.replace(
        measurement,
        outline=dataclasses.replace(measurement.outline, points=moved(measurement.outline.points)),
        callipers=moved(measurement.callipers),
    )
    cards = tuple(dataclasses.replace(c, corners=moved(c.corners)) for c in marks.cards)
    drawn = draw_overlay(
        resized, larger, marks=dataclasses.replace(marks, cards=cards), longest_px=1600
    )
    assert max(drawn.shape[:2]) == min(1600, max(height, width))
    assert np.abs(drawn.astype(int).mean() - resized.mean()) > 0.5


def test_a_subject_at_the_edge_keeps_its_label_inside(
    measured: tuple[Picture, MarksSeen, Measurement],
) -> None:
    picture, marks, measurement = measured
    aside = dataclasses.replace(
        measurement,
        outline=dataclasses.replace(
            measurement.outline, points=measurement.outline.points + np.array([400.0, 300.0])
        ),
    )
    drawn = draw_overlay(picture, aside, marks=marks)
    assert drawn.shape == picture.shape
