"""How far one clock was out, by the tags that another camera photographed at the same time."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby, pairwise
from statistics import median, pvariance

from photolog.photos.clock_shots import Seen

__all__ = ["Agreement", "Stretch", "agreement", "median_interval", "stretches"]

# Two people side by side photograph one tag within a minute and a half of each other, and stay
# together; of two unconnected rounds the one falls behind the other more and more. So many tags
# have to say the same, which are such a share of those that both photographed (on a single day:
# more); the scatter of what they say may be only this share of what unconnected rounds with such
# pauses would make; and no other offset that passes may be nearly as good (judgement, no source;
# how often that errs on drawn rounds is in tests/benchmarks/bench_clocks.py).
_WITHIN_S = 90.0
_FEWEST_TAGS, _FEWEST_OF_ONE_DAY = 5, 7
_LEAST_SHARE, _LEAST_SHARE_OF_ONE_DAY = 0.6, 0.75
_MOST_DRIFT, _MOST_DRIFT_OF_ONE_DAY = 0.2, 0.08
_DRIFTED_S, _LONGEST_PAUSE_S = 1200.0, 300.0
_SAME_DAY_S = 12 * 3600.0
_NEXT_BEST = 0.6
_PEAKS = 12

# Clocks of another zone are at most 26 hours apart.
_APART_S = 26 * 3600.0
# So many tags more have to say that a clock was changed on a day.
_CHANGE_COSTS = 4.0
_MOST_OFFSETS = 40

# From so many values on the binomial law of a median's ranks is as good as normal.
_MANY, _NORMAL_95 = 500, 1.959964
_BEGINNING, _END = datetime(1, 1, 1), datetime(9999, 1, 1)
_NO_OFFSET_FIRST = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Seconds to add to a clock, as said by the tags that two cameras photographed.

    ``low_s`` to ``high_s`` is the 95 % interval of the median. ``n_agree`` say so of the
    ``n_tags`` tags (each counted once a day) that both photographed about then, on ``n_days`` days;
    ``cameras`` are the others.
    """

    add_s: float
    low_s: float
    high_s: float
    n_agree: int
    n_tags: int
    n_days: int
    cameras: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Days in a row on which a clock was out by the same; ``agreement`` None: nothing tells.

    ``n_days`` is on how many of them enough tags were photographed by others too.
    """

    seen: tuple[Seen, ...]
    agreement: Agreement | None
    n_days: int = 0


@dataclass(frozen=True, slots=True)
class _Pair:
    """One tag seen by both: what is to be added to the one clock to get the other."""

    add_s: float
    nth: int
    other: Seen


def median_interval(values: Sequence[float]) -> tuple[float, float]:
    """The 95 % interval of a median by the order of the values; under six, from least to most."""
    ordered = sorted(values)
    n = len(ordered)
    if n > _MANY:
        k = int((n - _NORMAL_95 * math.sqrt(n)) / 2)
        return ordered[k - 1], ordered[n - k]
    k = below = 0
    while k < n // 2:
        below += math.comb(n, k)
        if 40 * below > 2**n:
            break
        k += 1
    return ordered[max(k - 1, 0)], ordered[n - max(k, 1)]


def agreement(
    seen: Sequence[Seen],
    others: Sequence[Seen],
    *,
    earliest_s: float = -_APART_S,
    latest_s: float = _APART_S,
) -> Agreement | None:
    """By how much a clock was out during these visits; None where too few tags say so.

    ``earliest_s`` to ``latest_s`` is what may have to be added to the clock.
    """
    pairs = _pairs(seen, _by_tag(others), earliest_s, latest_s)
    every = [_agreement_at(add_s, pairs, seen) for add_s, _ in _peaks(pairs, most=_PEAKS)]
    passed = sorted((one for one in every if one is not None), key=lambda one: -one.n_agree)
    if not passed or any(one.n_agree > _NEXT_BEST * passed[0].n_agree for one in passed[1:]):
        return None
    return passed[0]


def stretches(seen: Sequence[Seen], others: Sequence[Seen]) -> list[Stretch]:
    """One camera's visits cut into days in a row on which its clock was out by the same.

    The offsets that any day or all days together propose are weighed day by day; a change has to
    be worth some tags, so that a chance likeness of one day's walk makes none.
    """
    days = [
        list(some)
        for _, some in groupby(
            sorted(seen, key=lambda one: one.at),
            key=lambda one: (one.at.date(), one.shot.correction),
        )
    ]
    by_tag = _by_tag(others)
    pairs = [_pairs(day, by_tag, -_APART_S, _APART_S) for day in days]
    offsets = _proposed(pairs)
    chosen = _best_line(
        [[_n_near(offset, some) for offset in offsets] for some in pairs],
        [_NO_OFFSET_FIRST * (offset == 0.0) for offset in offsets],
    )
    found = []
    of_days = zip(chosen, days, strict=True)
    for (nth, _), some in groupby(of_days, key=lambda one: (one[0], one[1][0].shot.correction)):
        visits = [one for _, day in some for one in day]
        own = _pairs(visits, by_tag, -_APART_S, _APART_S)
        shared = Counter(visits[at].at.date() for at in {pair.nth for pair in own})
        found.append(
            Stretch(
                seen=tuple(visits),
                agreement=_agreement_at(offsets[nth], own, visits),
                n_days=sum(count >= _FEWEST_TAGS for count in shared.values()),
            )
        )
    return found


def _by_tag(others: Sequence[Seen]) -> dict[int, list[Seen]]:
    """Each tag's visits in the order of time."""
    found: dict[int, list[Seen]] = {}
    for other in sorted(others, key=lambda one: one.at):
        found.setdefault(other.tag, []).append(other)
    return found


def _pairs(
    seen: Sequence[Seen], others: Mapping[int, list[Seen]], earliest_s: float, latest_s: float
) -> list[_Pair]:
    """Each visit with every visit of others to the same tag, by what is to be added."""
    found = []
    for nth, one in enumerate(seen):
        same = others.get(one.tag, [])
        first = bisect_left(same, _later(one.at, earliest_s), key=lambda other: other.at)
        last = bisect_right(same, _later(one.at, latest_s), key=lambda other: other.at)
        found += [
            _Pair((other.at - one.at).total_seconds(), nth, other) for other in same[first:last]
        ]
    return sorted(found, key=lambda pair: pair.add_s)


def _later(at: datetime, seconds: float) -> datetime:
    try:
        return at + timedelta(seconds=seconds)
    except OverflowError:
        return _END if seconds > 0 else _BEGINNING


def _peaks(pairs: Sequence[_Pair], *, most: int) -> list[tuple[float, int]]:
    """(seconds, visits that say so) of the best offsets that are further apart than their width."""
    counted: list[tuple[int, float]] = []
    inside: Counter[int] = Counter()
    first = 0
    for last, pair in enumerate(pairs):
        inside[pair.nth] += 1
        while pair.add_s - pairs[first].add_s > 2 * _WITHIN_S:
            inside[pairs[first].nth] -= 1
            if not inside[pairs[first].nth]:
                del inside[pairs[first].nth]
            first += 1
        # The pairs are in order, so that this is their median, or the upper of the middle two.
        middle = pairs[(first + last + 1) // 2].add_s
        counted.append((len(inside), middle))
    found: list[tuple[float, int]] = []
    for count, add_s in sorted(counted, reverse=True):
        if len(found) == most:
            break
        if all(abs(add_s - other) > 2 * _WITHIN_S for other, _ in found):
            found.append((add_s, count))
    return found


def _n_near(add_s: float, pairs: Sequence[_Pair]) -> int:
    return len({pair.nth for pair in pairs if abs(pair.add_s - add_s) <= _WITHIN_S})


def _proposed(pairs: Sequence[Sequence[_Pair]]) -> list[float]:
    """No offset, and those that a day or all days together propose, the best first."""
    support: Counter[float] = Counter()
    for some in pairs:
        for add_s, count in _peaks(some, most=3):
            if count >= _FEWEST_TAGS - 1:
                support[add_s] += count
    # A day's times don't depend on its date, so all days can be laid over each other.
    pooled = [
        _Pair(pair.add_s, nth * 100_000 + pair.nth, pair.other)
        for nth, some in enumerate(pairs)
        for pair in some
    ]
    for add_s, count in _peaks(sorted(pooled, key=lambda pair: pair.add_s), most=10):
        if count >= _FEWEST_TAGS:
            support[add_s] += count
    offsets = [0.0]
    for add_s, _ in support.most_common():
        if len(offsets) == _MOST_OFFSETS:
            break
        if all(abs(add_s - other) > _WITHIN_S / 2 for other in offsets):
            offsets.append(add_s)
    return offsets


def _best_line(votes: Sequence[Sequence[int]], first: Sequence[float]) -> list[int]:
    """The offset of each day: the most votes, less what changes from day to day cost."""
    if not votes:
        return []
    best = [votes[0][n] + first[n] for n in range(len(first))]
    came_from: list[list[int]] = []
    for day in votes[1:]:
        top = max(range(len(best)), key=lambda n: best[n])
        came = [n if best[n] >= best[top] - _CHANGE_COSTS else top for n in range(len(best))]
        came_from.append(came)
        best = [
            max(best[n], best[top] - _CHANGE_COSTS) + day[n] + first[n] for n in range(len(best))
        ]
    line = [max(range(len(best)), key=lambda n: best[n])]
    for came in reversed(came_from):
        line.append(came[line[-1]])
    return line[::-1]


def _agreement_at(add_s: float, pairs: Sequence[_Pair], seen: Sequence[Seen]) -> Agreement | None:
    """What the visits say that agree with an offset; None where too few do, or by chance."""
    nearest: dict[int, _Pair] = {}
    for pair in pairs:
        if abs(pair.add_s - add_s) > _SAME_DAY_S:
            continue
        known = nearest.get(pair.nth)
        if known is None or abs(pair.add_s - add_s) < abs(known.add_s - add_s):
            nearest[pair.nth] = pair
    # One of two rounds that a camera made on a day may be its own: each tag counts once a day.
    best: dict[tuple[int, date], _Pair] = {}
    for pair in nearest.values():
        key = (seen[pair.nth].tag, seen[pair.nth].at.date())
        if key not in best or abs(pair.add_s - add_s) < abs(best[key].add_s - add_s):
            best[key] = pair
    agree = {key: pair for key, pair in best.items() if abs(pair.add_s - add_s) <= _WITHIN_S}
    days = {day for _, day in agree}
    several = len(days) > 1
    fewest = _FEWEST_TAGS if several else _FEWEST_OF_ONE_DAY
    share = _LEAST_SHARE if several else _LEAST_SHARE_OF_ONE_DAY
    if len({tag for tag, _ in agree}) < fewest or len(agree) < share * len(best):
        return None
    about: dict[date, list[tuple[datetime, float]]] = {}
    for (_, day), pair in best.items():
        if abs(pair.add_s - add_s) <= _DRIFTED_S:
            about.setdefault(day, []).append((seen[pair.nth].at, pair.add_s))
    drift = _drift([sorted(one) for one in about.values()])
    if drift > (_MOST_DRIFT if several else _MOST_DRIFT_OF_ONE_DAY):
        return None
    values = [pair.add_s for pair in agree.values()]
    low_s, high_s = median_interval(values)
    return Agreement(
        add_s=median(values),
        low_s=low_s,
        high_s=high_s,
        n_agree=len(agree),
        n_tags=len(best),
        n_days=len(days),
        cameras=tuple(sorted({pair.other.shot.camera for pair in agree.values()})),
    )


def _drift(days: Sequence[Sequence[tuple[datetime, float]]]) -> float:
    """How much two clocks' difference scatters beside that of two unconnected rounds.

    ``days`` are each (one clock, seconds to the other) of the tags in order. About its own mean a
    walk of n steps scatters by n / 6 of the square of a step (that of a Brownian path is 1/6 of its
    length), and a step of unconnected rounds is the difference of two pauses.
    """
    scatter = walked = 0.0
    for day in days:
        pauses = [
            (
                min((later - one).total_seconds(), _LONGEST_PAUSE_S),
                min((later - one).total_seconds() + add - before, _LONGEST_PAUSE_S),
            )
            for (one, before), (later, add) in pairwise(day)
        ]
        if len(pauses) < 2:
            continue
        step = sum(pvariance(each) for each in zip(*pauses, strict=True))
        walked += len(day) ** 2 * step / 6.0
        middle = median(add for _, add in day)
        scatter += sum((add - middle) ** 2 for _, add in day)
    return scatter / walked if walked > 0.0 else math.inf
