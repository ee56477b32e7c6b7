"""Photos that look like copies of one another: whose the one is, the other may be."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from photolog.photos.facts import Candidate, Match, PhotoFacts
from photolog.photos.garden import Garden, Holder

__all__ = ["offer_to_copies"]

# How sure it is (judgement, no source): what only looks like a copy is proposed, never matched.
_OF_ITS_COPY = 0.9


def offer_to_copies(
    matches: Iterable[Match],
    photos: Sequence[PhotoFacts],
    pairs: Iterable[tuple[int, int]],
    garden: Garden,
) -> list[Match]:
    """The same matches; a photo that waits is offered the one plant of what it may be a copy of.

    ``pairs`` are the photos, by number, that look like copies of one another. A photo that the day
    book speaks against is offered it all the same, and goes on waiting as every other.
    """
    every = list(matches)
    owners: dict[int, Holder] = {
        match.photo_id: match.found.holder for match in every if match.found is not None
    }
    for photo in photos:
        if photo.decided is not None and len(photo.decided) == 1:
            owners[photo.photo_id] = photo.decided[0]
    names = {photo.photo_id: photo.name for photo in photos}
    copies: dict[int, int] = {}
    for one, other in pairs:
        for mine, its in ((one, other), (other, one)):
            if its in owners and mine in names:
                copies.setdefault(mine, its)
    return [
        _offered(match, copies[match.photo_id], owners, names, garden)
        if match.photo_id in copies and not match.belongs_to
        else match
        for match in every
    ]


def _offered(
    match: Match,
    other: int,
    owners: dict[int, Holder],
    names: dict[int, str],
    garden: Garden,
) -> Match:
    holder = owners[other]
    first = Candidate(
        holder=holder,
        tag=None,
        reason="copy",
        because=(
            f"It looks like a copy of photo {other} ({names[other]}), which is of "
            f"{garden.named(holder)}."
        ),
        probability=_OF_ITS_COPY,
    )
    if match.candidates and match.candidates[0].probability >= _OF_ITS_COPY:
        return match
    others = [
        replace(one, probability=min(one.probability, 1.0 - _OF_ITS_COPY))
        for one in match.candidates
        if one.holder != holder
    ]
    return replace(match, candidates=(first, *others))
