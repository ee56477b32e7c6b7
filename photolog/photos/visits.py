"""Visits: a camera's photos in a row that are evidently of one plant, and which two are of one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import pairwise

from photolog.photos.camera_days import camera_days, gap_s
from photolog.photos.counting import doubt_between
from photolog.photos.facts import Match, MatchSettings, PhotoFacts, Shows
from photolog.photos.garden import Holder
from photolog.photos.runs import looks_the_same
from photolog.photos.tag_sides import Side, side_of_tag_shots
from photolog.photos.tags_read import TagVerdict

__all__ = ["Again", "PhotoGroup", "Round", "rounds"]

_JOINED_WITHIN_S = 60.0

# Lengths of pauses that are told apart, in seconds, and what is expected of them before a garden's
# own photos have shown anything: how many pauses of each length lie between two shots of one
# plant, and between two plants (judgement, no source).
_PAUSES_S = (6.0, 12.0, 18.0, 30.0, 60.0)
_WITHIN = (4.0, 4.0, 2.0, 1.0, 0.3, 0.1)
_BETWEEN = (0.1, 0.6, 1.5, 3.0, 4.0, 4.0)
_AFTER_A_TAG_SHOT, _ANOTHER_BLOOM = 0.01, 0.1
_BESIDE_A_TAG_SHOT, _WITH_GAP, _SIDE_UNCLEAR = 0.98, 0.9, 0.5
_NEARLY_SURELY = 0.95
# Two pictures that differ in no more of 64 bits than the first show the same thing; in more than
# the second, another. How many pairs of each likeness are expected of one plant, which has
# several blooms, and of two (judgement, no source), before those that are sure are counted.
_ALIKE_BITS, _UNLIKE_BITS = 12, 20
_ALIKE_WITHIN = (5.0, 2.0, 4.0)
_ALIKE_BETWEEN = (0.2, 1.8, 9.0)


@dataclass(slots=True)
class PhotoGroup:
    """Photos of one visit; ``sure`` is whose, where that is matched, decided or read on a tag."""

    sure: Holder | None
    photos: list[PhotoFacts] = field(default_factory=list)

    @property
    def subject(self) -> PhotoFacts | None:
        """The last photo with a card, None where only tags were shot."""
        return next((photo for photo in reversed(self.photos) if photo.shows is not None), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Round:
    """One camera's visits of one day, in the order of their photos."""

    day: date
    side: Side
    groups: Sequence[PhotoGroup]

    @property
    def shows(self) -> Shows | None:
        """What most of the photos with a card show."""
        said = Counter(one.shows for group in self.groups for one in group.photos if one.shows)
        return said.most_common(1)[0][0] if said else None

    @property
    def sure(self) -> list[Holder]:
        """The plants of the sure visits."""
        return [group.sure for group in self.groups if group.sure is not None]


def rounds(
    photos: Iterable[PhotoFacts],
    matches: Mapping[int, Match],
    verdicts: Mapping[int, TagVerdict],
    settings: MatchSettings,
) -> list[Round]:
    """The visits of every day and camera; without a date or a known camera there are none.

    Photos that were decided to be of no plant, or that show several, are no visit to one.
    """
    days = camera_days(one for one in photos if one.decided is None or len(one.decided) == 1)
    owners = {
        photo.photo_id: _owner(
            photo, matches.get(photo.photo_id), verdicts[photo.photo_id], settings
        )
        for _, some in days
        for photo in some
    }
    found = []
    for day, some in days:
        side = side_of_tag_shots(some, verdicts, settings)
        found.append(Round(day=day, side=side, groups=_grouped(some, side, owners, settings)))
    return found


class Again:
    """How probable it is that two visits in a row are of one plant.

    The lengths of the pauses within and between plants are learnt from the sure photos.
    """

    def __init__(self, known: Iterable[Round]) -> None:
        pauses = list(_WITHIN), list(_BETWEEN)
        likeness = list(_ALIKE_WITHIN), list(_ALIKE_BETWEEN)
        for one_round in known:
            sure = [
                (photo, group.sure)
                for group in one_round.groups
                for photo in group.photos
                if photo.shows is not None
            ]
            for (one, whose), (other, others) in pairwise(sure):
                if whose is None or others is None:
                    continue
                which = 0 if whose == others else 1
                pauses[which][_length_of_pause(one, other)] += 1.0
                alike = _likeness(one, other)
                # Of those that a run put together because they look the same, likeness can't be
                # learnt; each has to have its own tag.
                if alike is not None and _own_tag(one) and _own_tag(other):
                    likeness[which][alike] += 1.0
        self._by_pause = [one / other for one, other in zip(*pauses, strict=True)]
        # Relative, so that how many pairs there are of each counts once, with the pauses.
        pairs = sum(likeness[1]) / sum(likeness[0])
        self._by_likeness = [pairs * one / other for one, other in zip(*likeness, strict=True)]

    def joined(self, groups: Sequence[PhotoGroup], side: Side) -> list[PhotoGroup]:
        """The visits with those put together that wait and are nearly surely of one plant.

        What is seen of a plant is then weighed once, not once for each shot.
        """
        found: list[PhotoGroup] = []
        for group in groups:
            before = found[-1] if found else None
            if (
                before is not None
                and before.sure is None
                and group.sure is None
                and self.probability(before, group, side) >= _NEARLY_SURELY
            ):
                found[-1] = PhotoGroup(sure=None, photos=[*before.photos, *group.photos])
            else:
                found.append(group)
        return found

    def probability(self, before: PhotoGroup, after: PhotoGroup, side: Side) -> float:
        """That a visit is of the same plant as the one before it."""
        last, first = before.photos[-1], after.photos[0]
        after_subject = next((photo for photo in after.photos if photo.shows is not None), None)
        # A tag shot that still lacks its plant is mostly followed by it, after however long.
        waits_for_it = before.subject is None and side != "after"
        waited_for = after.subject is None and side != "before"
        if (waits_for_it and first.shows is not None) or (waited_for and last.shows is not None):
            if side == "unclear":
                return _SIDE_UNCLEAR
            return _WITH_GAP if doubt_between(last, first) else _BESIDE_A_TAG_SHOT
        opened = first.shows is None and side != "after"
        closed = last.shows is None and side != "before"
        if opened or closed:
            # The same bloom or clump would mostly look the same again; another bloom of it not.
            odds = _AFTER_A_TAG_SHOT / (1.0 - _AFTER_A_TAG_SHOT)
            if before.subject is not None and after_subject is not None:
                odds *= max(self._alike(before.subject, after_subject), _ANOTHER_BLOOM)
            return odds / (1.0 + odds)
        odds = self._by_pause[_length_of_pause(last, first)] * self._alike(last, first)
        return odds / (1.0 + odds)

    def _alike(self, one: PhotoFacts, other: PhotoFacts) -> float:
        """By how much the odds for one plant rise by how alike two photos look."""
        alike = _likeness(one, other)
        return self._by_likeness[alike] if alike is not None else 1.0


def _likeness(one: PhotoFacts, other: PhotoFacts) -> int | None:
    """0: the same is seen, 1: it may be, 2: not; None where there is nothing to tell by."""
    if one.likeness is None or other.likeness is None:
        return None
    apart = (one.likeness ^ other.likeness).bit_count()
    return (apart > _ALIKE_BITS) + (apart >= _UNLIKE_BITS)


def _own_tag(photo: PhotoFacts) -> bool:
    return any(tag.pegged and tag.number is not None for tag in photo.tags)


def _grouped(
    day: Sequence[PhotoFacts],
    side: Side,
    owners: Mapping[int, Holder | None],
    settings: MatchSettings,
) -> list[PhotoGroup]:
    groups: list[PhotoGroup] = []
    for photo in day[::-1] if side == "after" else day:
        sure = owners[photo.photo_id]
        if not groups or not _belongs(photo, sure, groups[-1], settings):
            groups.append(PhotoGroup(sure=sure))
        groups[-1].photos.append(photo)
    if side == "after":
        groups.reverse()
        for group in groups:
            group.photos.reverse()
    return groups


def _belongs(
    photo: PhotoFacts, sure: Holder | None, group: PhotoGroup, settings: MatchSettings
) -> bool:
    if sure is not None or group.sure is not None:
        return sure == group.sure
    if photo.shows is None:
        # Without a card it may be the next plant's tag, missed.
        return False
    subject = group.subject
    if subject is None:
        last = group.photos[-1]
        return gap_s(last, photo) <= _JOINED_WITHIN_S and not doubt_between(last, photo)
    return looks_the_same(group.photos[-1], photo, settings)


def _owner(
    photo: PhotoFacts, match: Match | None, tags: TagVerdict, settings: MatchSettings
) -> Holder | None:
    """Whose a photo is, for its place in the round.

    Where the day book speaks against a tag, the photo waits, but the tag was there all the same.
    """
    if photo.decided is not None:
        return photo.decided[0] if len(photo.decided) == 1 else None
    if match is not None and match.found is not None:
        return match.found.holder
    if match is None or not match.contradiction or tags.found is None:
        return None
    return tags.found.holder if tags.found.probability >= settings.threshold else None


def _length_of_pause(one: PhotoFacts, other: PhotoFacts) -> int:
    apart_s = gap_s(one, other)
    return sum(apart_s > longest for longest in _PAUSES_S)
