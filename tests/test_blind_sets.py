"""Blind sets of rendered photographs: each the same whenever it is drawn, none like another."""

import importlib
from collections import Counter
from pathlib import Path

import pytest

RENDER = Path(__file__).parent.parent / "sample_images" / "render"


@pytest.fixture
def scenes_of(monkeypatch):
    monkeypatch.syspath_prepend(str(RENDER))
    return importlib.import_module("accuracy_scenes").scenes_of


def test_the_sets_share_no_picture_and_no_seed(scenes_of):
    sets = [scenes_of(drawn) for drawn in (1, 2, 3)]
    names = [scene.name for drawn in sets for scene in drawn]
    seeds = [scene.shot.seed for drawn in sets for scene in drawn]
    assert len(set(names)) == len(names)
    assert len(set(seeds)) == len(seeds)
    assert {"BL0001", "CL0060", "BL2001", "CL3060"} <= set(names)


def test_another_set_varies_as_the_first_does(scenes_of):
    first, second = (Counter((s.shot.subject, s.tubers) for s in scenes_of(n)) for n in (1, 2))
    assert first == second
    assert [s.shot.distance_mm for s in scenes_of(1)] != [s.shot.distance_mm for s in scenes_of(2)]


@pytest.mark.parametrize("drawn", [0, 10])
def test_sets_are_numbered_from_1_to_9(scenes_of, drawn):
    with pytest.raises(ValueError, match=f"numbered from 1 to 9, not {drawn}"):
        scenes_of(drawn)


def test_the_first_sets_scenes_unchanged(scenes_of):
    # As they were when the figures of docs/accuracy.md were printed.
    at = {scene.name: scene.shot for scene in scenes_of(1)}
    assert (at["BL0001"].seed, at["CL0060"].seed, at["SI0016"].seed) == (70_000, 91_003, 110_285)
    assert (at["BL0001"].distance_mm, at["CL0060"].distance_mm) == (892.0, 481.0)
