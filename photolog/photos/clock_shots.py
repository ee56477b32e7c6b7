"""Photos as their cameras' clocks are judged by: when each says it was taken, and of which tag."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from photolog.photos.facts import PhotoFacts

__all__ = ["Seen", "Shot", "first_sights", "own_tag"]

# Shots of one tag on one camera within this time are one visit.
_ONE_VISIT = timedelta(minutes=15)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shot:
    """One dated photo of a camera.

    Attributes
    ----------
    clock : datetime
        What the camera's clock said.
    at : datetime
        The same with the correction that holds now.
    correction : int or None
        The number of that correction; None: none holds.
    zone_s : int or None
        Seconds that the file's own zone is ahead of UTC; None: the file has none.
    tag : int or None
        The tag that the photo belongs to by what can be seen in it.
    """

    photo_id: int
    name: str
    camera: int
    clock: datetime
    at: datetime
    correction: int | None = None
    zone_s: int | None = None
    tag: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """A tag seen by a camera: the first shot of a visit."""

    tag: int
    shot: Shot

    @property
    def at(self) -> datetime:
        """When, by the clock as corrected now."""
        return self.shot.at


def own_tag(photo: PhotoFacts) -> int | None:
    """The tag pegged to the card, else without a card the largest; None where neither was read."""
    read = [tag for tag in photo.tags if tag.number is not None]
    pegged = [tag for tag in read if tag.pegged]
    if pegged:
        return pegged[0].number if len(pegged) == 1 else None
    if photo.has_card or not read:
        return None
    return max(read, key=lambda tag: tag.side_px).number


def first_sights(shots: Iterable[Shot]) -> list[Seen]:
    """The first shot of each visit to a tag, in the order of time."""
    last: dict[tuple[int, int], datetime] = {}
    found: list[Seen] = []
    for shot in _in_order(shots):
        if shot.tag is None:
            continue
        before = last.get((shot.camera, shot.tag))
        last[shot.camera, shot.tag] = shot.at
        if before is None or shot.at - before > _ONE_VISIT:
            found.append(Seen(tag=shot.tag, shot=shot))
    return found


def _in_order(shots: Iterable[Shot]) -> Sequence[Shot]:
    return sorted(shots, key=lambda shot: (shot.at, shot.name, shot.photo_id))
