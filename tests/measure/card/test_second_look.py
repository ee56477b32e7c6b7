"""A tag with one damaged half: read as far as the family's distance bears it, never misread."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from measure.card.finding import read_marks
from measure.card.marks import TAG_PITCH, marks_of_tag
from measure.card.second_look import look_for_fellow

FAMILY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36H11)
MODULE_PX = 5
SIDE_PX = 8 * MODULE_PX


def tag(
    number: int, *, damaged_cells: int, half: int, rng: np.random.Generator
) -> NDArray[np.uint8]:
    """A tag on white, (120, 160) grey, with so many cells of one half inverted."""
    picture = np.full((120, 160), 230, np.uint8)
    for i, mark in enumerate(marks_of_tag(number)):
        cells = np.asarray(cv2.aruco.generateImageMarker(FAMILY, mark, 8)) > 0
        if i == half:
            for cell in rng.choice(36, damaged_cells, replace=False):
                at = (1 + cell // 6, 1 + cell % 6)
                cells[at] = not cells[at]
        drawn = np.kron(np.where(cells, 230, 30), np.ones((MODULE_PX, MODULE_PX))).astype(np.uint8)
        left = 30 + round(i * TAG_PITCH * SIDE_PX)
        picture[40 : 40 + SIDE_PX, left : left + SIDE_PX] = drawn
    return np.asarray(cv2.GaussianBlur(picture, (0, 0), 0.8), np.uint8)


def ids_at_first_look(gray: NDArray[np.uint8]) -> list[int]:
    _, ids, _ = cv2.aruco.ArucoDetector(FAMILY).detectMarkers(gray)
    return [] if ids is None else [int(i) for i in np.ravel(ids)]


@pytest.mark.parametrize("half", [0, 1])
@pytest.mark.parametrize("damaged", [4, 5])
def test_half_that_a_first_look_misses_is_read(half: int, damaged: int):
    # The family's marks differ in at least 11 cells, so that up to 5 wrong ones can be put right.
    for number in (16, 423, 5077, 9999):
        gray = tag(number, damaged_cells=damaged, half=half, rng=np.random.default_rng(number))
        assert ids_at_first_look(gray) == [marks_of_tag(number)[1 - half]]

        seen = read_marks(np.dstack([gray] * 3))

        assert [t.number for t in seen.tags] == [number]


def test_too_damaged_a_half_stays_a_half_and_is_not_misread():
    rng = np.random.default_rng(5)
    kept_half = 0
    for number in range(100, 9900, 196):
        gray = tag(number, damaged_cells=9, half=1, rng=rng)
        seen = read_marks(np.dstack([gray] * 3))
        assert all(t.number in {None, number} for t in seen.tags)
        kept_half += any(t.half == ("left", number // 100) for t in seen.tags)

    assert kept_half == len(range(100, 9900, 196))


def test_place_of_the_fellow_is_true_to_a_pixel():
    gray = tag(423, damaged_cells=4, half=1, rng=np.random.default_rng(1))
    left = np.array([[30, 40], [70, 40], [70, 80], [30, 80]], float) - 0.5

    found = look_for_fellow(gray, left, side="left")

    assert found is not None
    mark, corners = found
    assert mark == marks_of_tag(423)[1]
    assert np.abs(corners - (left + np.array([TAG_PITCH * SIDE_PX, 0.0]))).max() < 1.0


def test_nothing_is_found_where_the_picture_ends():
    gray = tag(423, damaged_cells=0, half=1, rng=np.random.default_rng(1))
    right = np.array([[80, 40], [120, 40], [120, 80], [80, 80]], float) - 0.5

    assert look_for_fellow(gray[:, 75:], right - [75.0, 0.0], side="right") is None
    assert look_for_fellow(gray, right, side="right") is not None
