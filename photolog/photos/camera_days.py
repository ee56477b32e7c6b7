"""Each camera's days: the dated photos of known cameras, in the order in which they were taken."""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import date
from itertools import groupby

from photolog.photos.facts import PhotoFacts, moment

__all__ = ["camera_days", "gap_s", "told_lots"]


def camera_days(photos: Iterable[PhotoFacts]) -> list[tuple[date, list[PhotoFacts]]]:
    """The photos of every camera and day; those without a date or a known camera are in none."""
    usable = [p for p in photos if p.taken_at is not None and p.camera is not None]
    usable.sort(key=lambda photo: (photo.camera or 0, moment(photo)))
    return [(day, list(some)) for (_, day), some in groupby(usable, key=_camera_and_day)]


def told_lots(photos: Iterable[PhotoFacts]) -> list[list[PhotoFacts]]:
    """The photos whose day was told at once with others', each such lot in the order of names."""
    told = [photo for photo in photos if photo.lot is not None and photo.taken_at is not None]
    told.sort(key=lambda photo: (photo.lot or 0, moment(photo)))
    return [list(some) for _, some in groupby(told, key=lambda photo: photo.lot)]


def gap_s(one: PhotoFacts, other: PhotoFacts) -> float:
    """Seconds between two photos, whichever came first; infinite where one has no date."""
    if one.taken_at is None or other.taken_at is None:
        return math.inf
    return abs((moment(other)[0] - moment(one)[0]).total_seconds())


def _camera_and_day(photo: PhotoFacts) -> tuple[int, date]:
    return photo.camera or 0, photo.taken_at.date() if photo.taken_at else date.min
