"""Bursts: photos of one thing that one camera took within seconds, and that look the same."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from photolog.terms import Subject

__all__ = ["AGAIN_BITS", "WITHIN_S", "BurstShot", "bursts"]

WITHIN_S = 10.0
"""From one shot of a burst to the next at most; our judgement."""

AGAIN_BITS = 8
"""So many of the 64 bits of two sketches may differ where they look the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BurstShot:
    """What is asked of a photo.

    ``taken_at`` is its camera's clock, None where the file gives no date; ``subsec`` decimals of
    the second; ``of`` what it is matched to (any word for it, '' for nothing yet); ``likeness``
    the 64-bit sketch of the picture.
    """

    photo_id: int
    camera: int | None
    taken_at: datetime | None
    subsec: str
    name: str
    shows: Subject
    of: str
    likeness: int | None


def bursts(shots: Iterable[BurstShot], by_hand: Mapping[int, int]) -> dict[int, int]:
    """For each photo the number of the first photo of its burst; of one alone, its own.

    ``by_hand`` is the grower's word, photo to first photo, and goes before all else. Photos that
    show different things or belong to different plants, and those without a date or a camera, are
    never put together; nor are photos not matched yet: on one bench, beside one card, the sketches
    of different clumps look the same.
    """
    first: dict[int, int] = {}
    of_camera: dict[tuple[int, Subject, str], list[BurstShot]] = {}
    for shot in shots:
        first[shot.photo_id] = by_hand.get(shot.photo_id, shot.photo_id)
        if shot.photo_id in by_hand or shot.taken_at is None or shot.camera is None:
            continue
        if shot.of and shot.shows is not Subject.TAGS:
            of_camera.setdefault((shot.camera, shot.shows, shot.of), []).append(shot)
    for taken in of_camera.values():
        taken.sort(key=_moment)
        for before, shot in pairwise(taken):
            if _again(before, shot):
                first[shot.photo_id] = first[before.photo_id]
    return first


def _moment(shot: BurstShot) -> tuple[datetime, float, str, int]:
    return shot.taken_at or datetime.min, _decimals(shot), shot.name, shot.photo_id  # noqa: DTZ901


def _decimals(shot: BurstShot) -> float:
    return float(f"0.{shot.subsec or 0}")


def _again(one: BurstShot, other: BurstShot) -> bool:
    if one.taken_at is None or other.taken_at is None:
        return False
    if one.likeness is None or other.likeness is None:
        return False
    apart_s = (other.taken_at - one.taken_at).total_seconds() + _decimals(other) - _decimals(one)
    return apart_s <= WITHIN_S and (one.likeness ^ other.likeness).bit_count() <= AGAIN_BITS
