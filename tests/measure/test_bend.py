"""Bent boards told from flat ones by their corners, whatever the corners' scatter."""

import numpy as np
import pytest

from measure.bend import fit_bend
from measure.card.board import board_points_mm
from measure.card.designs import design_named
from measure.focal import focal_of
from measure.pose_fit import fit_pose
from measure.results import Optics
from measure.scenes import look_at
from tests.measure.troubled import bent

SIZE_PX = (1600, 1200)
CENTRE = np.array([799.5, 599.5])


def fitted(
    card,
    *,
    seed,
    sag_mm=0.0,
    across=True,
    corner_px=0.13,
    distortion=0.0,
    barrel=0.006,
    ids=None,
    heights=None,
):
    """The bend of a card seen from somewhere, and the corners' places."""
    rng = np.random.default_rng(seed)
    design = design_named(card)
    camera = look_at(
        (design.width_mm / 2.0, design.height_mm / 2.0, 0.0),
        distance_mm=rng.uniform(350.0, 800.0),
        tilt_deg=rng.uniform(0.0, 25.0),
        tilt_towards_deg=rng.uniform(0.0, 360.0),
        focal35_mm=26.0,
        size_px=SIZE_PX,
        distortion=distortion,
    )
    places = board_points_mm(design, np.arange(design.n_corners) if ids is None else np.array(ids))
    lifted = bent(places, design, sag_mm=sag_mm, across=across)
    if heights is not None:
        lifted[:, 2] += heights(places[:, 0] / design.width_mm)
    seen = camera.project(lifted)
    seen = seen + rng.normal(0.0, corner_px, seen.shape)
    focal = focal_of(Optics(focal35_mm=26.0), SIZE_PX)
    state = fit_pose(places, seen, CENTRE, focal, sigma_px=0.1).state
    return fit_bend(
        places, seen, design=design, state=state, centre=CENTRE, focal=focal, barrel=barrel
    )


@pytest.mark.parametrize("corner_px", [0.03, 0.13, 0.5])
def test_flat_cards_are_rarely_called_bent_whatever_the_scatter(corner_px):
    # 1 in 100 is what the chance says; of 240, more than 7 come up in one case of 500.
    chances = [
        fitted(card, seed=seed, corner_px=corner_px).chance
        for card in ("bench-1", "bloom-1", "pocket-1")
        for seed in range(80)
    ]
    assert sum(chance < 0.01 for chance in chances) <= 7
    assert 0.03 < np.mean(np.array(chances) < 0.2) < 0.27


@pytest.mark.parametrize("corner_px", [0.05, 0.2])
def test_the_corners_scatter_is_found_beside_the_bend(corner_px):
    for sag_mm in (0.0, 5.0):
        found = [
            fitted("bench-1", seed=seed, sag_mm=sag_mm, corner_px=corner_px).sigma_px
            for seed in range(40)
        ]
        assert np.sqrt(np.mean(np.square(found))) == pytest.approx(corner_px, rel=0.06)


def test_the_sag_is_that_of_the_board():
    # A parabola's sag goes with the square of its length: the corners span six squares of 25 mm of
    # the card's 287 mm.
    for sag_mm in (4.0, 8.0):
        found = [fitted("bench-1", seed=s, sag_mm=sag_mm, corner_px=0.02).sag_mm for s in range(20)]
        assert np.median(found) == pytest.approx(sag_mm * (150.0 / 287.0) ** 2, rel=0.15)


def test_bent_cards_are_found():
    for card, across in (("bench-1", True), ("bench-1", False), ("bloom-1", True)):
        found = [fitted(card, seed=s, sag_mm=8.0, across=across).chance < 0.01 for s in range(40)]
        assert np.mean(found) >= 0.9, (card, across)


def test_twice_the_bow_moves_the_corners_twice_as_far():
    for seed in range(5):
        one, two = (
            fitted("bench-1", seed=seed, sag_mm=sag_mm, corner_px=0.002) for sag_mm in (2.0, 4.0)
        )
        assert two.moved_px == pytest.approx(2.0 * one.moved_px, rel=0.1)
        assert two.sag_mm == pytest.approx(2.0 * one.sag_mm, rel=0.1)


def test_wavy_cards_are_found():
    found = [
        fitted("bloom-1", seed=s, heights=lambda x: 4.0 * np.sin(2.0 * np.pi * x)).chance < 0.01
        for s in range(40)
    ]
    assert np.mean(found) >= 0.9


def test_a_lens_that_distorts_is_no_bend():
    chances = [
        fitted("bench-1", seed=s, distortion=0.02, barrel=0.025, corner_px=0.05).chance
        for s in range(60)
    ]
    assert sum(chance < 0.01 for chance in chances) <= 3


def test_too_few_corners_tell_nothing():
    assert fitted("bench-1", seed=1, sag_mm=10.0, ids=[0, 1, 7, 8]).chance > 0.1
