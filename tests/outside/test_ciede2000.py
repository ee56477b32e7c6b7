"""CIEDE2000 against the published pairs.

Sharma, Wu, Dalal, "The CIEDE2000 color-difference formula: implementation notes, supplementary test
data, and mathematical observations", Color Research and Application 30(1), 21-30 (2005), table 1.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from measure.colour import ciede2000, lab_of


def pairs():
    path = Path(__file__).parent / "ciede2000_sharma2005.csv"
    with path.open(encoding="ascii", newline="") as lines:
        rows = csv.DictReader(line for line in lines if not line.startswith("#"))
        return [[float(v) for v in row.values()] for row in rows]


def test_all_34_pairs_are_there():
    assert [pair[0] for pair in pairs()] == list(range(1, 35))


@pytest.mark.parametrize("pair", pairs(), ids=lambda pair: f"pair {pair[0]:.0f}")
def test_every_pair_to_the_published_digits(pair):
    one, other, published = np.array(pair[1:4]), np.array(pair[4:7]), pair[7]
    assert ciede2000(one, other) == pytest.approx(published, abs=1e-4)
    assert ciede2000(other, one) == pytest.approx(published, abs=1e-4)


def test_lab_of_white_and_of_the_primaries():
    # D65, 2 degrees; the primaries of sRGB from memory.
    lab = lab_of(np.array([[1.0, 1.0, 1.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]))
    assert lab[0] == pytest.approx([100.0, 0.0, 0.0], abs=0.02)
    assert lab[1] == pytest.approx([53.24, 80.09, 67.20], abs=0.05)
    assert lab[2] == pytest.approx([32.30, 79.19, -107.86], abs=0.05)
