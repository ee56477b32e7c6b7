from pathlib import Path

import cv2
import numpy as np
import pytest

from measure.card.board import marks_dictionary
from measure.card.candidates import candidates
from measure.card.finding import _detect

SAMPLES = Path(__file__).parents[3] / "sample_images"
NAMES = ("LF350113.JPG", "LF350118.JPG", "LF350203.JPG", "LF350242.JPG", "LF350397.JPG")


def full_search(gray, smallest_share):
    """The outside check: OpenCV's own search of all the picture for all 587 marks."""
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = smallest_share
    corners, ids, _ = cv2.aruco.ArucoDetector(marks_dictionary(), parameters).detectMarkers(gray)
    ids = [] if ids is None else np.ravel(ids).tolist()
    quads = [np.asarray(quad, np.float64).reshape(4, 2) for quad in corners]
    return sorted((mark, quad.tolist()) for mark, quad in zip(ids, quads, strict=True))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("longest", [2000, 1300, 700, 400, 300])
def test_finds_what_a_search_for_all_marks_finds(name, longest):
    (path,) = SAMPLES.glob(f"*/{name}")
    gray = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    shrink = longest / max(gray.shape)
    gray = cv2.resize(gray, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    noise = np.random.default_rng(3).normal(0.0, 6.0, gray.shape)
    for picture in (gray, np.clip(gray + noise, 0, 255).astype(np.uint8)):
        found = [
            (m.id, m.corners.tolist())
            for m in _detect(picture, longest_px=longest, smallest_share=0.02)
        ]
        expected = full_search(picture, 0.02)
        assert sorted(found) == expected
        assert len(expected) >= (3 if longest >= 400 else 0)


def test_a_picture_without_marks_has_hardly_any_candidates():
    rng = np.random.default_rng(5)
    blocks = cv2.resize(
        rng.integers(0, 256, (60, 80), dtype=np.uint8),
        (1600, 1200),
        interpolation=cv2.INTER_NEAREST,
    )
    among = candidates(blocks, smallest_share=0.02)
    assert among is None or len(among.ids) < 0.1 * len(marks_dictionary().bytesList)
    assert candidates(np.full((600, 800), 90, np.uint8), smallest_share=0.02) is None
