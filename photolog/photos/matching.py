"""Whose photo is it: tag, run and day book, strongest first, each with its probability."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from photolog.photos.by_day_book import by_day_book, shown_by_day
from photolog.photos.by_order import Placed, propose_by_order
from photolog.photos.dates_doubted import DoubtedDate, doubted_dates
from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts
from photolog.photos.forgotten import Forgotten
from photolog.photos.garden import Garden
from photolog.photos.reckoned import match_reckoned
from photolog.photos.runs import RunVerdict, follow_runs
from photolog.photos.standing import ranked, stand
from photolog.photos.tags_read import TagVerdict, read_tags

__all__ = ["match_photos"]


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
    shown = shown_by_day(photos, matches)
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
            matches[photo.photo_id] = by_day_book(
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
        return stand(photo, proposed[0], proposed[1:], garden, settings, forgotten=forgotten)
    return replace(match, candidates=ranked((*first, *kept)))


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
            candidates=ranked(tags.candidates),
        )
    if tags.found is not None:
        return stand(photo, tags.found, tags.candidates, garden, settings, forgotten=forgotten)
    if tags.speaks:
        # Its own tag says something, though not whose it is; nothing weaker may overrule that.
        return Match(
            photo_id=photo.photo_id,
            waiting_because=tags.because,
            candidates=ranked(tags.candidates),
        )
    if run is not None and run.found is not None:
        return stand(photo, run.found, tags.candidates, garden, settings, forgotten=forgotten)
    because = run.because if run is not None and run.because else tags.because
    return Match(
        photo_id=photo.photo_id,
        waiting_because=because or None,
        candidates=ranked((*(run.candidates if run is not None else ()), *tags.candidates)),
    )
