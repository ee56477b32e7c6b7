"""Tubers counted where the network sees their middles, and the longest of them measured."""

import math
from typing import Any

import numpy as np
import pytest
from scipy.signal import find_peaks

from measure.outline.clump import FoundClump, find_clump
from measure.outline.tubers import TuberCount, count_tubers, peaks_of
from measure.outline.window import window_of
from measure.results import Outline, Points
from tests.measure.outline.drawn import DrawnClump, draw_clump


def counted(drawn: DrawnClump) -> TuberCount:
    found = find_clump(
        drawn.picture,
        keep_out=np.zeros(drawn.truth.shape, dtype=bool),
        near=drawn.centre,
        px_per_mm=2.0,
    )
    return count_tubers(found, px_per_mm=2.0)


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


def told(ring: Points, *, middles: Any = (), side: int = 600, size: float = 10.0) -> FoundClump:
    """A clump of a given outline of which the network saw round middles at (x, y, chance)."""
    window = window_of(
        np.full((side, side, 3), 120, dtype=np.uint8), box=(0, 0, side, side), side_px=side
    )
    rows, columns = np.indices((side, side))
    cores = np.zeros((side, side), dtype=np.float32)
    for x, y, chance in middles:
        away = np.hypot(columns - x, rows - y)
        cores = np.maximum(cores, np.where(away < size, chance, 0)).astype(np.float32)
    return FoundClump(
        outline=Outline(points=ring, confidence=1.0, edge_sigma_px=0.3),
        window=window,
        cores=cores,
        stem=np.zeros((side, side), dtype=np.float32),
    )


def star(*, arms: int = 5, scale: float = 1.0) -> Points:
    turn = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    away = 100 + 60 * np.cos(arms * turn)
    ring = np.stack([300 + away * np.cos(turn), 300 + away * np.sin(turn)], axis=1)
    return np.asarray((ring + 0.5) * scale - 0.5)


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


@pytest.mark.parametrize("number", [1, 4, 12])
def test_every_patch_that_the_network_is_sure_of_counts_once(number: int) -> None:
    turns = 2 * np.pi * np.arange(number) / number
    middles = [(300 + 90 * np.cos(t), 300 + 90 * np.sin(t), 0.95) for t in turns]
    assert count_tubers(told(star(), middles=middles), px_per_mm=1.5).seen == number


def test_a_faint_patch_does_not_count_and_two_make_more_likely() -> None:
    sure = [(220.0, 300.0, 0.95), (380.0, 300.0, 0.95)]
    faint = [(300.0, y, 0.4) for y in (180.0, 240.0, 360.0, 420.0)]
    without = count_tubers(told(star(), middles=sure), px_per_mm=1.5)
    with_them = count_tubers(told(star(), middles=sure + faint), px_per_mm=1.5)
    assert without.seen == with_them.seen == 2
    assert with_them.interval95[1] > without.interval95[1]


def test_two_patches_joined_by_an_unsure_bridge_are_two() -> None:
    found = told(star(), middles=[(280.0, 300.0, 0.95), (320.0, 300.0, 0.95)])
    found.cores[296:304, 280:320] = np.maximum(found.cores[296:304, 280:320], 0.55)
    assert count_tubers(found, px_per_mm=1.5).seen == 2


def test_twice_the_picture_gives_twice_the_length() -> None:
    once = count_tubers(told(star()), px_per_mm=1.5)
    twice = count_tubers(told(star(scale=2.0), side=1200), px_per_mm=3.0)
    assert once.longest_px > 0
    assert twice.longest_px == pytest.approx(2 * once.longest_px, rel=0.02)


def test_round_lump_has_no_tuber_to_tell_apart() -> None:
    turn = np.linspace(0, 2 * np.pi, 360, endpoint=False)
    ring = np.stack([200 + 90 * np.cos(turn), 200 + 90 * np.sin(turn)], axis=1)
    count = count_tubers(told(ring, side=400), px_per_mm=1.5)
    assert count.seen == 0
    assert math.isnan(count.longest_px)
    assert count.interval95[1] >= 1


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("prominence", [0.0, 0.3, 1.0, 4.0])
def test_peaks_are_those_that_scipy_finds(seed: int, prominence: float) -> None:
    rng = np.random.default_rng(seed)
    values = np.convolve(rng.normal(0.0, 1.0, 600), np.hanning(9), mode="same")
    expected, _ = find_peaks(values, prominence=prominence)
    np.testing.assert_array_equal(peaks_of(values, prominence=prominence), expected)
