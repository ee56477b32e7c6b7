"""Whether a day's tag shots come before or after their plants, learnt from the pauses."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Literal

from photolog.photos.camera_days import gap_s
from photolog.photos.facts import MatchSettings, PhotoFacts
from photolog.photos.tags_read import TagVerdict, is_tag_shot

__all__ = ["Side", "side_of_tag_shots"]

Side = Literal["before", "after", "unclear"]


def side_of_tag_shots(
    day: Sequence[PhotoFacts], verdicts: Mapping[int, TagVerdict], settings: MatchSettings
) -> Side:
    """Whether one day's tag shots on one camera come before or after their plants.

    Each tag shot speaks for the nearer in time of its two neighbours that have no tag of their
    own, if that one is near: from plant to plant takes longer than from a tag to its plant.
    Shooting the tag first is the rule; the other way has to show at least twice, and a day that
    says both leaves it to the grower. Where the settings say it, nothing is learnt.
    """
    if settings.tag_shot != "learn":
        return settings.tag_shot
    before = after = tag_shots = 0
    for at, photo in enumerate(day):
        if not is_tag_shot(photo, verdicts[photo.photo_id], settings):
            continue
        tag_shots += 1
        gaps = [
            gap_s(photo, day[beside])
            if 0 <= beside < len(day) and _is_bare_subject(day[beside], verdicts)
            else math.inf
            for beside in (at - 1, at + 1)
        ]
        if min(gaps) <= settings.side_within_s:
            before += gaps[1] < gaps[0]
            after += gaps[0] < gaps[1]
    if after == 0 or before >= 4 * after:
        return "before"
    if after >= 2 and after >= 4 * before and 4 * after >= 3 * tag_shots:
        return "after"
    return "unclear"


def _is_bare_subject(photo: PhotoFacts, verdicts: Mapping[int, TagVerdict]) -> bool:
    return photo.shows is not None and not verdicts[photo.photo_id].speaks
