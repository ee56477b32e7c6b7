"""How often clocks are proposed rightly, wrongly and not at all, on drawn rounds of two cameras.

Run: ``python -m tests.benchmarks.bench_clocks``. Pauses between plants, how far apart two people
photograph a tag, and what is missed are judgement (see ``Walks``); no real garden was timed.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from datetime import date, datetime, timedelta

from tests.photos.test_clocks import CAMERA, MARCH, PHONE, Walks, first_day, out_by, right

__all__: list[str] = []

_GARDENS = 300
_SLOW = timedelta(minutes=47)
_FELL = datetime(2026, 3, 14, 13, 50)


def _outcome(walks: Walks, true_s: float | None) -> str:
    """``right``, ``wrong`` or ``nothing`` proposed; ``true_s`` None: nothing is to be proposed."""
    proposed = walks.proposed()
    if not proposed:
        return "nothing"
    if true_s is not None and len(proposed) == 1 and abs(proposed[0].add_s - true_s) < 60.0:
        return "right"
    return "wrong"


def _side_by_side(seed: int, days: int) -> str:
    walks = Walks(seed)
    for n in range(days):
        clocks = {PHONE: right, CAMERA: out_by(seconds=-_SLOW.total_seconds())}
        walks.together(MARCH + timedelta(days=n), clocks, tags=range(1, 21))
    return _outcome(walks, _SLOW.total_seconds())


def _unconnected(seed: int, days: int) -> str:
    walks = Walks(seed)
    for n in range(days):
        day = MARCH + timedelta(days=2 * n)
        hours = int(walks.rng.integers(8, 12)), int(walks.rng.integers(13, 18))
        walks.alone(day, PHONE, right, tags=range(1, 31), hour=hours[0])
        walks.alone(day, CAMERA, right, tags=range(1, 31), hour=hours[1])
    return _outcome(walks, None)


def _fallen(seed: int) -> str:
    walks = Walks(seed)
    fallen = first_day(_FELL, datetime(2020, 1, 1))
    walks.together(MARCH, {PHONE: right, CAMERA: right})
    walks.together(_FELL.date(), {PHONE: right, CAMERA: fallen})
    walks.together(date(2026, 3, 20), {PHONE: right, CAMERA: right})
    return _outcome(walks, (_FELL - datetime(2020, 1, 1)).total_seconds())


def _fallen_alone(seed: int) -> str:
    walks = Walks(seed)
    tags = range(1, 31)
    for day in (8, 10, 12, 13, 14, 15, 16, 18):
        hour = int(walks.rng.integers(9, 17))
        walks.alone(date(2026, 3, day), PHONE, right, tags=tags, hour=hour)
    walks.alone(date(2026, 3, 7), CAMERA, right, tags=tags, hour=10)
    fallen = first_day(_FELL, datetime(2020, 1, 1))
    walks.alone(_FELL.date(), CAMERA, fallen, tags=tags, hour=14)
    walks.alone(date(2026, 3, 20), CAMERA, right, tags=tags, hour=10)
    return _outcome(walks, None)


_CASES: dict[str, Callable[[int], str]] = {
    "side by side on one day, 47 minutes slow": lambda seed: _side_by_side(seed, 1),
    "side by side on three days, 47 minutes slow": lambda seed: _side_by_side(seed, 3),
    "rounds at other hours on one day, both right": lambda seed: _unconnected(seed, 1),
    "rounds at other hours on five days, both right": lambda seed: _unconnected(seed, 5),
    "fallen back for a day, side by side": _fallen,
    "fallen back for a day, rounds of eight days at other hours": _fallen_alone,
}


def _many_photos() -> str:
    """How long the clocks of some 50,000 photos are judged, of two cameras over seven years."""
    walks = Walks(20261125)
    day = date(2019, 3, 1)
    while len(walks.shots) < 50_000:
        walks.together(day, {PHONE: right, CAMERA: out_by(hours=7)}, tags=range(1, 51))
        day += timedelta(days=4)
    began = time.process_time()
    outcome = _outcome(walks, -7 * 3600.0)
    took_s = time.process_time() - began
    return f"{len(walks.shots)} photos until {day}: {outcome} in {took_s:.1f} s of processor time"


def main() -> None:
    """Print a line for each case, and how long many photos take."""
    for said, case in _CASES.items():
        outcomes = [case(20261125 + seed) for seed in range(_GARDENS)]
        counts = ", ".join(
            f"{what} {outcomes.count(what)}" for what in ("right", "wrong", "nothing")
        )
        sys.stdout.write(f"{said}: {counts} of {_GARDENS}\n")
    sys.stdout.write(f"{_many_photos()}\n")


if __name__ == "__main__":
    main()
