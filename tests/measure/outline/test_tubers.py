"""Tubers counted in drawn clumps of known number and length."""

import math

import numpy as np
import pytest

from measure.outline.clump import outline_clump
from measure.outline.tubers import TuberCount, count_tubers
from measure.results import Outline
from tests.measure.outline.drawn import DrawnClump, draw_clump


def counted(drawn: DrawnClump) -> TuberCount:
    outline = outline_clump(
        drawn.picture,
        keep_out=np.zeros(drawn.truth.shape, dtype=bool),
        near=drawn.centre,
        px_per_mm=2.0,
    )
    return count_tubers(drawn.picture, outline, px_per_mm=2.0)


def spaced(number: int, *, seed: int) -> DrawnClump:
    rng = np.random.default_rng(seed)
    turns = 360 * (np.arange(number) + rng.uniform(-0.18, 0.18, number)) / number
    lengths = rng.uniform(85, 125, number)
    return draw_clump(
        headings_deg=tuple(turns),
        lengths_mm=tuple(lengths),
        thick_mm=30,
        background="slate",
        stem_heading_deg=float(turns[0] + 180 / number),
        stem_mm=40,
        seed=seed,
    )


@pytest.mark.parametrize("number", [3, 5, 7, 9])
def test_tubers_apart_are_counted(number: int) -> None:
    drawn = spaced(number, seed=number)
    count = counted(drawn)
    assert abs(count.seen - drawn.tubers) <= 1
    assert count.interval95[0] <= drawn.tubers <= count.interval95[1]
    assert count.interval95[0] <= count.seen <= count.interval95[1]


def test_longest_tuber_from_the_crown_to_its_tip() -> None:
    drawn = draw_clump(
        headings_deg=(0, 72, 144, 216, 288),
        lengths_mm=(150, 90, 90, 95, 90),
        background="slate",
        stem_heading_deg=36,
        stem_mm=30,
    )
    count = counted(drawn)
    assert count.longest_px == pytest.approx(drawn.longest_px, abs=2.5 * count.longest_u_px)
    assert count.longest_px == pytest.approx(drawn.longest_px, rel=0.12)


def test_twice_the_picture_gives_the_same_count_and_twice_the_length() -> None:
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    away = 100 + 60 * np.cos(5 * turn)
    ring = np.stack([300 + away * np.cos(turn), 300 + away * np.sin(turn)], axis=1)
    grey = np.full((600, 600, 3), 120, dtype=np.uint8)
    once = count_tubers(
        grey, Outline(points=ring, confidence=1.0, edge_sigma_px=0.3), px_per_mm=1.5
    )
    twice = count_tubers(
        grey.repeat(2, axis=0).repeat(2, axis=1),
        Outline(points=2 * ring + 0.5, confidence=1.0, edge_sigma_px=0.3),
        px_per_mm=3.0,
    )
    assert once.seen == twice.seen == 5
    assert twice.longest_px == pytest.approx(2 * once.longest_px, rel=0.02)


def test_round_lump_has_no_tuber_to_tell_apart() -> None:
    turn = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    ring = np.stack([200 + 90 * np.cos(turn), 200 + 90 * np.sin(turn)], axis=1)
    grey = np.full((400, 400, 3), 120, dtype=np.uint8)
    count = count_tubers(
        grey, Outline(points=ring, confidence=1.0, edge_sigma_px=0.3), px_per_mm=1.5
    )
    assert count.seen == 0
    assert math.isnan(count.longest_px)
    assert count.interval95[1] >= 1
