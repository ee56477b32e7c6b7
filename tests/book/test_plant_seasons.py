"""Seasons from events alone, on both sides of the equator; laws first, then the odd cases.

How the trade counts a season (from planting out to lifting, by the year of planting) is common
practice, no source; the dates are invented.
"""

from __future__ import annotations

from datetime import date, time, timedelta

import pytest

from photolog.book.plant_seasons import (
    ENDS,
    Happening,
    PlantState,
    clump_stage_on,
    ended,
    season_of,
    seasons_of,
    state_on,
)
from photolog.terms import ClumpStage, EventKind


def h(kind: str, on: str, *, at: str | None = None, part: bool = False) -> Happening:
    return Happening(
        kind=EventKind(kind),
        on=date.fromisoformat(on),
        at=None if at is None else time.fromisoformat(at),
        part=part,
    )


SOUTH = (
    h("planted out", "2024-11-02"),
    h("first frost", "2025-05-09"),
    h("cut down", "2025-05-15"),
    h("lifted", "2025-05-17"),
    h("stored", "2025-05-20"),
    h("planted out", "2025-11-08"),
    h("lifted", "2026-05-16"),
)
NORTH = (
    h("planted out", "2025-05-20"),
    h("lifted", "2025-11-03"),
    h("planted out", "2026-05-22"),
    h("lifted", "2026-11-05"),
)


@pytest.mark.parametrize("order", [1, -1])
def test_a_southern_season_runs_over_new_year_and_keeps_its_name(order: int) -> None:
    first, second = seasons_of(SOUTH[::order])
    assert (first.year, first.planted_on, first.lifted_on) == (
        2024,
        date(2024, 11, 2),
        date(2025, 5, 17),
    )
    assert (second.year, second.lifted_on) == (2025, date(2026, 5, 16))


@pytest.mark.parametrize(
    ("day", "season"),
    [
        ("2024-11-01", None),
        ("2024-11-02", 2024),
        ("2024-12-31", 2024),
        ("2025-02-14", 2024),
        ("2025-05-18", 2024),  # lifted the day before, in store
        ("2025-11-07", 2024),  # the clump out of store
        ("2025-11-08", 2025),
        ("2026-02-14", 2025),
        ("2026-09-01", 2025),
    ],
)
def test_southern_days(day: str, season: int | None) -> None:
    assert season_of(SOUTH, date.fromisoformat(day)) == season


@pytest.mark.parametrize(
    ("day", "season"),
    [
        ("2025-05-19", None),
        ("2025-08-01", 2025),
        ("2026-01-15", 2025),  # in store over New Year
        ("2026-05-21", 2025),
        ("2026-05-22", 2026),
        ("2027-01-01", 2026),
    ],
)
def test_northern_days(day: str, season: int | None) -> None:
    assert season_of(NORTH, date.fromisoformat(day)) == season


def test_a_clump_on_the_day_of_planting_out_is_of_the_season_before() -> None:
    assert season_of(SOUTH, date(2025, 11, 8), clump=True) == 2024
    assert season_of(SOUTH, date(2025, 11, 9), clump=True) == 2025
    assert season_of(SOUTH, date(2024, 11, 2), clump=True) is None


@pytest.mark.parametrize("days", [-300, -37, 5, 200, 365])
def test_moving_a_whole_life_by_days_moves_its_seasons_with_it(days: int) -> None:
    by = timedelta(days=days)
    moved = [Happening(kind=one.kind, on=one.on + by) for one in SOUTH]
    for was, now in zip(seasons_of(SOUTH), seasons_of(moved), strict=True):
        assert now.planted_on == was.planted_on + by
        assert now.year == now.planted_on.year


def test_a_plant_moved_in_summer_stays_in_its_season() -> None:
    moved = (
        h("planted out", "2024-11-02"),
        h("lifted", "2025-01-10"),
        h("planted out", "2025-01-12"),
        h("lifted", "2025-05-17"),
    )
    (only,) = seasons_of(moved)
    assert (only.year, only.lifted_on) == (2024, date(2025, 5, 17))
    assert season_of(moved, date(2025, 2, 1)) == 2024


@pytest.mark.parametrize(
    ("lifted", "again", "seasons"),
    [
        ("2025-12-20", "2026-01-19", [2025]),  # 30 days after the lifting: moved
        ("2025-12-20", "2026-01-20", [2025, 2026]),  # 31 days: it was in store
        ("2026-02-20", "2026-02-28", [2025]),  # 180 days after planting out
        ("2026-02-20", "2026-03-01", [2025, 2026]),  # 181 days
    ],
)
def test_where_a_move_ends_and_a_new_season_begins(
    lifted: str, again: str, seasons: list[int]
) -> None:
    life = (h("planted out", "2025-09-01"), h("lifted", lifted), h("planted out", again))
    assert [one.year for one in seasons_of(life)] == seasons


def test_planted_out_entered_twice_is_one_season() -> None:
    twice = (h("planted out", "2025-11-08"), h("planted out", "2026-01-03"))
    (only,) = seasons_of(twice)
    assert (only.year, only.planted_on) == (2025, date(2025, 11, 8))


def test_a_lifting_that_nobody_entered_does_not_join_two_seasons() -> None:
    forgotten = (h("planted out", "2024-11-02"), h("planted out", "2025-11-08"))
    assert [one.year for one in seasons_of(forgotten)] == [2024, 2025]


def test_what_stays_in_the_ground_begins_a_season_by_saying_so() -> None:
    stayed = (h("planted out", "2024-11-02"), h("stayed in the ground", "2025-10-01"))
    assert [one.year for one in seasons_of(stayed)] == [2024, 2025]


def test_a_part_lifted_closes_nothing() -> None:
    (only,) = seasons_of((h("planted out", "2025-11-08"), h("lifted", "2026-05-01", part=True)))
    assert only.lifted_on is None


def test_lifted_twice_the_first_counts() -> None:
    (only,) = seasons_of(
        (
            h("planted out", "2025-11-08"),
            h("lifted", "2026-05-16"),
            h("lifted", "2026-05-18"),
        )
    )
    assert only.lifted_on == date(2026, 5, 16)


def test_a_lifting_before_any_planting_is_no_season() -> None:
    assert seasons_of((h("lifted", "2025-05-17"),)) == ()


def test_nothing_happened_no_season() -> None:
    assert season_of((), date(2025, 1, 1)) is None
    assert state_on((), date(2025, 1, 1)) is PlantState.NOT_PLANTED


@pytest.mark.parametrize("kind", sorted(ENDS))
def test_what_ends_a_plant(kind: EventKind) -> None:
    life = (*SOUTH, h(kind.value, "2026-07-01"))
    end = ended(life)
    assert end is not None
    assert end.kind is kind
    assert state_on(life, date(2026, 6, 30)) is PlantState.LIFTED
    assert state_on(life, date(2026, 7, 1)) is PlantState.GONE
    assert ended((*SOUTH, h(kind.value, "2026-07-01", part=True))) is None


def test_planted_out_after_its_end_it_has_not_ended() -> None:
    assert ended((*SOUTH[:4], h("lost", "2025-08-01"), h("planted out", "2025-11-08"))) is None


@pytest.mark.parametrize(
    ("day", "state"),
    [
        ("2024-11-01", PlantState.NOT_PLANTED),
        ("2024-11-02", PlantState.IN_THE_GROUND),
        ("2025-05-17", PlantState.LIFTED),
        ("2025-11-08", PlantState.IN_THE_GROUND),
        ("2026-12-01", PlantState.LIFTED),
    ],
)
def test_where_a_plant_is(day: str, state: PlantState) -> None:
    assert state_on(SOUTH, date.fromisoformat(day)) is state


@pytest.mark.parametrize(
    ("day", "at", "stage"),
    [
        ("2025-05-16", None, None),
        ("2025-05-17", None, ClumpStage.AS_LIFTED),
        ("2025-05-18", "10:00", ClumpStage.AS_LIFTED),
        ("2025-05-18", "16:00", ClumpStage.WASHED),
        ("2025-05-18", None, ClumpStage.WASHED),
        ("2025-05-20", "08:00", ClumpStage.TRIMMED),
        ("2025-06-01", None, ClumpStage.DRIED),
        ("2025-11-08", None, None),
    ],
)
def test_the_stage_of_a_clump_by_the_day_book(
    day: str, at: str | None, stage: ClumpStage | None
) -> None:
    worked = (
        h("planted out", "2024-11-02"),
        h("lifted", "2025-05-17"),
        h("washed", "2025-05-18", at="14:00"),
        h("trimmed", "2025-05-20"),
        h("dried", "2025-05-24"),
        h("planted out", "2025-11-08"),
    )
    time_of_day = None if at is None else time.fromisoformat(at)
    assert clump_stage_on(worked, date.fromisoformat(day), time_of_day) == stage
