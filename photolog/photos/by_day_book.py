"""Reason three: what the day book has on the day of a photo."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts, Shows
from photolog.photos.garden import DayFact, Garden, Holder
from photolog.photos.orders import SHOWN_BY
from photolog.photos.runs import RunVerdict
from photolog.photos.standing import ranked, stand, with_reason
from photolog.photos.tags_read import TagVerdict
from photolog.terms import EventKind

__all__ = ["by_day_book", "shown_by_day"]

# How sure the day book makes it (judgement, no source).
_ONLY_ONE = 0.96
_ONLY_ONE_OTHER_HOUR = 0.9
_ONLY_ONE_LEFT = 0.85
_ONE_OF_SEVERAL = 0.8
_HAS_ONE_ALREADY = 0.1
_NEAR_IN_TIME_S = 3 * 3600.0


def shown_by_day(
    photos: Iterable[PhotoFacts], matches: Mapping[int, Match]
) -> dict[tuple[Shows, date], set[Holder]]:
    """Which plants and batches have their photo of a kind on a day already."""
    shown: dict[tuple[Shows, date], set[Holder]] = {}
    for photo in photos:
        if photo.taken_at is None or photo.shows is None:
            continue
        match = matches.get(photo.photo_id)
        owners = photo.decided or ()
        if match is not None and match.found is not None:
            owners = (match.found.holder,)
        shown.setdefault((photo.shows, photo.taken_at.date()), set()).update(owners)
    return shown


def by_day_book(
    photo: PhotoFacts,
    match: Match,
    *,
    tags: TagVerdict,
    run: RunVerdict | None,
    shown: Mapping[tuple[Shows, date], set[Holder]],
    unclaimed: Mapping[tuple[Shows | None, date], int],
    garden: Garden,
    settings: MatchSettings,
) -> Match:
    """The same photo with what the day book of its day proposes."""
    if photo.taken_at is None or photo.shows is None or tags.speaks:
        return with_reason(match)
    day = photo.taken_at.date()
    entries = _entries_of(day, photo.shows, garden)
    holders = list(dict.fromkeys(entry.holder for entry in entries if entry.holder is not None))
    have_theirs = shown.get((photo.shows, day), set())
    free = [holder for holder in holders if holder not in have_theirs]
    # The day book decides by itself only where nothing else that day casts doubt on it: one entry,
    # one photo to go with it, and no photo of a plant that the entries forgot.
    alone = unclaimed[photo.shows, day] == 1 and not have_theirs
    proposed = [
        _from_day_book(
            holder,
            entries,
            garden,
            taken_at=photo.taken_at,
            probability=_share(holder, free=free, n_taken=len(holders) - len(free), alone=alone),
        )
        for holder in holders
    ]
    undisturbed = (run is None or not run.disturbed) and not match.candidates
    if len(holders) == 1 and alone and undisturbed:
        return stand(photo, proposed[0], (), garden, settings)
    candidates = ranked((*match.candidates, *proposed))
    return with_reason(
        Match(
            photo_id=photo.photo_id,
            waiting_because=match.waiting_because,
            candidates=candidates,
        )
    )


def _entries_of(day: date, shows: Shows, garden: Garden) -> list[DayFact]:
    for kinds in SHOWN_BY[shows]:
        entries = [
            event
            for event in garden.events_by_day.get(day, ())
            if event.kind in kinds and event.holder is not None
        ]
        if entries:
            return entries
    return []


def _share(holder: Holder, *, free: Sequence[Holder], n_taken: int, alone: bool) -> float:
    if holder not in free:
        return _HAS_ONE_ALREADY / n_taken
    if len(free) > 1:
        return _ONE_OF_SEVERAL / len(free)
    return _ONLY_ONE if alone and n_taken == 0 else _ONLY_ONE_LEFT


def _from_day_book(
    holder: Holder,
    entries: Iterable[DayFact],
    garden: Garden,
    *,
    taken_at: datetime,
    probability: float,
) -> Candidate:
    entry = next(entry for entry in entries if entry.holder == holder)
    if entry.at is not None and probability > _ONLY_ONE_OTHER_HOUR:
        apart_s = abs((datetime.combine(entry.on, entry.at) - taken_at).total_seconds())
        if apart_s > _NEAR_IN_TIME_S:
            probability = _ONLY_ONE_OTHER_HOUR
    return Candidate(
        holder=holder,
        tag=_tag_on(holder, entry.on, garden),
        reason="day book",
        because=f"By the day book {garden.named(holder)} was {_said(entry.kind)} that day.",
        probability=probability,
    )


def _said(kind: EventKind) -> str:
    return "in first bloom" if kind is EventKind.FIRST_BLOOM else str(kind)


def _tag_on(holder: Holder, day: date, garden: Garden) -> int | None:
    held = garden.holdings_of_holder.get(holder, ())
    return next((holding.tag for holding in held if holding.on(day)), None)
