"""The seasons of one plant, told from what happened to it and never from the month.

Pure: what happened goes in, seasons come out. A season runs from planting out to lifting and is
named by the year of its planting out, on both sides of the equator: planted on 8 November 2025 and
lifted on 16 May 2026 is season 2025; planted on 20 May 2026 and lifted on 3 November is 2026. The
clump in store still belongs to the season just ended, until it is planted out again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, time, timedelta
from enum import StrEnum

from photolog.terms import ClumpStage, EventKind

__all__ = [
    "ENDS",
    "TURNS",
    "Happening",
    "PlantState",
    "Season",
    "clump_stage_on",
    "ended",
    "in_order",
    "season_of",
    "season_on",
    "seasons_of",
    "state_on",
]

ENDS = frozenset(
    {
        EventKind.LOST,
        EventKind.ROGUED,
        EventKind.DISCARDED,
        EventKind.GIVEN_AWAY,
        EventKind.DIVIDED,
    }
)
"""What ends a plant, or a batch when it happens to the whole of it."""

_OPENS = frozenset({EventKind.PLANTED_OUT, EventKind.STAYED})

TURNS = _OPENS | ENDS | {EventKind.LIFTED}
"""All that seasons and ends are told from; whoever asks for nothing else may leave out the rest."""

_STAGES = {
    EventKind.LIFTED: ClumpStage.AS_LIFTED,
    EventKind.WASHED: ClumpStage.WASHED,
    EventKind.TRIMMED: ClumpStage.TRIMMED,
    EventKind.DRIED: ClumpStage.DRIED,
}

# Both spans are our judgement. A plant lifted and planted again within a month was moved; store
# lasts longer everywhere. One planted again after half a year was in store, though nobody entered
# its lifting: no season runs that long between being planted out and being moved.
_MOVED_WITHIN = timedelta(days=30)
_NOT_MOVED_AFTER = timedelta(days=180)


@dataclass(frozen=True, slots=True, kw_only=True)
class Happening:
    """One thing that happened to a plant or a batch; ``part``: to a part of a batch only."""

    kind: EventKind
    on: date
    at: time | None = None
    part: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One season of a plant: ``lifted_on`` None while it is in the ground, or nobody said."""

    year: int
    planted_on: date
    lifted_on: date | None


class PlantState(StrEnum):
    """Where a plant is on a day."""

    NOT_PLANTED = "not planted out yet"
    IN_THE_GROUND = "in the ground"
    LIFTED = "lifted"
    GONE = "gone"


def in_order(happenings: Iterable[Happening]) -> list[Happening]:
    """By day, and within a day by time; without a time, in the order entered, after the timed."""
    return sorted(happenings, key=lambda one: (one.on, one.at or time.max))


def seasons_of(happenings: Iterable[Happening]) -> tuple[Season, ...]:
    """Every season of a plant, oldest first.

    Planted out, or stayed in the ground, opens a season; lifted closes it. Planted out again
    without a lifting, or within 30 days of one, is a move within the season, unless half a year
    has gone by since it began.
    """
    seasons: list[Season] = []
    for one in in_order(happenings):
        now = seasons[-1] if seasons else None
        if one.kind in _OPENS:
            if now is not None and one.kind is EventKind.PLANTED_OUT and _is_move(now, one.on):
                seasons[-1] = Season(year=now.year, planted_on=now.planted_on, lifted_on=None)
            else:
                seasons.append(Season(year=one.on.year, planted_on=one.on, lifted_on=None))
        elif one.kind is EventKind.LIFTED and not one.part and now is not None:
            # Entered twice, the first lifting is the one.
            lifted_on = now.lifted_on or one.on
            seasons[-1] = Season(year=now.year, planted_on=now.planted_on, lifted_on=lifted_on)
    return tuple(seasons)


def season_of(happenings: Iterable[Happening], on: date, *, clump: bool = False) -> int | None:
    """Name of the season that a day belongs to; None before the plant was first planted out.

    ``clump``: what is asked about is a lifted clump, so on the day of planting out it still
    belongs to the season before.
    """
    return season_on(seasons_of(happenings), on, clump=clump)


def season_on(seasons: Iterable[Season], on: date, *, clump: bool = False) -> int | None:
    """Do what ``season_of`` does, for seasons that are known already, oldest first."""
    year: int | None = None
    for season in seasons:
        if season.planted_on < on or (season.planted_on == on and not clump):
            year = season.year
    return year


def ended(happenings: Iterable[Happening]) -> Happening | None:
    """What ended the plant, or None; planted out after that, it has not ended after all."""
    end: Happening | None = None
    for one in in_order(happenings):
        if one.kind in ENDS and not one.part:
            end = end or one
        elif one.kind in _OPENS:
            end = None
    return end


def state_on(happenings: Iterable[Happening], on: date) -> PlantState:
    """Where the plant is at the end of a day."""
    so_far = [one for one in happenings if one.on <= on]
    if ended(so_far) is not None:
        return PlantState.GONE
    seasons = seasons_of(so_far)
    if not seasons:
        return PlantState.NOT_PLANTED
    return PlantState.IN_THE_GROUND if seasons[-1].lifted_on is None else PlantState.LIFTED


def clump_stage_on(
    happenings: Iterable[Happening], on: date, at: time | None = None
) -> ClumpStage | None:
    """What had been done to the clump by then, as far as the day book says; None: not lifted.

    An entry of the same day counts when it has no time or an earlier one: it is entered in the
    evening, and the photo may have been taken before. Where that matters the grower says it.
    """
    stage: ClumpStage | None = None
    for one in in_order(happenings):
        if one.on > on or (one.on == on and at is not None and one.at is not None and one.at > at):
            continue
        if one.kind in _OPENS:
            stage = None
        elif one.kind in _STAGES:
            stage = _STAGES[one.kind]
    return stage


def _is_move(now: Season, on: date) -> bool:
    if on - now.planted_on > _NOT_MOVED_AFTER:
        return False
    return now.lifted_on is None or on - now.lifted_on <= _MOVED_WITHIN
