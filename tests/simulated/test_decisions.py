"""What follows from decisions in drawn seasons: many photos are settled by them, none wrongly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from photolog.photos.facts import Match
from photolog.photos.garden import Holder
from photolog.photos.matching import match_photos
from tests.simulated.season import Season, simulated_season

SEEDS = range(20261101, 20261104)


def found(matches: dict[int, Match]) -> dict[int, Holder]:
    return {n: match.found.holder for n, match in matches.items() if match.found is not None}


def matched(season: Season, decided: frozenset[int] = frozenset()) -> dict[int, Match]:
    photos = [
        replace(photo, decided=(season.truth[photo.photo_id],))
        if photo.photo_id in decided
        else photo
        for photo in season.photos
    ]
    return {match.photo_id: match for match in match_photos(photos, season.garden)}


def test_right_decisions_settle_others_and_none_wrongly() -> None:
    decided = followed = 0
    for seed in SEEDS:
        season = simulated_season(seed, holders=60, bloom_days=5)
        before = matched(season)
        waiting = sorted(n for n, match in before.items() if match.found is None)
        rng = np.random.default_rng(seed)
        chosen = frozenset(int(n) for n in rng.choice(waiting, len(waiting) // 6, replace=False))
        after = found(matched(season, chosen))
        assert [n for n, holder in after.items() if holder != season.truth[n]] == []
        decided += len(chosen)
        followed += len(after.keys() - found(before).keys())
    assert followed > 0.6 * decided
