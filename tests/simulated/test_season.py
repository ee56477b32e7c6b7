"""Small simulated seasons: none wrong, most matched, the right one offered, as sure as said."""

import pytest

from photolog.photos.matching import match_photos
from tests.simulated.judging import judge
from tests.simulated.season import simulated_season


@pytest.fixture(scope="module", params=[3, 7])
def judged(request):
    season = simulated_season(request.param, holders=90, bloom_days=7)
    return judge(season, match_photos(season.photos, season.garden))


def test_no_photo_lands_on_a_wrong_plant(judged):
    assert judged.photos > 1500
    assert list(judged.wrong) == []


def test_most_are_matched_on_their_own(judged):
    """Tags are read in 85 of 100 runs; matching should find nearly all of those, and some more."""
    assert judged.matched_share > 0.84


def test_the_right_plant_is_mostly_offered(judged):
    assert judged.first_three_share > 0.85


def test_what_is_said_to_be_sure_is(judged):
    for band in judged.bands:
        if band.low >= 0.9 and band.number >= 20:
            assert band.right >= band.low


def test_the_same_seed_draws_the_same_season():
    one, other = (simulated_season(5, holders=20, bloom_days=2) for _ in range(2))
    assert one.photos == other.photos
    assert one.truth == other.truth


def test_matching_does_not_depend_on_the_order_of_photos():
    season = simulated_season(11, holders=40, bloom_days=3)
    there = {match.photo_id: match for match in match_photos(season.photos, season.garden)}
    back = {match.photo_id: match for match in match_photos(season.photos[::-1], season.garden)}
    assert {n: m.found for n, m in there.items()} == {n: m.found for n, m in back.items()}
