"""Whether a photo is matched by what was found for it, or waits with candidates and why."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from photolog.photos.contradictions import contradiction
from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts
from photolog.photos.forgotten import Forgotten
from photolog.photos.garden import Garden, Holder

__all__ = ["ranked", "stand", "with_reason"]

# How sure the plant of a photo is that the day book speaks against, at most (judgement, no source).
_CONTRADICTED = 0.3


def stand(
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
            candidates=ranked((doubted, *others)),
        )
    if found.probability < settings.threshold:
        return Match(
            photo_id=photo.photo_id,
            waiting_because=f"Not sure enough: {found.because}",
            candidates=ranked((found, *others)),
        )
    return Match(photo_id=photo.photo_id, found=found)


def with_reason(match: Match) -> Match:
    """The same, with why it waits where nothing said so yet."""
    if match.waiting_because:
        return match
    because = (
        "Neither a tag nor a run says whose it is; by the day book it may be one of these."
        if match.candidates
        else "Neither a tag, nor a run, nor the day book says whose it is."
    )
    return Match(photo_id=match.photo_id, waiting_because=because, candidates=match.candidates)


def ranked(candidates: Iterable[Candidate]) -> tuple[Candidate, ...]:
    """Each holder once, with its strongest reason, the most probable first."""
    best: dict[Holder, Candidate] = {}
    for candidate in candidates:
        known = best.get(candidate.holder)
        if known is None or candidate.probability > known.probability:
            best[candidate.holder] = candidate
    return tuple(sorted(best.values(), key=lambda found: -found.probability))
