"""Seeds counted and measured on drawn sheets, and the laws that any count must keep."""

import dataclasses

import cv2
import numpy as np
import pytest

from measure import Flag, MeasureError, Measurement, Refusal, draw_overlay, measure_seeds
from measure.outline.seeds import count_seeds
from measure.results import Picture
from tests.measure.seeds.drawn import Sheet, SheetPlan, draw_sheet

SMALL = (1600, 1200)

PLANS = (
    SheetPlan(seeds=16, touching=0.3, paper="white", chaff=0, size_px=SMALL, seed=901),
    SheetPlan(seeds=60, touching=0.3, paper="kraft", shade="edge", size_px=SMALL, seed=903),
    SheetPlan(seeds=120, touching=0.5, paper="pale blue", shade="deep", size_px=SMALL, seed=905),
    SheetPlan(seeds=60, touching=0.3, paper="cream", table=True, size_px=SMALL, seed=907),
    SheetPlan(seeds=60, paper="black", pale_seeds=True, chaff=0, size_px=SMALL, seed=909),
)


def measured(sheet: Sheet) -> Measurement:
    return measure_seeds(sheet.picture, marks=sheet.marks, optics=sheet.optics)


@pytest.fixture(scope="module")
def sheets() -> list[Sheet]:
    return [draw_sheet(plan) for plan in PLANS]


@pytest.mark.parametrize("which", range(len(PLANS)))
def test_the_count_and_the_length_are_those_drawn(sheets: list[Sheet], which: int) -> None:
    sheet = sheets[which]
    made = measured(sheet)
    seeds, length = made.sizes["seeds"], made.sizes["length_mm"]
    assert abs(seeds.value - sheet.seeds) <= max(1.0, 0.02 * sheet.seeds)
    assert seeds.interval95[0] <= sheet.seeds <= seeds.interval95[1]
    truth = float(np.median(sheet.lengths_mm))
    # The bar is 3 % in median over sheets; a single one must lie within its own interval.
    assert length.interval95[0] <= truth <= length.interval95[1]
    assert length.value == pytest.approx(truth, rel=0.06)
    assert made.of == "seeds"
    assert len(made.parts) == seeds.value


def test_seeds_in_a_heap_are_refused() -> None:
    sheet = draw_sheet(SheetPlan(seeds=20, heaped=30, size_px=SMALL, seed=911))
    with pytest.raises(MeasureError, match="lie over one another") as refused:
        measured(sheet)
    assert refused.value.refusal is Refusal.SEEDS_HEAPED
    assert "Spread them out" in refused.value.remedy


def test_seeds_packed_close_are_flagged_and_the_interval_holds_them() -> None:
    sheet = draw_sheet(
        SheetPlan(seeds=60, touching=0.9, shade="deep", blur_px=1.6, size_px=SMALL, seed=925)
    )
    made = measured(sheet)
    assert Flag.COUNT_UNSURE in made.flags
    low, high = made.sizes["seeds"].interval95
    assert low <= 60 <= high
    assert high - low >= 4


def test_bare_paper_is_refused(sheets: list[Sheet]) -> None:
    sheet = sheets[0]
    bare = sheet.picture.copy()
    inside = np.round(sheet.centres).astype(int)
    low, high = inside.min(axis=0) - 90, inside.max(axis=0) + 90
    bare[low[1] : high[1], low[0] : high[0]] = np.median(
        bare[low[1] : high[1], low[0] : high[0]], axis=(0, 1)
    )
    with pytest.raises(MeasureError, match="Nothing to measure"):
        measure_seeds(bare, marks=sheet.marks, optics=sheet.optics)


def without_card(sheet: Sheet) -> Picture:
    """The part of the picture round the seeds."""
    places = np.round(sheet.centres).astype(int)
    low, high = places.min(axis=0) - 60, places.max(axis=0) + 60
    low = np.maximum(low, 0)
    return np.ascontiguousarray(sheet.picture[low[1] : high[1], low[0] : high[0]])


def test_the_count_stays_when_darker_and_lighter_are_exchanged() -> None:
    plan = SheetPlan(seeds=24, touching=0.0, paper="kraft", chaff=0, size_px=SMALL, seed=913)
    picture = without_card(draw_sheet(plan))
    assert count_seeds(picture).seeds == pytest.approx(24, abs=1)
    assert count_seeds(255 - picture).seeds == pytest.approx(24, abs=1)


@pytest.mark.parametrize("quarters", [1, 2])
def test_the_count_stays_when_the_picture_is_turned(sheets: list[Sheet], quarters: int) -> None:
    picture = without_card(sheets[1])
    turned = np.ascontiguousarray(np.rot90(picture, quarters))
    assert abs(count_seeds(picture).seeds - count_seeds(turned).seeds) <= 1


def test_the_same_picture_gives_the_same_to_the_bit_on_one_thread_and_two(
    sheets: list[Sheet],
) -> None:
    before = cv2.getNumThreads()
    found = []
    try:
        for threads in (1, 2):
            cv2.setNumThreads(threads)
            made = measured(sheets[2])
            found.append((made.sizes["seeds"], made.sizes["length_mm"], made.callipers.tolist()))
    finally:
        cv2.setNumThreads(before)
    assert found[0] == found[1]


def test_seeds_cut_off_by_the_picture_are_told_of(sheets: list[Sheet]) -> None:
    picture = without_card(sheets[1])
    places = np.round(sheets[1].centres - sheets[1].centres.min(axis=0)).astype(int) + 60
    cut = np.ascontiguousarray(picture[:, : int(np.median(places[:, 0]))])
    assert Flag.TOUCHES_EDGE in count_seeds(cut).flags


def test_the_overlay_marks_every_seed_and_tells_the_count(sheets: list[Sheet]) -> None:
    sheet = sheets[1]
    made = measured(sheet)
    drawn = draw_overlay(sheet.picture, made, marks=sheet.marks)
    pink = (drawn[..., 0] > 180) & (drawn[..., 1] < 140) & (drawn[..., 2] > 120)
    near = cv2.dilate(pink.astype(np.uint8), np.ones((5, 5), np.uint8))
    marked = [np.mean(near[tuple(np.round(part).astype(int).T[::-1])]) > 0.5 for part in made.parts]
    # All but those under the plate and the callipers.
    assert np.mean(marked) > 0.9
    fewer = dataclasses.replace(made, parts=made.parts[:10])
    assert not np.array_equal(drawn, draw_overlay(sheet.picture, fewer, marks=sheet.marks))
