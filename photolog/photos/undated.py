"""Photos without a date that came together: a messaging program took their dates off."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import groupby
from pathlib import PurePath

__all__ = ["UndatedLot", "UndatedPhoto", "day_in_name", "in_name_order", "undated_lots"]

# Photos taken in with no longer pause between two came together; what messaging programs send is
# no longer than this (judgement from usual settings, no source).
_TOGETHER = timedelta(minutes=5)
_MOST_SENT_PX = 2560

_DAY = re.compile(r"(?<!\d)((?:19|20)\d{2})([-_.]?)(\d{2})\2(\d{2})(?!\d)")
_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True, kw_only=True)
class UndatedPhoto:
    """A photo whose file has no date.

    ``bare``: the file has no camera data at all. ``changed_on`` is the day on which the file was
    last changed.
    """

    photo_id: int
    name: str
    taken_in_at: datetime
    longest_px: int
    bare: bool
    changed_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UndatedLot:
    """Photos without a date that came together, in the order of their names.

    ``sent``: they look as if a messaging program took their camera data off and made them smaller.
    ``named_day`` is the day in their names, which may be that of sending; never used unasked.
    """

    photos: tuple[UndatedPhoto, ...]
    sent: bool
    named_day: date | None


def day_in_name(name: str) -> date | None:
    """The day in a file's name: 2026-05-16 of ``IMG-20260516-0008.jpg``."""
    for found in _DAY.finditer(PurePath(name).stem):
        try:
            return date(int(found[1]), int(found[3]), int(found[4]))
        except ValueError:
            continue
    return None


def in_name_order(photos: Iterable[UndatedPhoto]) -> list[UndatedPhoto]:
    """Photos by their names as people count: 9 before 10."""
    return sorted(photos, key=lambda photo: (*_counted(photo.name), photo.photo_id))


def undated_lots(photos: Iterable[UndatedPhoto]) -> list[UndatedLot]:
    """Photos that came together and whose names say no different days, the first taken in first."""
    together: list[list[UndatedPhoto]] = []
    for photo in sorted(photos, key=lambda one: (one.taken_in_at, one.photo_id)):
        if together and photo.taken_in_at - together[-1][-1].taken_in_at <= _TOGETHER:
            together[-1].append(photo)
        else:
            together.append([photo])
    lots = []
    for some in together:
        by_day = sorted(some, key=lambda one: day_in_name(one.name) or date.min)
        for named_day, lot in groupby(by_day, key=lambda one: day_in_name(one.name)):
            photos_of_lot = in_name_order(lot)
            lots.append(
                UndatedLot(
                    photos=tuple(photos_of_lot), sent=_sent(photos_of_lot), named_day=named_day
                )
            )
    return lots


def _sent(photos: Sequence[UndatedPhoto]) -> bool:
    return all(photo.bare and photo.longest_px <= _MOST_SENT_PX for photo in photos)


def _counted(name: str) -> tuple[list[tuple[int, str]], str]:
    """A name with its numbers as numbers."""
    parts = _DIGITS.split(PurePath(name).stem.casefold())
    return [(int(part), "") if part.isdigit() else (-1, part) for part in parts], name
