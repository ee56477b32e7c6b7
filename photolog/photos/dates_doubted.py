"""Dates that a camera's own counting speaks against: its clock fell back to its first day."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from pathlib import PurePath

from photolog.photos.facts import PhotoFacts

__all__ = ["doubted_dates"]

_COUNTED = re.compile(r"(\D*)(\d{3,7})(?!\d)")
_OFF_BY = timedelta(days=1)


def doubted_dates(photos: Iterable[PhotoFacts]) -> dict[int, str]:
    """Why a photo's date can't be right, by its number, for those that it is said of.

    A camera counts its files on, so of its photos in the order of their numbers the dates go on
    too. Of dates that don't, the fewest are doubted that leave the others in order. Where the
    counting began anew, as after 9999, the smaller part is doubted though nothing is wrong.
    """
    counted: dict[tuple[int, str], list[tuple[int, datetime, PhotoFacts]]] = {}
    for photo in photos:
        name = _COUNTED.match(PurePath(photo.name).stem)
        if photo.camera is not None and photo.taken_at is not None and name is not None:
            of_camera = counted.setdefault((photo.camera, name[1]), [])
            of_camera.append((int(name[2]), photo.taken_at, photo))
    found: dict[int, str] = {}
    for of_camera in counted.values():
        of_camera.sort(key=lambda one: one[:2])
        found |= _doubted(of_camera)
    return found


def _doubted(of_camera: Sequence[tuple[int, datetime, PhotoFacts]]) -> dict[int, str]:
    in_order = _longest_in_order([taken_at for _, taken_at, _ in of_camera])
    kept = set(in_order)
    found = {}
    before = -1
    for n, (_, taken_at, photo) in enumerate(of_camera):
        if n in kept:
            before += 1
            continue
        earlier = of_camera[in_order[before]] if before >= 0 else None
        later = of_camera[in_order[before + 1]] if before + 1 < len(in_order) else None
        if earlier is not None and taken_at < earlier[1] - _OFF_BY:
            found[photo.photo_id] = _said(photo, taken_at, earlier, "before")
        elif later is not None and taken_at > later[1] + _OFF_BY:
            found[photo.photo_id] = _said(photo, taken_at, later, "after")
    return found


def _said(
    photo: PhotoFacts,
    taken_at: datetime,
    other: tuple[int, datetime, PhotoFacts],
    side: str,
) -> str:
    return (
        f"The date can't be right: {photo.name} would be of {taken_at.date()}, {side} "
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
