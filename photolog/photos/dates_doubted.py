"""Dates that a camera's own counting speaks against: its clock fell back to its first day."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby
from pathlib import PurePath

from photolog.photos.facts import PhotoFacts

__all__ = ["DoubtedDate", "doubted_dates"]

_COUNTED = re.compile(r"(\D*)(\d{3,7})(?!\d)")
_OFF_BY = timedelta(days=1)

_Counted = tuple[int, datetime, PhotoFacts]


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtedDate:
    """Why a photo's date can't be right, and when it may have been taken by its number.

    ``earliest`` and ``latest`` keep the hour as the camera wrote it; None where no photo before or
    after it bounds the day.
    """

    because: str
    earliest: datetime | None
    latest: datetime | None


def doubted_dates(photos: Iterable[PhotoFacts]) -> dict[int, DoubtedDate]:
    """The dates that can't be right, by the photos' numbers.

    A camera counts its files on, so of its photos in the order of their numbers the dates go on
    too. Of dates that don't, the fewest are doubted that leave the others in order. Where the
    counting began anew, as after 9999, the smaller part is doubted though nothing is wrong.
    """
    counted: dict[tuple[int, str], list[_Counted]] = {}
    for photo in photos:
        name = _COUNTED.match(PurePath(photo.name).stem)
        if photo.camera is not None and photo.taken_at is not None and name is not None:
            of_camera = counted.setdefault((photo.camera, name[1]), [])
            of_camera.append((int(name[2]), photo.taken_at, photo))
    found: dict[int, DoubtedDate] = {}
    for of_camera in counted.values():
        of_camera.sort(key=lambda one: one[:2])
        found |= _doubted(of_camera)
    return found


def _doubted(of_camera: Sequence[_Counted]) -> dict[int, DoubtedDate]:
    in_order = _longest_in_order([taken_at for _, taken_at, _ in of_camera])
    kept = set(in_order)
    found: dict[int, DoubtedDate] = {}
    # All that was counted between two photos whose dates hold shares one wrong clock.
    for is_kept, places in groupby(range(len(of_camera)), key=kept.__contains__):
        if is_kept:
            continue
        between = list(places)
        before = of_camera[between[0] - 1] if between[0] > 0 else None
        after = of_camera[between[-1] + 1] if between[-1] + 1 < len(of_camera) else None
        block = [of_camera[n] for n in between]
        if before is not None and block[0][1] < before[1] - _OFF_BY:
            found |= _shifted(block, before, after, _said(block[0], before, "before"))
        elif after is not None and block[-1][1] > after[1] + _OFF_BY:
            found |= _shifted(block, before, after, _said(block[-1], after, "after"))
    return found


def _shifted(
    block: Sequence[_Counted], before: _Counted | None, after: _Counted | None, because: str
) -> dict[int, DoubtedDate]:
    """The block moved by whole days: to the day after ``before``, and to the one before ``after``.

    On the very day of ``before`` or ``after`` the block is put only where no day lies between.
    """
    earliest = latest = None
    if before is not None and after is not None:
        a_day = timedelta(days=1) if (after[1].date() - before[1].date()).days > 1 else timedelta()
        earliest = before[1].date() + a_day - block[0][1].date()
        latest = max(after[1].date() - a_day - block[-1][1].date(), earliest)
    return {
        photo.photo_id: DoubtedDate(
            because=because,
            earliest=taken_at + earliest if earliest is not None else None,
            latest=taken_at + latest if latest is not None else None,
        )
        for _, taken_at, photo in block
    }


def _said(one: _Counted, other: _Counted, side: str) -> str:
    return (
        f"The date can't be right: {one[2].name} would be of {one[1].date()}, {side} "
        f"{other[2].name} of {other[1].date()}, though the camera counted them the other way "
        "round. Put the camera's clock right, and match again."
    )


def _longest_in_order(dates: Sequence[datetime]) -> list[int]:
    """The places of the longest part of these dates, in their order, that never goes back."""
    ends: list[datetime] = []
    end_at: list[int] = []
    came_from = [-1] * len(dates)
    for n, taken_at in enumerate(dates):
        length = bisect_right(ends, taken_at)
        came_from[n] = end_at[length - 1] if length else -1
        if length == len(ends):
            ends.append(taken_at)
            end_at.append(n)
        else:
            ends[length] = taken_at
            end_at[length] = n
    places = []
    at = end_at[-1] if end_at else -1
    while at >= 0:
        places.append(at)
        at = came_from[at]
    return places[::-1]
