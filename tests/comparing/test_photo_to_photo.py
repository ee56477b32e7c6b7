"""What a photo's own uncertainty leaves out, and what photos share, when two sizes are compared."""

import math
from datetime import datetime
from functools import partial

import numpy as np
import pytest

from measure.again import BREEZE_PERCENT, LAY_PERCENT, again
from measure.clump import size_clump
from measure.lift import CLUMP_OUTLINE_PERCENT
from measure.other_shapes import bunch_clump
from measure.pose import find_pose
from measure.results import Optics, Outline, Printing
from measure.shapes import grow_clump
from measure.staging import exact_marks, stage_clump
from photolog.comparing import SIZE_KINDS, Shot, compare_sizes


@pytest.mark.parametrize("name", ["spread_mm", "tubers"])
def test_laying_is_judged_alike_where_it_is_measured_and_where_it_is_compared(name: str) -> None:
    assert 100 * SIZE_KINDS[name].lay_prior == pytest.approx(LAY_PERCENT[name])


def test_the_breeze_is_judged_alike_too() -> None:
    assert 100 * SIZE_KINDS["widest_mm"].lay_prior == pytest.approx(BREEZE_PERCENT["widest_mm"])


def test_each_kind_of_thing_scatters_by_its_own_cause() -> None:
    assert again("clump", "spread_mm", 200.0) == {"lay": pytest.approx(6.0)}
    assert again("bloom", "widest_mm", 200.0) == {"breeze": pytest.approx(2.0)}
    assert again("bloom", "area_cm2", 50.0) == {"breeze": pytest.approx(1.0)}
    assert again("clump", "area_cm2", 50.0) == {"lay": pytest.approx(2.5)}
    assert again("seeds", "length_mm", 9.0) == {}


def spread_of(
    seed: int, *, stretch: float, printing: Printing
) -> tuple[float, float, float, float]:
    """Spread measured, its true value, and its uncertainty without and by the printing.

    Outlines are as wrong, and tubers stand as high, as a clump's uncertainty allows for.
    """
    rng = np.random.default_rng(seed)
    scene = stage_clump(
        spread_mm=float(rng.uniform(180, 260)),
        seed=seed,
        grow=partial(grow_clump, standing=True) if seed % 4 < 2 else bunch_clump,
        laid_deg=float(rng.uniform(0, 360)),
        tilt_deg=4.0,
        stretch=stretch,
    )
    pose = find_pose(
        exact_marks(scene, corner_sigma_px=0.03, seed=seed),
        size_px=scene.camera.size_px,
        optics=Optics(focal35_mm=scene.camera.focal35_mm),
        printing=printing,
    )
    exact = scene.outline()[::4]
    swollen = 1.0 + float(rng.normal(0.0, CLUMP_OUTLINE_PERCENT / 100.0))
    outline = Outline(
        points=exact.mean(axis=0) + swollen * (exact - exact.mean(axis=0)),
        confidence=1.0,
        edge_sigma_px=0.3,
    )
    size = size_clump(outline, pose=pose, printing=printing).sizes["spread_mm"]
    scale_u = size.components["printing"]
    return size.value, scene.clump.spread_mm, math.sqrt(size.u**2 - scale_u**2), scale_u


def test_a_printing_errs_the_same_in_all_its_photos_and_nothing_else_does() -> None:
    # Printings that are off by 3 % (and said to be unsure by as much), two photos with each: one
    # photo is out by its whole u, their ratio by what is left of it without the printing.
    printing = Printing(u_percent=3.0)
    alone, between = [], []
    for pair in range(40):
        stretch = 1.0 + float(np.random.default_rng(pair).normal(0.0, 0.03))
        one, other = (spread_of(2 * pair + i, stretch=stretch, printing=printing) for i in range(2))
        off = [math.log(value / true) for value, true, _, _ in (one, other)]
        alone.append(off[0] / (math.hypot(one[2], one[3]) / one[0]))
        own = math.hypot(one[2] / one[0], other[2] / other[0])
        between.append((off[0] - off[1]) / own)
    # Of 40 the scatter is known to 11 %.
    assert np.std(alone) == pytest.approx(1.0, abs=0.33)
    assert np.std(between) == pytest.approx(1.0, abs=0.33)


def shots(printings: tuple[str, str], *, u: float, scale_u: float) -> list[Shot]:
    return [
        Shot(
            plant="a",
            variety="Tin Orchard",
            season=season,
            stage=None,
            taken_at=datetime(season + 1, 5, 16, 12),
            value=200.0,
            u=u,
            scale_u=scale_u,
            printing=printing,
        )
        for season, printing in zip((2024, 2025), printings, strict=True)
    ]


@pytest.mark.parametrize("name", ["spread_mm", "widest_mm"])
@pytest.mark.parametrize("same", [True, False])
def test_comparing_brings_each_in_once(name: str, same: bool) -> None:
    # One plant in two seasons: lay (or breeze) once a photo, the printing once a photo unless it is
    # the same one, where it cancels. In closed form, as relative variances of the ratio.
    kind = SIZE_KINDS[name]
    pair = shots(("p", "p" if same else "q"), u=2.0, scale_u=1.2)
    (row,) = compare_sizes(pair, kind=kind, first=2024, second=2025).rows
    assert row.change is not None
    low, high = row.change.interval95
    half = math.log(high / low) / 2
    own = 2 * (0.01**2 + kind.lay_prior**2)
    scale = 0.0 if same else 2 * 0.006**2
    assert half == pytest.approx(1.959964 * math.sqrt(own + scale), rel=1e-3)
