"""Matching over simulated seasons whose truth is known: wrong, matched, offered, speed, how sure.

Run by hand: ``python -m tests.benchmarks.bench_matching [--seed N] [--seasons N] [--show N]``.
Exits 1 when a photo was matched wrongly or another bar is missed. Photos a second are of processor
time, so that they say the same on a machine that does other things as well.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence

from photolog.comparing.wilson import wilson_interval
from photolog.photos.facts import moment
from photolog.photos.matching import match_photos
from tests.simulated.judging import Judged, judge
from tests.simulated.season import Season, simulated_season

__all__ = ["main"]

_MATCHED_BAR, _FIRST_THREE_BAR, _PER_SECOND_BAR = 0.90, 0.95, 2000.0


def main() -> int:
    """Print how matching stands; 1 when a bar is missed."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seed", type=int, default=20260701)
    options.add_argument("--seasons", type=int, default=1)
    options.add_argument("--show", type=int, default=10, help="so many wrong ones are shown")
    given = options.parse_args()
    missed = False
    every: list[Judged] = []
    for seed in range(given.seed, given.seed + given.seasons):
        season = simulated_season(seed)
        started = time.process_time()
        matches = match_photos(season.photos, season.garden)
        per_second = len(season.photos) / (time.process_time() - started)
        judged = judge(season, matches)
        every.append(judged)
        _print(seed, season, judged, per_second, show=given.show)
        missed |= (
            bool(judged.wrong)
            or judged.matched_share < _MATCHED_BAR
            or judged.first_three_share < _FIRST_THREE_BAR
            or per_second < _PER_SECOND_BAR
            or any(band.right < band.low for band in judged.bands if band.low >= 0.9)
        )
    if len(every) > 1:
        _print_together(every)
    return int(missed)


def _print_together(every: Sequence[Judged]) -> None:
    """All seasons as one, and how far they differ."""
    photos, matched = sum(one.photos for one in every), sum(one.matched for one in every)
    waiting = sum(one.waiting for one in every)
    wrong = sum(len(one.wrong) for one in every)
    print(f"{len(every)} seasons, {photos} photos")
    print(f"  wrong among those matched   {wrong} of {matched}")
    low, high = wilson_interval(wrong, matched)
    print(f"    wrong at most, 95 %       {high:.4%}")
    shares = [one.matched_share for one in every]
    print(f"  matched on their own        {matched / photos:.1%} ({_range(shares)})")
    shares = [one.first_three_share for one in every]
    in_three = sum(one.in_first_three for one in every)
    print(f"  of the rest, in first 3     {in_three / waiting:.1%} ({_range(shares)})")
    print("  first candidate's probability: how many, stated, right")
    for low in sorted({band.low for one in every for band in one.bands}):
        bands = [band for one in every for band in one.bands if band.low == low]
        number = sum(band.number for band in bands)
        stated = sum(band.stated * band.number for band in bands) / number
        right = sum(band.right * band.number for band in bands) / number
        print(f"    from {low:4.2f}        {number:7d}   {stated:6.3f}   {right:6.4f}")


def _range(shares: Sequence[float]) -> str:
    return f"{min(shares):.1%} to {max(shares):.1%}"


def _print(seed: int, season: Season, judged: Judged, per_second: float, *, show: int) -> None:
    print(f"season {seed}: {judged.photos} photos, tags read in {season.read_share:.1%} of runs")
    reasons = ", ".join(f"{n} by {reason}" for reason, n in judged.reasons.most_common())
    print(f"  wrong among those matched   {len(judged.wrong)}   (bar 0)")
    low, high = wilson_interval(len(judged.wrong), judged.matched)
    print(f"    wrong at most, 95 %       {high:.3%}")
    low, high = wilson_interval(judged.matched, judged.photos)
    print(
        f"  matched on their own        {judged.matched_share:.1%} "
        f"({low:.1%} to {high:.1%}; bar {_MATCHED_BAR:.0%}): {reasons}"
    )
    low, high = wilson_interval(judged.in_first_three, judged.waiting)
    print(
        f"  of {judged.waiting} waiting, in first 3   {judged.first_three_share:.1%} "
        f"({low:.1%} to {high:.1%}; bar {_FIRST_THREE_BAR:.0%})"
    )
    print(f"  photos a second             {per_second:.0f}   (bar {_PER_SECOND_BAR:.0f})")
    print("  first candidate's probability: how many, stated, right")
    for band in judged.bands:
        print(
            f"    {band.low:4.2f} to {band.high:4.2f} {band.number:7d}   "
            f"{band.stated:6.3f}   {band.right:6.4f}"
        )
    for because, number in judged.missed.most_common(show):
        print(f"  not offered: {number:5d}  {because}")
    photos = {photo.photo_id: photo for photo in season.photos}
    for photo_id, because in judged.wrong[:show]:
        photo = photos[photo_id]
        print(f"  wrong: {photo.name} {photo.taken_at} of {season.truth[photo_id]}: {because}")
        beside = sorted((one for one in photos.values() if one.camera == photo.camera), key=moment)
        at = beside.index(photo)
        for one in beside[max(at - 3, 0) : at + 3]:
            tags = [(tag.number, tag.half, tag.pegged, round(tag.side_px)) for tag in one.tags]
            print(
                f"      {one.name} {one.taken_at} {one.shows} {tags} {season.truth[one.photo_id]}"
            )


if __name__ == "__main__":
    sys.exit(main())
