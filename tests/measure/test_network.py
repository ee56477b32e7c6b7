"""What the networks are held to: their size, their answer's shape, and the same answer always."""

from importlib.resources import files
from pathlib import Path

import cv2
import numpy as np
import pytest
from sklearn.datasets import load_sample_image

from measure.network import SIDE_PX, Net, look

# scikit-learn's flower.jpg (CC BY 2.0): a dahlia of some 284 pixels about the middle.
DAHLIA = np.ascontiguousarray(load_sample_image("flower.jpg"))
# Traced by hand; see tests/outside/test_flower_outline.py.
TRACED = Path(__file__).parents[1] / "outside" / "flower_outline.csv"
NETS: tuple[Net, ...] = ("bloom", "bloom_side", "clump")


def test_the_files_are_small() -> None:
    sizes = [len(files("measure.networks").joinpath(f"{net}.onnx").read_bytes()) for net in NETS]
    assert sum(sizes) < 8_000_000


@pytest.mark.parametrize("net", NETS)
@pytest.mark.parametrize("shape", [(SIDE_PX, SIDE_PX), (100, SIDE_PX), (427, 640), (40, 31)])
def test_every_window_comes_back_at_its_own_size(net: Net, shape: tuple[int, int]) -> None:
    seen = look(np.ascontiguousarray(DAHLIA[: shape[0], : shape[1]]), net=net)
    assert seen.shape == ({"bloom": 2, "bloom_side": 2, "clump": 3}[net], *shape)
    assert seen.dtype == np.float32
    assert 0 <= seen.min() <= seen.max() <= 1


@pytest.mark.parametrize("net", NETS)
def test_one_thread_and_two_see_the_same(net: Net) -> None:
    threads = cv2.getNumThreads()
    try:
        cv2.setNumThreads(1)
        one = look(DAHLIA, net=net)
        cv2.setNumThreads(2)
        two = look(DAHLIA, net=net)
    finally:
        cv2.setNumThreads(threads)
    assert np.array_equal(one, two)


def test_the_dahlia_is_seen_where_it_was_traced() -> None:
    traced = np.loadtxt(TRACED, delimiter=",", comments="#", skiprows=8)
    filled = np.zeros(DAHLIA.shape[:2], np.uint8)
    cv2.fillPoly(filled, [np.round(traced).astype(np.int32).reshape(-1, 1, 2)], 1)
    bloom = look(DAHLIA, net="bloom")[0] > 0.5
    shared = np.count_nonzero(bloom & (filled > 0)) / np.count_nonzero(bloom | (filled > 0))
    # Seen from afar, where one pixel of the network is two and a half of the picture.
    assert shared > 0.93


def test_a_window_moved_by_its_border_sees_the_same_bloom() -> None:
    # A window that is not square is filled up at its sides, which must not move what is seen.
    wide = look(DAHLIA, net="bloom")[0]
    square = look(np.ascontiguousarray(DAHLIA[:, 100:527]), net="bloom")[0]
    one, other = wide[:, 100:527] > 0.5, square > 0.5
    assert (one & other).sum() / (one | other).sum() > 0.9
