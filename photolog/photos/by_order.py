"""Reason four: photos whose tag failed, between those that are sure, along an order of plants."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from photolog.photos.alignment import Aligned, Visit, align
from photolog.photos.colours_known import ColoursKnown
from photolog.photos.facts import (
    Candidate,
    Garden,
    Holder,
    Match,
    MatchSettings,
    PhotoFacts,
    Shows,
)
from photolog.photos.orders import bed_order, day_order, unlikely_on
from photolog.photos.tags_read import TagVerdict, seen_behind
from photolog.photos.visits import Again, PhotoGroup, Round, rounds

__all__ = ["Placed", "propose_by_order"]

_UNFITTING_TAG = 0.003
# So many sure visits of a round show that an order was followed; with fewer it is only offered.
_FEWEST_SURE, _FEWEST_TO_OFFER = 8, 2
_FEW = 0.75
# A tag in the background: of how many places along the bed it may be, and how much less often it
# is one from further away (across the path), or the plant's own (judgement, no source).
_BESIDE, _NOT_BESIDE, _ITS_OWN_BEHIND = 4, 0.2, 0.15
_SURELY = 0.98
_DOUBT = 8.0
_OTHER_ORDER_DISAGREES = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The plants a photo may be of by its place, the likeliest first.

    ``few``: too few sure visits show that the order was followed, so that it is only offered.
    """

    candidates: tuple[Candidate, ...]
    few: bool


def propose_by_order(
    photos: Sequence[PhotoFacts],
    matches: Mapping[int, Match],
    verdicts: Mapping[int, TagVerdict],
    garden: Garden,
    settings: MatchSettings,
) -> dict[int, Placed]:
    """For the photos that wait, the plants that they may be of by their place in a day's order.

    Photos of cameras that can't be told apart, and those without a date, have no place.
    """
    every = rounds(photos, matches, verdicts, settings)
    known = ColoursKnown(
        (photo, group.sure)
        for one in every
        for group in one.groups
        if group.sure is not None
        for photo in group.photos
    )
    again = Again(every)
    walks: dict[int, list[list[Holder]]] = {}
    seen: dict[tuple[date, Shows], set[Holder]] = {}
    for one in every:
        walks.setdefault(one.day.year, []).append(one.sure)
        if one.shows is not None:
            seen.setdefault((one.day, one.shows), set()).update(one.sure)
    found: dict[int, Placed] = {}
    beds: dict[date, list[Holder]] = {}
    for met in every:
        one = replace(met, groups=again.joined(met.groups, met.side))
        if one.shows is None or all(group.sure is not None for group in one.groups):
            continue
        if one.day not in beds:
            beds[one.day] = bed_order(one.day, garden, walks=walks[one.day.year])
        orders = {"bed": beds[one.day]}
        if one.shows == "clump":
            orders["day book"] = day_order(one.day, one.shows, garden)
        listed = list(dict.fromkeys(holder for order in orders.values() for holder in order))
        unlikely = unlikely_on(one.day, one.shows, garden, listed)
        visits = [
            _visit(
                group,
                listed,
                unlikely,
                verdicts,
                known,
                behind=_behind(group, beds[one.day], garden, settings),
                again=again.probability(before, group, one.side) if before else 0.0,
            )
            for before, group in zip((None, *one.groups), one.groups, strict=False)
        ]
        seen_already = frozenset(seen[one.day, one.shows])
        found |= _along(orders, one, visits, garden, seen_already)
    return found


def _along(
    orders: Mapping[str, Sequence[Holder]],
    one: Round,
    visits: Sequence[Visit],
    garden: Garden,
    seen_already: frozenset[Holder],
) -> dict[int, Placed]:
    """The candidates by the order that the round's sure photos follow best."""
    laid = [
        (name, align(visits, order, seen_already=seen_already))
        for name, order in orders.items()
        if sum(holder in set(order) for holder in one.sure) >= _FEWEST_TO_OFFER
    ]
    few = len(one.sure) < _FEWEST_SURE
    laid.sort(key=lambda one: -one[1].log_fit)
    found = {}
    for n, group in enumerate(one.groups):
        if group.sure is None and laid:
            candidates = _candidates(n, laid, garden, at_most=_FEW if few else _SURELY)
            if candidates:
                placed = Placed(candidates=candidates, few=few)
                found.update({photo.photo_id: placed for photo in group.photos})
    return found


def _candidates(
    n: int, laid: Sequence[tuple[str, Aligned]], garden: Garden, *, at_most: float
) -> tuple[Candidate, ...]:
    (name, best), others = laid[0], laid[1:]
    shares = dict(best.plants[n])
    for _, other in others:
        for holder, share in other.plants[n]:
            # The other order fills what the better one doesn't list.
            left = max(0.0, 1.0 - sum(shares.values()))
            shares.setdefault(holder, share * left)
    said = "by the order of the day book" if name == "day book" else "by their order in the bed"
    first = max(shares, key=lambda holder: shares[holder], default=None)
    disputed = any(
        other.plants[n] and other.plants[n][0][0] != first and other.plants[n][0][1] > 0.5
        for _, other in others
    )
    return tuple(
        Candidate(
            holder=holder,
            tag=None,
            reason="order",
            because=(
                f"Between the photos before and after it, {said} and by what can be seen, "
                f"{garden.named(holder)} fits."
            ),
            probability=min(_stated(share), at_most, _OTHER_ORDER_DISAGREES if disputed else 1.0),
        )
        for holder, share in sorted(shares.items(), key=lambda one: -one[1])
        if share > 0.001
    )


def _stated(share: float) -> float:
    """What is said of a share that the model gives: it doesn't know all that can go wrong."""
    return max(share - _DOUBT * (1.0 - share), 0.5 * share)


def _behind(
    group: PhotoGroup, bed: Sequence[Holder], garden: Garden, settings: MatchSettings
) -> dict[Holder, float]:
    """What tags in the background say: the plant stands beside theirs, and is rarely theirs."""
    fits: dict[Holder, float] = {}
    if group.sure is not None:
        return fits
    places = {holder: n for n, holder in enumerate(bed)}
    seen = {holder for photo in group.photos for holder in seen_behind(photo, garden, settings)}
    for other in seen & places.keys():
        for holder, place in places.items():
            apart = abs(place - places[other])
            share = _ITS_OWN_BEHIND if apart == 0 else 1.0 if apart <= _BESIDE else _NOT_BESIDE
            fits[holder] = fits.get(holder, 1.0) * share
    return fits


def _visit(
    group: PhotoGroup,
    holders: Iterable[Holder],
    unlikely: Mapping[Holder, float],
    verdicts: Mapping[int, TagVerdict],
    known: ColoursKnown,
    *,
    behind: Mapping[Holder, float],
    again: float,
) -> Visit:
    if group.sure is not None:
        return Visit(sure=group.sure, again=again)
    fits = dict(unlikely)
    for said in (known.likelihood(group.photos), behind):
        for holder, share in said.items():
            fits[holder] = fits.get(holder, 1.0) * share
    for photo in group.photos:
        verdict = verdicts[photo.photo_id]
        if verdict.kind in ("half", "choice"):
            named = {candidate.holder for candidate in verdict.candidates}
            for holder in holders:
                if holder not in named:
                    fits[holder] = fits.get(holder, 1.0) * _UNFITTING_TAG
    return Visit(likelihood=fits, again=again)
