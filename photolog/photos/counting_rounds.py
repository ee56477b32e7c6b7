"""Which time round a camera counted each photo: after 9999 it begins anew at 0001."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby, pairwise
from statistics import median_low

from photolog.photos.file_numbers import FileNumber

__all__ = ["Numbered", "counted_on"]

# A count that began anew is told from a clock that fell back by these (judgement, no source): no
# camera passes its end in so long a time without a photo between, nor skips more than half of it,
# and none does so from the first week of a January, which is where clocks fall back to.
_LONGEST = timedelta(days=400)
_FROM_FIRST_WEEK = timedelta(days=60)
_ANEW_COSTS = 0.5

Numbered = tuple[FileNumber, datetime]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stretch:
    """Photos of one day that were counted near each other: their places, and the middle one."""

    places: tuple[int, ...]
    first: datetime
    last: datetime
    middle: FileNumber


def counted_on(photos: Sequence[Numbered]) -> list[int | None]:
    """The numbers of one camera's photos as if it had never begun anew, in the order given.

    ``photos`` are (file number, clock), all counted under one name. None: a photo whose clock may
    be wrong, so that it could be of more than one round.
    """
    stretches = _stretches(photos)
    if not any(_anew(one, later) or _leaps(one, later) for one, later in pairwise(stretches)):
        return [number.number for number, _ in photos]
    rounds = _rounds(stretches)
    cycle = photos[0][0].cycle
    found: list[int | None] = [None] * len(photos)
    for stretch, nth in zip(stretches, rounds, strict=True):
        for place in stretch.places:
            if nth is not None:
                found[place] = photos[place][0].number + nth * cycle
    sound = [number for number in found if number is not None]
    lowest, highest = min(sound), max(sound)
    for place, (number, _) in enumerate(photos):
        if found[place] is None:
            every = [number.number + nth * cycle for nth in range(highest // cycle + 2)]
            within = [one for one in every if lowest <= one <= highest]
            # Counted neither before nor between them, it was counted after them.
            after = next(one for one in every if one >= highest)
            found[place] = after if not within else within[0] if len(within) == 1 else None
    return found


def _stretches(photos: Sequence[Numbered]) -> list[_Stretch]:
    by_day = sorted(range(len(photos)), key=lambda at: (photos[at][1].date(), photos[at][0].number))
    found = []
    for _, day in groupby(by_day, key=lambda at: photos[at][1].date()):
        near: list[int] = []
        for at in day:
            number = photos[at][0]
            if near and number.number - photos[near[-1]][0].number > number.cycle // 2:
                found.append(_stretch(photos, near))
                near = []
            near.append(at)
        found.append(_stretch(photos, near))
    return sorted(found, key=lambda one: (one.first, one.last))


def _stretch(photos: Sequence[Numbered], places: Sequence[int]) -> _Stretch:
    clocks = [photos[at][1] for at in places]
    middle = median_low(range(len(places)))
    return _Stretch(
        places=tuple(places),
        first=min(clocks),
        last=max(clocks),
        middle=photos[places[middle]][0],
    )


def _anew(one: _Stretch, later: _Stretch) -> bool:
    """Whether the counting passed its end between two stretches."""
    number = one.middle
    if later.middle.number >= number.number or not number.may_roll_over_to(later.middle.number):
        return False
    if number.cycle + later.middle.number - number.number > number.cycle // 2:
        return False
    return later.first - one.last <= (_FROM_FIRST_WEEK if _first_week(one) else _LONGEST)


def _leaps(one: _Stretch, later: _Stretch) -> bool:
    """Whether more than half a round lies between them, and a first day far back at its start."""
    return (
        later.middle.number - one.middle.number > one.middle.cycle // 2
        and _first_week(one)
        and later.first - one.last > _FROM_FIRST_WEEK
    )


def _first_week(one: _Stretch) -> bool:
    return one.first.month == 1 and one.first.day <= 7


def _rounds(stretches: Sequence[_Stretch]) -> list[int | None]:
    """The round of each stretch of the longest line that counts on; None: it is in no such line."""
    best: list[float] = []
    came_from: list[int] = []
    for n, stretch in enumerate(stretches):
        most, before = 0.0, -1
        for m in range(n):
            anew = _anew(stretches[m], stretch)
            on = stretches[m].middle.number <= stretch.middle.number
            if not anew and (not on or _leaps(stretches[m], stretch)):
                continue
            length = best[m] - _ANEW_COSTS * anew
            if length > most:
                most, before = length, m
        best.append(most + len(stretch.places))
        came_from.append(before)
    line = []
    at = max(range(len(best)), key=lambda n: best[n])
    while at >= 0:
        line.append(at)
        at = came_from[at]
    line.reverse()
    rounds: list[int | None] = [None] * len(stretches)
    nth = 0
    for place, at in enumerate(line):
        if place and _anew(stretches[line[place - 1]], stretches[at]):
            nth += 1
        rounds[at] = nth
    return rounds
