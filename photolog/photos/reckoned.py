"""Photos whose date can't be right: matched where every day that they may be of says the same."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime, timedelta

from photolog.photos.dates_doubted import DoubtedDate
from photolog.photos.facts import Candidate, Match, PhotoFacts, tag_text
from photolog.photos.garden import Garden, Holder

__all__ = ["match_reckoned"]

# How sure a plant is whose photo's date is doubted, at most; and when only the tag is known, and
# not when it was worn (judgement, no source).
_RECKONED = 0.97
_NOT_SURE = 0.9
_WORN_SOME_DAY = 0.8

_WEEKS = timedelta(days=21)

_Matching = Callable[[Sequence[PhotoFacts]], Sequence[Match]]


def match_reckoned(
    photos: Sequence[PhotoFacts],
    doubted: Mapping[int, DoubtedDate],
    garden: Garden,
    matching: _Matching,
) -> list[Match]:
    """Match all photos, those with a doubted date by the days between which they were counted.

    The others are matched as if the doubted ones weren't there. A doubted one is matched by its
    tag or run if it would be the same plant's on the first and on the last day that its number
    allows; what else is found waits, as the clock has to be put right first.
    """
    sound = [photo for photo in photos if photo.photo_id not in doubted]
    found = {match.photo_id: match for match in matching(sound)}
    early, late = [], []
    for photo in photos:
        date = doubted.get(photo.photo_id)
        if date is not None and date.earliest is not None:
            early.append(replace(photo, taken_at=date.earliest))
            late.append(replace(photo, taken_at=date.latest))
    # What else was photographed in those weeks shows the order in the bed and the colours.
    days = {photo.taken_at.date() for photo in early if photo.taken_at is not None}
    early += [
        photo
        for photo in sound
        if photo.taken_at is not None
        and any(abs(photo.taken_at.date() - day) <= _WEEKS for day in days)
    ]
    first = {match.photo_id: match for match in matching(early)} if late else {}
    last = {match.photo_id: match for match in matching(late)} if late else {}
    for photo in photos:
        date = doubted.get(photo.photo_id)
        if date is None or photo.decided is not None:
            continue
        one, other = first.get(photo.photo_id), last.get(photo.photo_id)
        found[photo.photo_id] = (
            _agreed(one, other, date)
            if one is not None and other is not None
            else _by_tag_alone(photo, date, garden)
        )
    return [found[photo.photo_id] for photo in photos if photo.photo_id in found]


def _agreed(one: Match, other: Match, date: DoubtedDate) -> Match:
    """What both days say; ``one`` was matched among the other photos of those weeks.

    A tag or a run has to say the same plant on both. By its place in the order it is matched on the
    first, if on the last, where only these photos are known, the same plant is the likeliest.
    """
    found, last = one.found, other.found
    if found is not None and last is None and found.reason == "order" and not other.contradiction:
        last = next(iter(other.candidates), None)
    if found is not None and last is not None and found.holder == last.holder:
        because = (
            f"{found.because} {date.because} By its number it was taken from "
            f"{_day(date.earliest)} to {_day(date.latest)}, and on both days it is the same."
        )
        return Match(
            photo_id=one.photo_id,
            found=replace(found, because=because, probability=min(found.probability, _RECKONED)),
        )
    every: dict[Holder, Candidate] = {}
    for candidate in (one.found, other.found, *one.candidates, *other.candidates):
        if candidate is not None and candidate.holder not in every:
            probability = min(candidate.probability, _NOT_SURE)
            every[candidate.holder] = replace(candidate, probability=probability)
    ranked = sorted(every.values(), key=lambda candidate: -candidate.probability)
    return Match(
        photo_id=one.photo_id,
        waiting_because=date.because,
        contradiction=True,
        candidates=tuple(ranked),
    )


def _day(moment: datetime | None) -> str:
    return str(moment.date()) if moment is not None else "?"


def _by_tag_alone(photo: PhotoFacts, date: DoubtedDate, garden: Garden) -> Match:
    """Nothing says when the photo was taken: whoever held a tag in it on any day is offered."""
    numbers = dict.fromkeys(tag.number for tag in photo.tags if tag.number is not None)
    holdings = [holding for number in numbers for holding in garden.holdings_of_tag.get(number, ())]
    held = {
        holding.holder: Candidate(
            holder=holding.holder,
            tag=holding.tag,
            reason="tag",
            because=f"{garden.named(holding.holder)} once held tag {tag_text(holding.tag)}.",
            probability=_WORN_SOME_DAY / len(holdings),
        )
        for holding in holdings
    }
    return Match(
        photo_id=photo.photo_id,
        waiting_because=date.because,
        contradiction=True,
        candidates=tuple(held.values()),
    )
