"""The dahlia that scikit-learn carries, against an outline traced by hand (flower_outline.csv)."""

from pathlib import Path

import cv2
import numpy as np
import pytest
from sklearn.datasets import load_sample_image

from measure.outline.bloom import outline_bloom
from measure.outline.regions import widest_of
from measure.quality import Flag
from measure.results import Outline

# flower.jpg comes with scikit-learn (sklearn/datasets/images/README.txt: CC BY 2.0).
TRACED = np.loadtxt(
    Path(__file__).with_name("flower_outline.csv"), delimiter=",", comments="#", skiprows=8
)


@pytest.fixture(scope="module")
def found() -> Outline:
    picture = np.ascontiguousarray(load_sample_image("flower.jpg"))
    height, width = picture.shape[:2]
    return outline_bloom(
        picture,
        keep_out=np.zeros((height, width), dtype=bool),
        near=((width - 1) / 2, (height - 1) / 2),
        px_per_mm=2.5,
    )


def filled_area(points: np.ndarray) -> float:
    x, y = points.T
    return abs(float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))) / 2


def test_traced_outline_is_whole() -> None:
    assert len(TRACED) > 120
    assert widest_of(TRACED) == pytest.approx(284, abs=2)


def test_widest_is_within_two_per_cent_of_the_tracing(found: Outline) -> None:
    assert widest_of(found.points) == pytest.approx(widest_of(TRACED), rel=0.02)


def test_area_is_within_two_per_cent_of_the_tracing(found: Outline) -> None:
    assert filled_area(found.points) == pytest.approx(filled_area(TRACED), rel=0.02)


def test_outline_runs_along_the_tracing(found: Outline) -> None:
    ring = TRACED.astype(np.float32).reshape(-1, 1, 2)
    away = [abs(cv2.pointPolygonTest(ring, (float(x), float(y)), True)) for x, y in found.points]
    assert np.percentile(away, 90) < 2.0
    assert max(away) < 6.0


def test_cut_off_bloom_below_is_not_taken(found: Outline) -> None:
    # It begins at y = 373 and is cut off by the lower edge at y = 426.
    assert found.points[:, 1].max() < 366
    assert found.points[:, 1].min() < 90


def test_it_is_sure_of_itself(found: Outline) -> None:
    assert found.confidence > 0.85
    assert Flag.OUTLINE_UNSURE not in found.flags
    assert Flag.TOUCHES_EDGE not in found.flags
