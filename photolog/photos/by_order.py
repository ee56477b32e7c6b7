"""Reason four: photos whose tag failed, between those that are sure, along an order of plants."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import pairwise

from photolog.photos.alignment import align
from photolog.photos.along import Aligned, Place, Visit, Walkers, likeliest_places
from photolog.photos.bed import Bed, Walk, bed_order, planting_days
from photolog.photos.contradictions import spoken_against
from photolog.photos.expected import Expected
from photolog.photos.facts import Candidate, Match, MatchSettings, PhotoFacts, Shows
from photolog.photos.garden import Garden, Holder
from photolog.photos.habits import Habits, Steps
from photolog.photos.likeness_known import LikenessKnown
from photolog.photos.orders import day_order
from photolog.photos.tags_read import TagVerdict, seen_behind
from photolog.photos.visits import Again, PhotoGroup, Round, rounds
from photolog.terms import EventKind

__all__ = ["Placed", "propose_by_order"]

_UNFITTING_TAG = 0.001
# So many sure visits of a round show that an order was followed; with fewer it is only offered.
_FEWEST_SURE, _FEWEST_TO_OFFER = 8, 2
_FEW = 0.75
_SAID = {
    "bed": "by their order in the bed",
    "walks": "by the order of your other walks",
    "day book": "by the order of the day book",
}
# A tag in the background: of how many places along the bed it may be, and how much less often it
# is one from further away (across the path), or the plant's own (judgement, no source).
_BESIDE, _NOT_BESIDE, _ITS_OWN_BEHIND = 4, 0.2, 0.15
_SURELY = 0.98
_DOUBT = 120.0
_OTHER_ORDER_DISAGREES = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """The plants a photo may be of by its place, the likeliest first.

    ``few``: too few sure visits show that an order was followed that was entered, so that it is
    only offered.
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
    known = LikenessKnown(
        ((photo, group.sure) for one in every for group in one.groups for photo in group.photos),
        garden,
    )
    again = Again(every)
    expected = Expected(every, garden)
    walks = [(one.day, one.sure) for one in every] + _lifted_walks(garden)
    seen: dict[tuple[date, Shows], set[Holder]] = {}
    for one in every:
        if one.shows is not None:
            seen.setdefault((one.day, one.shows), set()).update(one.sure)
    found: dict[int, Placed] = {}
    beds = _Beds(garden, walks)
    habits = Habits.learnt(_steps(one, beds.on(one.day).places) for one in every if one.shows)
    alive: dict[date, list[Holder]] = {}
    for met in every:
        one = replace(met, groups=again.joined(met.groups, met.side))
        if one.shows is None or all(group.sure is not None for group in one.groups):
            continue
        bed = beds.on(one.day)
        orders = {"bed" if bed.entered else "walks": bed.places}
        if one.shows == "clump":
            listed = day_order(one.day, one.shows, garden)
            orders["day book"] = [Place(holder=holder) for holder in listed]
        behind = [_behind(group, bed.places, garden, settings) for group in one.groups]
        if one.day not in alive:
            alive[one.day] = _alive(one.day, garden)
        standing = alive[one.day]
        visits = [
            _visit(
                group,
                standing,
                verdicts,
                known,
                behind=neighbours,
                again=again.probability(before, group, one.side) if before else 0.0,
            )
            for before, group, neighbours in zip(
                (None, *one.groups), one.groups, behind, strict=False
            )
        ]
        laid = []
        for name, order in orders.items():
            places = {place.holder for place in order}
            if sum(holder in places for holder in one.sure) < _FEWEST_TO_OFFER:
                continue
            others = [holder for holder in standing if holder not in places]
            shown = expected.on(one.day, one.shows, order, others)
            walkers = Walkers(
                shown=shown,
                elsewhere={holder: shown[holder] for holder in others},
                seen_already=frozenset(seen[one.day, one.shows]),
                habits=habits,
            )
            laid.append((name, align(visits, order, walkers)))
        found |= _placed(one, laid, garden)
    return found


class _Beds:
    """How the plants stand in the bed, worked out once for each season."""

    def __init__(self, garden: Garden, walks: Sequence[Walk]) -> None:
        self._garden, self._walks = garden, walks
        self._of_season: dict[tuple[date, ...], Bed] = {}

    def on(self, day: date) -> Bed:
        """The bed of the season that a day is in."""
        planted = planting_days(day, self._garden)
        if planted not in self._of_season:
            self._of_season[planted] = bed_order(day, self._garden, self._walks)
        return self._of_season[planted]


def _steps(one: Round, bed: Sequence[Place]) -> Steps:
    """The steps of a round's sure visits along the bed, whichever way it went."""
    at = likeliest_places(bed)
    places = [at[holder] for holder in one.sure if holder in at]
    back = [-place for place in places]
    ahead = sum(here < there for here, there in pairwise(places))
    return Steps.between(places if 2 * ahead >= len(places) - 1 else back)


def _placed(one: Round, laid: list[tuple[str, Aligned]], garden: Garden) -> dict[int, Placed]:
    """The candidates by the order that the round's sure photos follow best."""
    laid.sort(key=lambda one: (one[0] == "walks", not one[1].followed, -one[1].log_fit))
    shown = any(each.followed for name, each in laid if name != "walks")
    few = len(one.sure) < _FEWEST_SURE or not shown
    found = {}
    for n, group in enumerate(one.groups):
        if group.sure is None and laid:
            candidates = _candidates(n, laid, garden, at_most=_FEW if few else _SURELY)
            if candidates:
                placed = Placed(candidates=candidates, few=few)
                found.update({photo.photo_id: placed for photo in group.photos})
    return found


def _lifted_walks(garden: Garden) -> list[Walk]:
    """The days' liftings in the order of their entries, which mostly go along the bed."""
    return [
        (
            day,
            [
                entry.holder
                for entry in entries
                if entry.kind is EventKind.LIFTED and entry.holder is not None
            ],
        )
        for day, entries in garden.events_by_day.items()
    ]


def _alive(day: date, garden: Garden) -> list[Holder]:
    """Who was there on a day, as far as the day book says."""
    noon = datetime.combine(day, time(12))
    found = []
    for holder in garden.holders:
        against = spoken_against(holder, shows=None, taken_at=noon, garden=garden)
        if against is None:
            found.append(holder)
    return found


def _candidates(
    n: int, laid: Sequence[tuple[str, Aligned]], garden: Garden, *, at_most: float
) -> tuple[Candidate, ...]:
    (name, best), others = laid[0], laid[1:]
    shares = dict(best.plants[n])
    for _, other in others:
        if other.followed:
            # Each order knows what the other doesn't: of what both list, the less sure one holds.
            less_sure = dict(other.plants[n])
            shares = {one: min(share, less_sure.get(one, share)) for one, share in shares.items()}
    for _, other in others:
        for holder, share in other.plants[n]:
            # The other order fills what the better one doesn't list.
            left = max(0.0, 1.0 - sum(shares.values()))
            shares.setdefault(holder, share * left)
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
                f"Between the photos before and after it, {_SAID[name]} and by what can be seen, "
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
    group: PhotoGroup, bed: Sequence[Place], garden: Garden, settings: MatchSettings
) -> dict[Holder, float]:
    """What tags in the background say: the plant stands beside theirs, and is rarely theirs."""
    fits: dict[Holder, float] = {}
    if group.sure is not None:
        return fits
    places = {place.holder: n for n, place in enumerate(bed) if place.share > 0.5}
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
    verdicts: Mapping[int, TagVerdict],
    known: LikenessKnown,
    *,
    behind: Mapping[Holder, float],
    again: float,
) -> Visit:
    if group.sure is not None:
        return Visit(sure=group.sure, again=again)
    fits: dict[Holder, float] = {}
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
