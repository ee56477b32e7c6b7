"""Nights in which the clocks are changed: when they were, and hours that come twice or never."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

__all__ = ["ClockChange", "Zone", "changes_between", "comes_twice", "never_comes", "own_zone"]

Zone = Callable[[datetime], timedelta]
"""How far a zone is ahead of UTC at a wall clock's moment; its ``fold`` tells the second time."""

ClockChange = tuple[datetime, int]
"""The first moment by the clock as it went on before the change, and seconds put forward."""

_STEP = timedelta(hours=12)


def own_zone(moment: datetime) -> timedelta:
    """This computer's zone."""
    ahead = moment.astimezone().utcoffset()
    return ahead if ahead is not None else timedelta()


def changes_between(first: datetime, last: datetime, zone: Zone = own_zone) -> list[ClockChange]:
    """The changes of a zone's clocks after ``first`` and up to ``last``, to the minute."""
    found: list[ClockChange] = []
    at = first
    while at < last:
        later = min(at + _STEP, last)
        by = zone(later) - zone(at)
        if by:
            low, high = at, later
            while high - low > timedelta(minutes=1):
                middle = low + (high - low) / 2
                low, high = (middle, high) if zone(middle) == zone(at) else (low, middle)
            moment = (low + timedelta(seconds=59)).replace(second=0, microsecond=0)
            # What is skipped counts as before the change, though a clock left alone shows it.
            found.append((moment - max(by, timedelta()), round(by.total_seconds())))
        at = later
    return found


def comes_twice(moment: datetime, zone: Zone = own_zone) -> bool:
    """Whether a wall clock shows this moment twice, as clocks are put back in between."""
    return zone(moment.replace(fold=0)) > zone(moment.replace(fold=1))


def never_comes(moment: datetime, zone: Zone = own_zone) -> bool:
    """Whether no wall clock shows this moment, as clocks are put forward past it."""
    return zone(moment.replace(fold=0)) < zone(moment.replace(fold=1))
