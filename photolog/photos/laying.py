"""Photos put into visits by what they show and when, before anybody knows whose they are."""

from __future__ import annotations

from collections.abc import Sequence

from photolog.photos.facts import MatchSettings, PhotoFacts, moment
from photolog.photos.garden import Garden
from photolog.photos.tags_read import read_tags
from photolog.photos.visits import rounds

__all__ = ["visits_in_order"]

_NO_GARDEN = Garden(holdings=(), holders={}, events=())


def visits_in_order(
    photos: Sequence[PhotoFacts], settings: MatchSettings
) -> list[list[PhotoFacts]]:
    """Visits in the order in which they were made: a tag shot with its subject, shots alike.

    Photos without a date or of an unknown camera come last, each a visit of its own.
    """
    verdicts = {photo.photo_id: read_tags(photo, _NO_GARDEN, settings) for photo in photos}
    every = rounds(photos, {}, verdicts, settings)
    every.sort(key=lambda one: moment(one.groups[0].photos[0]))
    found = [list(group.photos) for one in every for group in one.groups]
    placed = {photo.photo_id for visit in found for photo in visit}
    return [*found, *([photo] for photo in photos if photo.photo_id not in placed)]
