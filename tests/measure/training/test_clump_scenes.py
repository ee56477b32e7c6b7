"""Drawn training scenes of clumps: laws of their truth, whatever was drawn."""

import cv2
import numpy as np
import pytest

torch = pytest.importorskip("torch")

from measure.training.clump_forms import grow  # noqa: E402 - only where PyTorch is installed
from measure.training.clump_parts import Frame  # noqa: E402
from measure.training.clump_scenes import clump_batch  # noqa: E402
from measure.training.drawing import Dice, grid_of  # noqa: E402


def rolled(seed: int) -> "torch.Generator":
    generator = torch.Generator()
    generator.manual_seed(seed)
    return generator


@pytest.fixture(scope="module")
def batch() -> tuple[np.ndarray, np.ndarray]:
    pictures, truth = clump_batch(12, side=128, device="cpu", generator=rolled(3))
    return pictures.numpy(), truth.numpy()


def test_same_seed_draws_the_same_scenes(batch: tuple[np.ndarray, np.ndarray]) -> None:
    again, _ = clump_batch(12, side=128, device="cpu", generator=rolled(3))
    assert np.array_equal(batch[0], again.numpy())
    other, _ = clump_batch(12, side=128, device="cpu", generator=rolled(4))
    assert not np.array_equal(batch[0], other.numpy())


def test_pictures_and_truth_run_from_0_to_1(batch: tuple[np.ndarray, np.ndarray]) -> None:
    pictures, truth = batch
    assert pictures.shape == truth.shape == (12, 3, 128, 128)
    for values in batch:
        assert np.isfinite(values).all()
        assert values.min() >= 0.0
        assert values.max() <= 1.0


def test_middles_of_tubers_lie_on_the_body(batch: tuple[np.ndarray, np.ndarray]) -> None:
    _, truth = batch
    outside = (truth[:, 1] > 0.5) & (truth[:, 0] < 0.5)
    assert outside.sum() <= 0.02 * (truth[:, 1] > 0.5).sum()


def test_each_tuber_seen_has_one_patch_of_its_own() -> None:
    n, side = 24, 192
    dice = Dice(torch.device("cpu"), rolled(5))
    x, y = grid_of(side, dice.device)
    middle = torch.zeros(n)
    reach = torch.full((n,), 0.85)
    grown = grow(dice, x, y, frame=Frame(middle, middle, reach, 2 * reach / 240), side=side)
    patches = [
        cv2.connectedComponents((core > 0.5).astype(np.uint8), connectivity=4)[0] - 1
        for core in grown.cores[:, 0].numpy()
    ]
    off = np.abs(np.array(patches) - grown.seen.numpy())
    assert np.mean(off == 0) >= 0.7
    assert np.mean(off <= 1) >= 0.9
