"""Whose label is lost, by the order of the tags before and after: ..., 0014, no tag, 0016, ..."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import date
from itertools import pairwise

from photolog.photos.facts import PhotoFacts, moment, tag_text
from photolog.photos.garden import Garden, Holder
from photolog.photos.tags_read import TagVerdict
from photolog.terms import EventKind

__all__ = ["labels_by_order"]

# So many tags on either side have to run in order (judgement, no source).
_IN_ORDER = 2
_MOST_NAMED = 4

_IN_THE_GROUND = (EventKind.PLANTED_OUT, EventKind.STAYED)
_NO_LONGER = (
    EventKind.LIFTED,
    EventKind.LOST,
    EventKind.ROGUED,
    EventKind.DISCARDED,
    EventKind.GIVEN_AWAY,
    EventKind.DIVIDED,
)


def labels_by_order(
    lost: Iterable[PhotoFacts],
    day: Sequence[PhotoFacts],
    verdicts: Mapping[int, TagVerdict],
    garden: Garden,
    *,
    photographed: Collection[int],
) -> dict[int, tuple[Holder | None, str]]:
    """For each photo of a "label lost" card whose label it is, or nobody, and why.

    ``day`` is one camera's day in order, ``photographed`` the tags that any camera saw that day. A
    plant is named only where the tags run in order for two photos on either side and exactly one
    that is in the ground, and whose tag was photographed nowhere that day, lies between.
    """
    on = day[0].taken_at.date() if day[0].taken_at else date.min
    seen = _seen_in(day, verdicts)
    missing = _missing(on, garden, photographed)
    found: dict[int, tuple[Holder | None, str]] = {}
    for photo in lost:
        at = moment(photo)
        before = [number for taken, number in seen if taken < at][-_IN_ORDER:]
        after = [number for taken, number in seen if taken > at][:_IN_ORDER]
        between = _between(before, after, missing)
        if len(between) == 1:
            (tag,) = between
            name = garden.named(missing[tag])
            found[photo.photo_id] = (
                missing[tag],
                f"It has no tag, but stands between {tag_text(before[-1])} and "
                f"{tag_text(after[0])}, where only {tag_text(tag)} ({name}) was not photographed.",
            )
        else:
            found[photo.photo_id] = None, _open(missing, garden)
    return found


def _seen_in(
    day: Sequence[PhotoFacts], verdicts: Mapping[int, TagVerdict]
) -> list[tuple[tuple[object, ...], int]]:
    """The tags photographed, in order, each with its moment."""
    seen: list[tuple[tuple[object, ...], int]] = []
    for photo in day:
        verdict = verdicts.get(photo.photo_id)
        if verdict is None or verdict.number is None or not verdict.speaks:
            continue
        if not seen or seen[-1][1] != verdict.number:
            seen.append((moment(photo), verdict.number))
    return seen


def _missing(on: date, garden: Garden, photographed: Collection[int]) -> dict[int, Holder]:
    """By tag, the plants in the ground that morning whose tag was not photographed."""
    missing = {}
    for holding in garden.holdings:
        if holding.holder.kind != "plant" or holding.tag in photographed or not holding.on(on):
            continue
        events = [event for event in garden.events_of(holding.holder) if event.on < on]
        planted = max((e.on for e in events if e.kind in _IN_THE_GROUND), default=None)
        gone = max((e.on for e in events if e.kind in _NO_LONGER), default=None)
        if planted is not None and (gone is None or gone < planted):
            missing[holding.tag] = holding.holder
    return missing


def _between(
    before: Sequence[int], after: Sequence[int], missing: Mapping[int, Holder]
) -> list[int]:
    if len(before) < _IN_ORDER or len(after) < _IN_ORDER:
        return []
    steps = [later - earlier for earlier, later in pairwise([*before, *after])]
    if not (all(step > 0 for step in steps) or all(step < 0 for step in steps)):
        return []
    low, high = sorted((before[-1], after[0]))
    return [tag for tag in missing if low < tag < high]


def _open(missing: Mapping[int, Holder], garden: Garden) -> str:
    if not missing:
        return "It has no tag, and no plant in the ground is without its photo that day."
    named = [f"{tag_text(tag)} ({garden.named(missing[tag])})" for tag in sorted(missing)]
    more = f" and {len(named) - _MOST_NAMED} more" if len(named) > _MOST_NAMED else ""
    return (
        "It has no tag. In the ground and not photographed that day: "
        f"{', '.join(named[:_MOST_NAMED])}{more}."
    )
