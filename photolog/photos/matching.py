"""Whose photo is it: tag, run and day book, strongest first, each with its probability."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime

from photolog.photos.by_order import Placed, propose_by_order
from photolog.photos.contradictions import contradiction
from photolog.photos.dates_doubted import DoubtedDate, doubted_dates
from photolog.photos.facts import (
    Candidate,
    DayFact,
    Garden,
    Holder,
    Match,
    MatchSettings,
    PhotoFacts,
    Shows,
)
from photolog.photos.forgotten import Forgotten
from photolog.photos.orders import SHOWN_BY
from photolog.photos.reckoned import match_reckoned
from photolog.photos.runs import RunVerdict, follow_runs
from photolog.photos.tags_read import TagVerdict, read_tags
from photolog.terms import EventKind

__all__ = ["match_photos"]

# How sure the day book makes it (judgement, no source).
_ONLY_ONE = 0.96
_ONLY_ONE_OTHER_HOUR = 0.9
_ONLY_ONE_LEFT = 0.85
_ONE_OF_SEVERAL = 0.8
_HAS_ONE_ALREADY = 0.1
_CONTRADICTED = 0.3
_NEAR_IN_TIME_S = 3 * 3600.0


def match_photos(
    photos: Sequence[PhotoFacts],
    garden: Garden,
    settings: MatchSettings | None = None,
    *,
    doubted: Mapping[int, DoubtedDate] | None = None,
) -> list[Match]:
    """Where each photo that was not decided by hand stands, in the order given.

    Nothing depends on an earlier matching, so that it can be run again at any time: photos, tags,
    day book and what the grower decided go in, and the same comes out. A photo is matched only
    when its strongest reason clears the threshold and nothing in the day book is against it;
    everything else waits, with candidates. ``doubted`` are the dates that can't be right, where
    they are known already.
    """
    settings = settings or MatchSettings()

    def matching(some: Sequence[PhotoFacts]) -> list[Match]:
        return _match(some, garden, settings)

    if doubted is None:
        doubted = doubted_dates(photos)
    if not doubted:
        return matching(photos)
    return match_reckoned(photos, doubted, garden, matching)


def _match(photos: Sequence[PhotoFacts], garden: Garden, settings: MatchSettings) -> list[Match]:
    """All reasons, the strongest first, on photos whose dates hold."""
    verdicts = {photo.photo_id: read_tags(photo, garden, settings) for photo in photos}
    runs = follow_runs(photos, verdicts, garden, settings)
    undecided = [photo for photo in photos if photo.decided is None]
    said = (
        (photo, _said_by_tag_or_run(verdicts[photo.photo_id], runs.get(photo.photo_id)))
        for photo in undecided
    )
    forgotten = Forgotten(
        [
            (photo, found)
            for photo, found in said
            if found is not None and found.probability >= settings.threshold
        ],
        garden,
    )
    matches = {
        photo.photo_id: _by_tag_or_run(
            photo,
            verdicts[photo.photo_id],
            runs.get(photo.photo_id),
            garden,
            settings,
            forgotten=forgotten,
        )
        for photo in undecided
    }
    shown = _shown_by_day(photos, matches)
    unclaimed = Counter(
        (photo.shows, photo.taken_at.date())
        for photo in undecided
        if photo.taken_at is not None
        and matches[photo.photo_id].found is None
        and not verdicts[photo.photo_id].speaks
    )
    for photo in undecided:
        match = matches[photo.photo_id]
        if match.found is None and not match.contradiction:
            matches[photo.photo_id] = _by_day_book(
                photo,
                match,
                tags=verdicts[photo.photo_id],
                run=runs.get(photo.photo_id),
                shown=shown,
                unclaimed=unclaimed,
                garden=garden,
                settings=settings,
            )
    by_order = propose_by_order(photos, matches, verdicts, garden, settings)
    for photo in undecided:
        match = matches[photo.photo_id]
        placed = by_order.get(photo.photo_id)
        if match.found is None and not match.contradiction and placed is not None:
            matches[photo.photo_id] = _by_order(
                photo, match, placed, garden, settings, forgotten=forgotten
            )
    return [matches[photo.photo_id] for photo in undecided]


def _by_order(
    photo: PhotoFacts,
    match: Match,
    placed: Placed,
    garden: Garden,
    settings: MatchSettings,
    *,
    forgotten: Forgotten,
) -> Match:
    """The same photo with what its place among the day's photos says.

    It has weighed tags, runs and colours with it, so that other candidates share what it leaves;
    only where few sure photos show the order does what else is surer lead.
    """
    proposed = placed.candidates
    first, others = proposed, match.candidates
    if placed.few and others and others[0].probability > first[0].probability:
        first, others = others, first
    weighed = {one.holder for one in first}
    others = tuple(one for one in others if one.holder not in weighed)
    left = max(0.0, 1.0 - sum(one.probability for one in first))
    total = sum(one.probability for one in others)
    scale = min(1.0, left / total) if total > 0.0 else 0.0
    kept = [replace(one, probability=one.probability * scale) for one in others]
    if proposed[0].probability >= settings.threshold:
        return _stand(photo, proposed[0], proposed[1:], garden, settings, forgotten=forgotten)
    return replace(match, candidates=_ranked((*first, *kept)))


def _said_by_tag_or_run(tags: TagVerdict, run: RunVerdict | None) -> Candidate | None:
    if tags.found is not None or tags.speaks:
        return tags.found
    return run.found if run is not None else None


def _by_tag_or_run(
    photo: PhotoFacts,
    tags: TagVerdict,
    run: RunVerdict | None,
    garden: Garden,
    settings: MatchSettings,
    *,
    forgotten: Forgotten,
) -> Match:
    if photo.taken_at is None:
        because = photo.date_problem or "The photo has no date."
        return Match(
            photo_id=photo.photo_id,
            waiting_because=f"{because} Say which plant it is, and when it was taken.",
            candidates=_ranked(tags.candidates),
        )
    if tags.found is not None:
        return _stand(photo, tags.found, tags.candidates, garden, settings, forgotten=forgotten)
    if tags.speaks:
        # Its own tag says something, though not whose it is; nothing weaker may overrule that.
        return Match(
            photo_id=photo.photo_id,
            waiting_because=tags.because,
            candidates=_ranked(tags.candidates),
        )
    if run is not None and run.found is not None:
        return _stand(photo, run.found, tags.candidates, garden, settings, forgotten=forgotten)
    because = run.because if run is not None and run.because else tags.because
    return Match(
        photo_id=photo.photo_id,
        waiting_because=because or None,
        candidates=_ranked((*(run.candidates if run is not None else ()), *tags.candidates)),
    )


def _stand(
    photo: PhotoFacts,
    found: Candidate,
    others: Iterable[Candidate],
    garden: Garden,
    settings: MatchSettings,
    *,
    forgotten: Forgotten | None = None,
) -> Match:
    """A match, unless something is against it or it is not sure enough.

    What is against it may be no more than an entry that was ``forgotten``.
    """
    against = (
        contradiction(found.holder, shows=photo.shows, taken_at=photo.taken_at, garden=garden)
        if photo.taken_at is not None
        else None
    )
    all_the_same = forgotten.outweighs(photo, found) if forgotten is not None and against else ""
    if all_the_same:
        found = replace(found, because=f"{found.because} {all_the_same}")
    elif against is not None:
        doubted = Candidate(
            holder=found.holder,
            tag=found.tag,
            reason=found.reason,
            because=f"{found.because} {against}",
            probability=min(found.probability, _CONTRADICTED),
        )
        return Match(
            photo_id=photo.photo_id,
            waiting_because=f"{found.because} But: {against}",
            contradiction=True,
            candidates=_ranked((doubted, *others)),
        )
    if found.probability < settings.threshold:
        return Match(
            photo_id=photo.photo_id,
            waiting_because=f"Not sure enough: {found.because}",
            candidates=_ranked((found, *others)),
        )
    return Match(photo_id=photo.photo_id, found=found)


def _shown_by_day(
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


def _by_day_book(
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
        return _with_reason(match)
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
        return _stand(photo, proposed[0], (), garden, settings)
    candidates = _ranked((*match.candidates, *proposed))
    return _with_reason(
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


def _with_reason(match: Match) -> Match:
    if match.waiting_because:
        return match
    because = (
        "Neither a tag nor a run says whose it is; by the day book it may be one of these."
        if match.candidates
        else "Neither a tag, nor a run, nor the day book says whose it is."
    )
    return Match(photo_id=match.photo_id, waiting_because=because, candidates=match.candidates)


def _ranked(candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Each holder once, with its strongest reason, the most probable first."""
    best: dict[Holder, Candidate] = {}
    for candidate in candidates:
        known = best.get(candidate.holder)
        if known is None or candidate.probability > known.probability:
            best[candidate.holder] = candidate
    return tuple(sorted(best.values(), key=lambda found: -found.probability))
