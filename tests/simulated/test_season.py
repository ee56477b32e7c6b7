"""Simulated seasons: none wrong, most matched, the right one offered, as sure as said.

``tests/benchmarks/bench_matching.py`` runs whole seasons, many of them; these are what a test has
time for. A garden of 90 plants shows its order less well than one of 300, so that its bar is lower.
"""

from dataclasses import replace

import pytest

from photolog.photos.dates_doubted import doubted_dates
from photolog.photos.matching import match_photos
from tests.simulated.judging import judge
from tests.simulated.season import simulated_season


def judged_season(seed, **size):
    season = simulated_season(seed, **size)
    return judge(season, match_photos(season.photos, season.garden))


@pytest.fixture(scope="module")
def whole():
    """One season as the benchmark draws it: 300 plants and batches, over 10,000 photos."""
    return judged_season(20260701)


@pytest.fixture(scope="module", params=[3, 7, 12])
def small(request):
    return judged_season(request.param, holders=90, bloom_days=7)


def test_a_whole_season_meets_the_bars(whole):
    assert whole.photos > 10_000
    assert list(whole.wrong) == []
    assert whole.matched_share >= 0.90
    assert whole.first_three_share >= 0.95


def test_no_photo_lands_on_a_wrong_plant(small):
    assert small.photos > 1500
    assert list(small.wrong) == []


def test_most_are_matched_on_their_own(small):
    """Tags are read in 85 of 100 runs; matching should find nearly all of those, and some more."""
    assert small.matched_share > 0.88


def test_the_right_plant_is_mostly_offered(small):
    assert small.first_three_share > 0.9


def test_what_is_said_to_be_sure_is(small, whole):
    for judged in (small, whole):
        for band in judged.bands:
            if band.low >= 0.9 and band.number >= 20:
                assert band.right >= band.low


def test_what_was_measured_finds_more():
    season = simulated_season(9, holders=120, bloom_days=8)
    bare = [replace(one, colour=None, size_mm=None, roundness=None) for one in season.photos]
    measured, unmeasured = (
        judge(season, match_photos(photos, season.garden)) for photos in (season.photos, bare)
    )
    assert list(measured.wrong) == list(unmeasured.wrong) == []
    assert measured.matched_share > unmeasured.matched_share + 0.02


def test_after_a_clock_fell_back_most_are_matched_all_the_same():
    season = simulated_season(9, holders=120, bloom_days=9)
    doubted = doubted_dates(season.photos)
    found = {match.photo_id: match.found for match in match_photos(season.photos, season.garden)}
    matched = {n: found[n] for n in doubted if found[n] is not None}
    assert len(doubted) > 100
    assert len(matched) > 0.75 * len(doubted)
    assert {n: one.holder for n, one in matched.items()} == {n: season.truth[n] for n in matched}
    assert {one.reason for one in matched.values()} == {"tag", "run", "order"}


def test_the_same_seed_draws_the_same_season():
    one, other = (simulated_season(5, holders=20, bloom_days=2) for _ in range(2))
    assert one.photos == other.photos
    assert one.truth == other.truth


def test_matching_does_not_depend_on_the_order_of_photos():
    season = simulated_season(11, holders=40, bloom_days=3)
    there = {match.photo_id: match for match in match_photos(season.photos, season.garden)}
    back = {match.photo_id: match for match in match_photos(season.photos[::-1], season.garden)}
    assert {n: m.found for n, m in there.items()} == {n: m.found for n, m in back.items()}
