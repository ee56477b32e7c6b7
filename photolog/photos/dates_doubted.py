"""Dates that a camera's own counting speaks against: its clock fell back to its first day."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import groupby, pairwise

from photolog.photos.counting_lines import counting_lines, perhaps_fallen
from photolog.photos.counting_rounds import counted_on
from photolog.photos.facts import PhotoFacts, moment
from photolog.photos.file_numbers import CountedSpan, FileNumber, file_number

__all__ = ["DoubtedBlock", "DoubtedDate", "doubted_blocks", "doubted_dates"]

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


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtedBlock:
    """Photos counted one after the other whose dates can't be right, in that order.

    ``dates`` goes with ``photos``; ``before`` and ``after`` are the nearest photos by their numbers
    whose dates hold.
    """

    photos: tuple[PhotoFacts, ...]
    dates: tuple[DoubtedDate, ...]
    before: PhotoFacts | None
    after: PhotoFacts | None

    @property
    def span(self) -> CountedSpan:
        """From which number to which it was counted."""
        first, last = file_number(self.photos[0].name), file_number(self.photos[-1].name)
        if first is None or last is None:
            msg = f"no camera counted {self.photos[0].name} or {self.photos[-1].name}"
            raise ValueError(msg)
        return CountedSpan(counted_as=first.counted_as, first=first.number, last=last.number)


def doubted_dates(photos: Iterable[PhotoFacts]) -> dict[int, DoubtedDate]:
    """The dates that can't be right, by the photos' numbers.

    A camera counts its files on, so of its photos in the order of their numbers the dates go on
    too. Of dates that don't, the fewest are doubted that leave the others in order. A counting that
    began anew after 9999 is counted on.
    """
    return {
        photo.photo_id: date
        for block in doubted_blocks(photos)
        for photo, date in zip(block.photos, block.dates, strict=True)
    }


def doubted_blocks(photos: Iterable[PhotoFacts]) -> list[DoubtedBlock]:
    """The same, gathered by the stretches of counting in which one wrong clock ran on."""
    counted: dict[tuple[int, str], list[tuple[FileNumber, datetime, PhotoFacts]]] = {}
    for photo in photos:
        name = file_number(photo.name)
        if photo.camera is not None and photo.taken_at is not None and name is not None:
            of_camera = counted.setdefault((photo.camera, name.counted_as), [])
            of_camera.append((name, photo.taken_at, photo))
    found: list[DoubtedBlock] = []
    for of_camera in counted.values():
        # Two cameras that pass for one count side by side; neither speaks against the other.
        lines = counting_lines([(number, taken_at) for number, taken_at, _ in of_camera])
        for line in range(max(lines) + 1):
            found += _of_line([one for one, of in zip(of_camera, lines, strict=True) if of == line])
    return found


def _of_line(counted: Sequence[tuple[FileNumber, datetime, PhotoFacts]]) -> list[DoubtedBlock]:
    """The blocks of what one camera counted on."""
    numbers = counted_on([(number, taken_at) for number, taken_at, _ in counted])
    in_line = [
        (number, taken_at, photo)
        for number, (_, taken_at, photo) in zip(numbers, counted, strict=True)
        if number is not None
    ]
    in_line.sort(key=lambda one: one[:2])
    found = _doubted(in_line)
    unplaced = [
        photo for number, (_, _, photo) in zip(numbers, counted, strict=True) if number is None
    ]
    return [*found, _unplaced(unplaced)] if unplaced else found


def _doubted(of_camera: Sequence[_Counted]) -> list[DoubtedBlock]:
    kept = _believed([taken_at for _, taken_at, _ in of_camera])
    found: list[DoubtedBlock] = []
    # All that was counted between two photos whose dates hold shares one wrong clock.
    for is_kept, places in groupby(range(len(of_camera)), key=kept.__contains__):
        if is_kept:
            continue
        between = list(places)
        before = of_camera[between[0] - 1] if between[0] > 0 else None
        after = of_camera[between[-1] + 1] if between[-1] + 1 < len(of_camera) else None
        block = [of_camera[n] for n in between]
        if before is not None and block[0][1] < before[1] - _OFF_BY:
            found.append(_shifted(block, before, after, _said(block[0], before, "before")))
        elif after is not None and block[-1][1] > after[1] + _OFF_BY:
            found.append(_shifted(block, before, after, _said(block[-1], after, "after")))
    return found


def _shifted(
    block: Sequence[_Counted], before: _Counted | None, after: _Counted | None, because: str
) -> DoubtedBlock:
    """The block moved by whole days: to the day after ``before``, and to the one before ``after``.

    On the very day of ``before`` or ``after`` the block is put only where no day lies between.
    """
    earliest = latest = None
    if before is not None and after is not None:
        a_day = timedelta(days=1) if (after[1].date() - before[1].date()).days > 1 else timedelta()
        earliest = before[1].date() + a_day - block[0][1].date()
        latest = max(after[1].date() - a_day - block[-1][1].date(), earliest)
    return DoubtedBlock(
        photos=tuple(photo for _, _, photo in block),
        dates=tuple(
            DoubtedDate(
                because=because,
                earliest=taken_at + earliest if earliest is not None else None,
                latest=taken_at + latest if latest is not None else None,
            )
            for _, taken_at, _ in block
        ),
        before=before[2] if before is not None else None,
        after=after[2] if after is not None else None,
    )


def _unplaced(photos: Sequence[PhotoFacts]) -> DoubtedBlock:
    because = (
        "The date can't be right: the camera's counting began anew more than once, and by its "
        f"number {photos[0].name} may be of more than one year. Put the camera's clock right, and "
        "match again."
    )
    doubt = DoubtedDate(because=because, earliest=None, latest=None)
    in_order = tuple(sorted(photos, key=moment))
    return DoubtedBlock(photos=in_order, dates=(doubt,) * len(in_order), before=None, after=None)


def _said(one: _Counted, other: _Counted, side: str) -> str:
    return (
        f"The date can't be right: {one[2].name} would be of {one[1].date()}, {side} "
        f"{other[2].name} of {other[1].date()}, though the camera counted them the other way "
        "round. Put the camera's clock right, and match again."
    )


def _believed(dates: Sequence[datetime]) -> set[int]:
    """The places of the dates that are believed: the most that never go back.

    A clock that fell back begins at the start of a year, so that dates there are believed only
    where they go with the others, however many they are.
    """
    perhaps = perhaps_fallen(dates)
    sure = [n for n, maybe in enumerate(perhaps) if not maybe]
    line = [sure[n] for n in _longest_in_order([dates[n] for n in sure])]
    kept = set(line)
    for before, after in pairwise((-1, *line, len(dates))):
        fitting = [
            n
            for n in range(before + 1, after)
            if perhaps[n]
            and (before < 0 or dates[n] >= dates[before])
            and (after == len(dates) or dates[n] <= dates[after])
        ]
        kept.update(fitting[n] for n in _longest_in_order([dates[n] for n in fitting]))
    return kept


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
