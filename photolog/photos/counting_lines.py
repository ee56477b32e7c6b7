"""Whether one camera's files are counted in one line, or in two side by side, as by two cameras."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from datetime import datetime, timedelta

from photolog.photos.counting_rounds import Numbered

__all__ = ["counting_lines", "perhaps_fallen"]

# A camera counts on by no more than this between two of its photos, or it is another's number. One
# that has left a line of numbers comes back to it only after 9999 more, which takes longer than
# this; so often taken up again sooner, with so many photos, it is another camera's (judgement, no
# source).
_MOST_SKIPPED = 2000
_SOON = timedelta(days=25)
_FEWEST_RETURNS, _FEWEST_PHOTOS = 2, 6
_MOST_LINES = 30

# A year of a fallen clock is told by having no photo after its first months (judgement, no source).
_LAST_MONTH_FALLEN = 3


def perhaps_fallen(dates: Sequence[datetime]) -> list[bool]:
    """Of one camera's dates, which may be of a clock that fell back to the start of a year.

    Those of the first week of a January, and of a year that begins in one and ends in its first
    months.
    """
    years: dict[int, list[datetime]] = {}
    for taken_at in dates:
        years.setdefault(taken_at.year, []).append(taken_at)
    fallen = {
        year
        for year, some in years.items()
        if _first_week(min(some)) and max(some).month <= _LAST_MONTH_FALLEN
    }
    return [_first_week(taken_at) or taken_at.year in fallen for taken_at in dates]


def counting_lines(photos: Sequence[Numbered]) -> list[int]:
    """In which line of counting each of one camera's photos stands, in the order given.

    ``photos`` are (file number, clock), all counted under one name. All 0: one line, as of one
    camera. More: two phones of one model that write no serial number take turns, and each counts
    its own. Clocks that may have fallen back say nothing; they go with the nearest number.
    """
    fallen = perhaps_fallen([clock for _, clock in photos])
    in_order = sorted(
        (n for n in range(len(photos)) if not fallen[n]),
        key=lambda n: (photos[n][1], photos[n][0].number),
    )
    ends: list[int] = []
    last_at: list[datetime] = []
    returns: list[int] = []
    line_of: dict[int, int] = {}
    line_before = 0
    for n in in_order:
        number, clock = photos[n]
        skipped = [(number.number - end) % number.cycle for end in ends]
        best = min(range(len(ends)), key=lambda at: skipped[at], default=None)
        if best is None or skipped[best] > _MOST_SKIPPED:
            if len(ends) == _MOST_LINES:
                return [0] * len(photos)
            best = len(ends)
            ends.append(number.number)
            last_at.append(datetime.min)  # noqa: DTZ901 - before any clock
            returns.append(0)
        returns[best] += best != line_before and clock - last_at[best] <= _SOON
        ends[best], last_at[best] = number.number, clock
        line_of[n] = line_before = best
    lines = [
        line
        for line in range(len(ends))
        if returns[line] >= _FEWEST_RETURNS
        and sum(one == line for one in line_of.values()) >= _FEWEST_PHOTOS
    ]
    if len(lines) < 2:
        return [0] * len(photos)
    numbers = [
        sorted(photos[n][0].number for n, one in line_of.items() if one == line) for line in lines
    ]
    return [
        lines.index(line_of[n]) if line_of.get(n) in lines else _nearest(photos[n], numbers)
        for n in range(len(photos))
    ]


def _first_week(taken_at: datetime) -> bool:
    return taken_at.month == 1 and taken_at.day <= 7


def _nearest(photo: Numbered, lines: Sequence[Sequence[int]]) -> int:
    """The line that has the number nearest to a photo's."""
    number = photo[0].number

    def apart(line: Sequence[int]) -> int:
        at = bisect_left(line, number)
        return min(abs(number - other) for other in line[max(at - 1, 0) : at + 1])

    return min(range(len(lines)), key=lambda nth: apart(lines[nth]))
