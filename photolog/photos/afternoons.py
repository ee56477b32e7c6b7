"""An afternoon of failed tag shots, laid whole along the order in which the day book has the day.

What it says is only proposed: photos go on waiting, with their candidates in its order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date

from photolog.photos.camera_days import camera_days
from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts
from photolog.photos.garden import DayFact, Garden, Holder
from photolog.photos.laid_along import Habits, Laid, lay_along
from photolog.photos.tags_read import TagVerdict, read_tags
from photolog.photos.visits import Again, PhotoGroup, rounds
from photolog.terms import EventKind

__all__ = ["lay_afternoons"]

_UNFITTING_TAG = 0.003
# The model doesn't know all that can go wrong: what is stated is less sure than what it gives.
_DOUBT, _AT_LEAST = 0.5, 0.7
_FEWEST_WAITING, _FEWEST_ENTRIES = 2, 3
_MOST_NAMED = 6


def lay_afternoons(
    matches: Iterable[Match],
    photos: Sequence[PhotoFacts],
    garden: Garden,
    settings: MatchSettings,
) -> list[Match]:
    """The same matches; photos that wait on a day of lifting have that day's order weighed in.

    It matches nothing by itself: a photo that waits goes on waiting, with its candidates in the
    order that laying the whole day along the entries gives.
    """
    every = list(matches)
    by_id = {match.photo_id: match for match in every}
    entered = _entered(garden)
    days = camera_days(photos)
    if not any(on in entered and _several_wait(day, by_id) for on, day in days):
        return every
    some = [photo for on, day in days if on in entered for photo in day]
    verdicts = {photo.photo_id: read_tags(photo, garden, settings) for photo in some}
    known = rounds(some, by_id, verdicts, settings)
    again = Again(known)
    seen: dict[date, list[tuple[int, Holder]]] = {}
    for nth, one in enumerate(known):
        seen.setdefault(one.day, []).extend((nth, holder) for holder in one.sure)
    habits = Habits.learnt(
        ([one.holder for one in entered[met.day] if one.holder is not None], met.sure)
        for met in known
        if met.shows == "clump"
    )
    proposed: dict[int, tuple[Candidate, ...]] = {}
    for nth, met in enumerate(known):
        one = replace(met, groups=again.joined(met.groups, met.side))
        waiting = [group for group in one.groups if _waits(group, by_id)]
        if one.shows != "clump" or len(waiting) < _FEWEST_WAITING:
            continue
        elsewhere = {holder for other, holder in seen[one.day] if other != nth}
        visits = [
            Laid(
                at=group.photos[0].taken_at,
                sure=group.sure,
                fits=_fits(group, entered[one.day], verdicts),
                again=again.probability(before, group, one.side) if before is not None else 0.0,
            )
            for before, group in zip((None, *one.groups), one.groups, strict=False)
        ]
        shares = lay_along(visits, entered[one.day], elsewhere=frozenset(elsewhere), habits=habits)
        for group, share in zip(one.groups, shares, strict=True):
            if share and _waits(group, by_id):
                candidates = _candidates(share, garden)
                proposed |= {photo.photo_id: candidates for photo in group.photos}
    return [
        _with_order(match, proposed[match.photo_id]) if match.photo_id in proposed else match
        for match in every
    ]


def _entered(garden: Garden) -> dict[date, list[DayFact]]:
    """What was lifted on each day, each plant once, in the order of entries or of their hours."""
    found = {}
    for on, events in garden.events_by_day.items():
        entries = [
            entry for entry in events if entry.kind is EventKind.LIFTED and entry.holder is not None
        ]
        if all(entry.at is not None for entry in entries):
            entries.sort(key=lambda entry: str(entry.at))
        once = {entry.holder: entry for entry in reversed(entries)}
        if len(once) >= _FEWEST_ENTRIES:
            found[on] = [entry for entry in entries if once[entry.holder] is entry]
    return found


def _several_wait(day: Iterable[PhotoFacts], matches: Mapping[int, Match]) -> bool:
    waiting = (
        one.shows == "clump" and one.photo_id in matches and not matches[one.photo_id].belongs_to
        for one in day
    )
    return sum(waiting) >= _FEWEST_WAITING


def _waits(group: PhotoGroup, matches: Mapping[int, Match]) -> bool:
    """Whether a visit waits, by something that its place may tell."""
    if group.sure is not None:
        return False
    every = [matches[one.photo_id] for one in group.photos if one.photo_id in matches]
    return bool(every) and not any(one.belongs_to or one.contradiction for one in every)


def _candidates(share: Mapping[Holder, float], garden: Garden) -> tuple[Candidate, ...]:
    ranked = sorted(share.items(), key=lambda named: -named[1])[:_MOST_NAMED]
    return tuple(
        Candidate(
            holder=holder,
            tag=None,
            reason="order",
            because=(
                "Laid with the whole afternoon along the order of lifting, it is "
                f"{garden.named(holder)}."
            ),
            probability=_stated(value),
        )
        for holder, value in ranked
    )


def _fits(
    group: PhotoGroup, entries: Sequence[DayFact], verdicts: Mapping[int, TagVerdict]
) -> dict[Holder, float]:
    """What is read of half a tag, or of two tags alike, leaves few plants."""
    fits: dict[Holder, float] = {}
    for photo in group.photos:
        verdict = verdicts[photo.photo_id]
        if verdict.kind in ("half", "choice"):
            named = {candidate.holder for candidate in verdict.candidates}
            for entry in entries:
                if entry.holder is not None and entry.holder not in named:
                    fits[entry.holder] = fits.get(entry.holder, 1.0) * _UNFITTING_TAG
    return fits


def _stated(share: float) -> float:
    return max(share - _DOUBT * (1.0 - share), _AT_LEAST * share)


def _with_order(match: Match, laid: Sequence[Candidate]) -> Match:
    """A waiting photo's candidates, led by those of the order unless something surer leads.

    Where another reason has another plant for likelier than not, the two dispute it.
    """
    others = match.candidates
    if others and others[0].probability > laid[0].probability:
        return match
    rival = next((one for one in others if one.holder != laid[0].holder), None)
    if others and rival is others[0] and rival.probability > 0.5:
        laid = [replace(one, probability=0.5 * one.probability) for one in laid]
    named = {one.holder for one in laid}
    left = max(0.0, 1.0 - sum(one.probability for one in laid))
    rest = [one for one in others if one.holder not in named]
    total = sum(one.probability for one in rest)
    scale = min(1.0, left / total) if total > 0.0 else 0.0
    kept = [replace(one, probability=one.probability * scale) for one in rest]
    ranked = sorted((*laid, *kept), key=lambda one: -one.probability)
    return replace(match, candidates=tuple(ranked))
