"""Photos of several plants at once, and of boxes: a tray, a row, a vase, a box as packed."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from photolog.photos.contradictions import contradiction
from photolog.photos.facts import (
    BoxFound,
    Candidate,
    Match,
    MatchSettings,
    PhotoFacts,
    TagInView,
    tag_text,
)
from photolog.photos.garden import Garden
from photolog.photos.tags_read import near_tags

__all__ = ["as_decided", "match_groups", "with_boxes"]

# How sure it is that a photo belongs to each plant whose tag is in it, and to a box by its tag
# (judgement, no source).
_ONE_OF_GROUP = 0.97
_BOX = 0.98
# So many tags are a group however large they are; two only where each is small in the picture.
_MANY = 3


def match_groups(
    photos: Iterable[PhotoFacts],
    garden: Garden,
    settings: MatchSettings,
    *,
    doubted: Collection[int] = (),
) -> dict[int, Match]:
    """The photos that belong to several plants by the tags in view, or to a box alone.

    Without a card, tags of like size are a group's; with a card, one clump has one tag, so that
    there only a box's tag, or the grower's word, makes a group of several. Where the day book
    speaks against one of them, or nobody held a tag that day, the photo waits. Those whose date is
    ``doubted`` are left to matching.
    """
    found = {}
    for photo in photos:
        if photo.decided is not None or photo.photo_id in doubted:
            continue
        tags = _tags_of_group(photo, settings)
        if tags:
            found[photo.photo_id] = _grouped(photo, tags, garden, settings)
        elif photo.boxes and photo.shows is None and not near_tags(photo, settings):
            found[photo.photo_id] = _of_box(photo, garden)
    return found


def as_decided(photos: Iterable[PhotoFacts], groups: Mapping[int, Match]) -> list[PhotoFacts]:
    """The photos as all other matching sees them: a group's is settled, and no visit of one."""
    return [
        replace(photo, decided=tuple(one.holder for one in groups[photo.photo_id].belongs_to))
        if photo.photo_id in groups
        else photo
        for photo in photos
    ]


def with_boxes(
    matches: Iterable[Match], photos: Sequence[PhotoFacts], garden: Garden
) -> list[Match]:
    """The same matches, each with the boxes whose tag is in its photo and that are known."""
    seen = {photo.photo_id: photo.boxes for photo in photos if photo.boxes}
    return [
        replace(match, boxes=_boxes(seen[match.photo_id], garden))
        if match.photo_id in seen
        else match
        for match in matches
    ]


def _tags_of_group(photo: PhotoFacts, settings: MatchSettings) -> list[TagInView]:
    """The tags of the plants that a photo shows together, largest first; none: it is no group."""
    near = near_tags(photo, settings)
    read = [tag for tag in near if tag.number is not None]
    if len(read) < 2:
        return []
    pegged = any(tag.pegged for tag in near)
    if photo.is_group or (photo.boxes and not pegged):
        return read
    if photo.has_card or pegged:
        return []
    chain = [read[0]]
    for larger, tag in pairwise(read):
        if tag.side_px * settings.comparable_ratio < larger.side_px:
            break
        chain.append(tag)
    if len(chain) >= _MANY:
        return chain
    small = all(tag.side_px < settings.tag_shot_share * photo.longest_px for tag in near)
    return chain if len(chain) == 2 and len(near) == 2 and small else []


def _grouped(
    photo: PhotoFacts, tags: Sequence[TagInView], garden: Garden, settings: MatchSettings
) -> Match:
    numbers = [tag.number for tag in tags if tag.number is not None]
    named = ", ".join(tag_text(number) for number in sorted(numbers))
    because = f"One of {len(numbers)} plants whose tags are in the photo ({named})."
    if photo.taken_at is None:
        return Match(
            photo_id=photo.photo_id,
            waiting_because=(
                f"{photo.date_problem or 'The photo has no date.'} Without a date nobody can say "
                f"who held the tags then ({named})."
            ),
        )
    day = photo.taken_at.date()
    found: dict[object, Candidate] = {}
    against, unheld = "", []
    for number in numbers:
        holding = next((h for h in garden.holdings_of_tag.get(number, ()) if h.on(day)), None)
        if holding is None:
            unheld.append(tag_text(number))
            continue
        found.setdefault(
            holding.holder,
            Candidate(
                holder=holding.holder,
                tag=number,
                reason="tag",
                because=because,
                probability=_ONE_OF_GROUP,
            ),
        )
        against = against or (
            contradiction(holding.holder, shows=None, taken_at=photo.taken_at, garden=garden) or ""
        )
    every = tuple(found.values())
    if unheld:
        against = f"Nobody held tag {', '.join(unheld)} on {day}."
    if against or settings.threshold > _ONE_OF_GROUP:
        return Match(
            photo_id=photo.photo_id,
            waiting_because=f"Several tags are in the photo ({named}). {against}".rstrip(),
            contradiction=bool(against) and not unheld,
            # Each may be its, and all of them are: what they share is not one plant's chance.
            candidates=tuple(replace(one, probability=0.5) for one in every),
        )
    return Match(photo_id=photo.photo_id, group=every)


def _of_box(photo: PhotoFacts, garden: Garden) -> Match:
    unknown = [number for number in photo.boxes if number not in garden.boxes]
    if len(unknown) == len(photo.boxes):
        return Match(
            photo_id=photo.photo_id,
            waiting_because=(
                f"The tag of box {unknown[0]} is in the photo, but there is no such box in the "
                f"stock book. photolog box {unknown[0]} enters it."
            ),
        )
    return Match(photo_id=photo.photo_id, boxes=_boxes(photo.boxes, garden))


def _boxes(numbers: Iterable[int], garden: Garden) -> tuple[BoxFound, ...]:
    return tuple(
        BoxFound(
            box_id=garden.boxes[number].box_id,
            number=number,
            because=f"The tag of {garden.box_named(number)} is in the photo.",
            probability=_BOX,
        )
        for number in numbers
        if number in garden.boxes
    )
