"""Clocks judged by what two cameras photographed at the same time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from scipy import stats

from photolog.photos.clock_nights import changes_between, comes_twice, never_comes
from photolog.photos.clock_offsets import median_interval
from photolog.photos.clock_proposals import ProposedClock, proposed_clocks
from photolog.photos.clock_shots import Shot
from photolog.photos.dates_doubted import doubted_blocks
from photolog.photos.facts import PhotoFacts
from photolog.terms import ClockReason

PHONE, CAMERA, THIRD = 1, 2, 3
Clock = Callable[[datetime], datetime]
MARCH = date(2026, 3, 10)


def auckland(moment: datetime) -> timedelta:
    ahead = ZoneInfo("Pacific/Auckland").utcoffset(moment)
    assert ahead is not None
    return ahead


def right(at: datetime) -> datetime:
    return at


def out_by(**amount: float) -> Clock:
    return lambda at: at + timedelta(**amount)


class Walks:
    """Rounds through the garden on which two people photograph the same tags, or only one does."""

    def __init__(self, seed: int, *, zoned: int | None = PHONE) -> None:
        self.zoned = zoned
        self.rng = np.random.default_rng(seed)
        self.shots: list[Shot] = []
        self.counters = {PHONE: 100, CAMERA: 5000, THIRD: 300}

    def shot(self, camera: int, at: datetime, clock: Clock, tag: int | None) -> None:
        self.counters[camera] += 1
        said = clock(at).replace(microsecond=0)
        name = f"{'XPT'[camera - 1]}{self.counters[camera]:04d}.JPG"
        self.shots.append(
            Shot(
                photo_id=len(self.shots) + 1,
                name=name,
                camera=camera,
                clock=said,
                at=said,
                zone_s=round(auckland(said).total_seconds()) if camera == self.zoned else None,
                tag=tag,
            )
        )

    def together(
        self,
        day: date,
        clocks: dict[int, Clock],
        *,
        tags: Sequence[int] = range(1, 26),
        hour: int = 14,
        missed: float = 0.2,
    ) -> None:
        """A round on which each camera photographs each tag, some missed, seconds apart."""
        at = datetime.combine(day, time(hour))
        for tag in tags:
            at += timedelta(seconds=20 + float(self.rng.exponential(40)))
            for camera, clock in clocks.items():
                if self.rng.random() >= missed:
                    later = timedelta(seconds=float(self.rng.uniform(0, 45)))
                    self.shot(camera, at + later, clock, tag)

    def alone(
        self, day: date, camera: int, clock: Clock, *, tags: Sequence[int], hour: int
    ) -> None:
        self.together(day, {camera: clock}, tags=tags, hour=hour, missed=0.1)

    def proposed(self, **given: object) -> list[ProposedClock]:
        blocks = doubted_blocks([_facts(shot) for shot in self.shots])
        return proposed_clocks(self.shots, blocks, zone=auckland, **given)


def _facts(shot: Shot) -> PhotoFacts:
    return PhotoFacts(
        photo_id=shot.photo_id,
        name=shot.name,
        taken_at=shot.at,
        camera=shot.camera,
        longest_px=4000,
        shows=None,
        has_card=False,
    )


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize(
    ("slow_min", "kind", "add_s"),
    [
        (47.0, ClockReason.OTHER_CAMERA, 2820),
        (-47.0, ClockReason.OTHER_CAMERA, -2820),
        (-420.0, ClockReason.ANOTHER_ZONE, -25_200),
        (330.0, ClockReason.ANOTHER_ZONE, 19_800),
    ],
)
def test_a_clock_that_is_out_is_proposed_with_its_amount(seed, slow_min, kind, add_s):
    walks = Walks(seed)
    clocks = {PHONE: right, CAMERA: out_by(minutes=-slow_min)}
    for n in range(3):
        walks.together(MARCH + timedelta(days=n), clocks)
    walks.alone(MARCH + timedelta(days=4), PHONE, right, tags=range(1, 26), hour=9)
    (one,) = walks.proposed()
    assert (one.camera, one.kind, one.since, one.until) == (CAMERA, kind, None, None)
    assert one.add_s == pytest.approx(add_s, abs=30)
    assert one.found.low_s <= one.found.add_s <= one.found.high_s
    assert one.found.high_s - one.found.low_s < 40
    assert one.found.n_days == 3
    assert 0.6 * one.found.n_tags <= one.found.n_agree <= one.found.n_tags
    assert one.found.cameras == (PHONE,)


@pytest.mark.parametrize("seed", range(8))
def test_clocks_that_agree_are_left_alone(seed):
    walks = Walks(seed)
    for n in range(4):
        walks.together(MARCH + timedelta(days=n), {PHONE: right, CAMERA: out_by(seconds=70)})
        walks.alone(MARCH + timedelta(days=n), CAMERA, out_by(seconds=70), tags=range(20), hour=9)
    assert walks.proposed() == []


@pytest.mark.parametrize("seed", range(30))
def test_rounds_at_other_times_propose_nothing(seed):
    """The same rows walked by one in the morning and by the other in the afternoon."""
    walks = Walks(seed)
    for n in range(5):
        day = MARCH + timedelta(days=2 * n)
        walks.alone(day, PHONE, right, tags=range(1, 31), hour=int(walks.rng.integers(8, 12)))
        walks.alone(day, CAMERA, right, tags=range(1, 31), hour=int(walks.rng.integers(13, 18)))
    assert walks.proposed() == []


@pytest.mark.parametrize("seed", range(5))
def test_a_clock_of_another_year_is_proposed_where_several_days_say_so(seed):
    walks = Walks(seed)
    clocks = {PHONE: right, CAMERA: out_by(days=-365)}
    for n in (0, 1, 5):
        walks.together(MARCH + timedelta(days=n), clocks)
    (one,) = walks.proposed()
    assert (one.camera, one.since, one.until) == (CAMERA, None, None)
    assert one.add_s == pytest.approx(365 * 86_400, abs=90)
    assert one.found.n_days == 3


@pytest.mark.parametrize("seed", range(30))
def test_two_who_are_never_out_on_one_day_propose_nothing(seed):
    walks = Walks(seed)
    for n in range(5):
        day = MARCH + timedelta(days=4 * n)
        walks.alone(day, PHONE, right, tags=range(1, 31), hour=int(walks.rng.integers(8, 18)))
        other = day + timedelta(days=2)
        walks.alone(other, CAMERA, right, tags=range(1, 31), hour=int(walks.rng.integers(8, 18)))
    assert walks.proposed() == []


def test_too_few_tags_say_nothing():
    walks = Walks(1)
    walks.together(MARCH, {PHONE: right, CAMERA: out_by(minutes=-47)}, tags=range(1, 5), missed=0.0)
    assert walks.proposed() == []


def test_the_camera_that_differs_from_two_others_is_wrong():
    walks = Walks(3, zoned=None)
    clocks = {PHONE: out_by(minutes=-47), CAMERA: right, THIRD: right}
    walks.together(MARCH, clocks)
    walks.together(MARCH + timedelta(days=2), clocks)
    for n in range(20):
        walks.alone(MARCH + timedelta(days=9 + n), PHONE, right, tags=range(3), hour=11)
    proposed = walks.proposed()
    assert {one.camera for one in proposed} == {PHONE}


def test_a_phone_with_zones_is_believed_before_a_camera_with_more_photos():
    walks = Walks(4, zoned=None)
    walks.together(MARCH, {PHONE: right, CAMERA: out_by(minutes=-47)})
    for n in range(20):
        tags = range(100, 103)
        walks.alone(MARCH + timedelta(days=9 + n), CAMERA, right, tags=tags, hour=11)
    (one,) = walks.proposed()
    assert (one.camera, one.either) == (PHONE, True)
    walks.shots = [
        replace(shot, zone_s=46_800 if shot.camera == PHONE else None) for shot in walks.shots
    ]
    (one,) = walks.proposed()
    assert (one.camera, one.either) == (CAMERA, False)


def test_one_put_right_by_the_grower_is_believed_before_others():
    walks = Walks(4, zoned=None)
    walks.together(MARCH, {PHONE: right, CAMERA: out_by(minutes=-47)})
    walks.alone(MARCH + timedelta(days=1), PHONE, right, tags=range(100, 110), hour=9)
    assert {one.camera for one in walks.proposed()} == {CAMERA}
    assert {one.camera for one in walks.proposed(learnt=[CAMERA])} == {PHONE}


def unchanged(at: datetime) -> datetime:
    """A camera set in summer and never changed: an hour ahead after 5 April 2026, 3:00."""
    return at + timedelta(hours=1) if at >= datetime(2026, 4, 5, 3) else at


@pytest.mark.parametrize("seed", range(5))
def test_a_camera_that_does_not_change_to_winter_time(seed):
    walks = Walks(seed)
    for day in (date(2026, 3, 20), date(2026, 3, 28), date(2026, 4, 8), date(2026, 4, 20)):
        walks.together(day, {PHONE: right, CAMERA: unchanged})
    (one,) = walks.proposed()
    assert (one.camera, one.kind, one.add_s) == (CAMERA, ClockReason.SUMMER_TIME, -3600)
    # Published: New Zealand's summer time ended on 5 April 2026 at 3:00, the first Sunday.
    assert (one.since, one.until) == (datetime(2026, 4, 5, 3), None)


def test_a_camera_an_hour_out_in_winter_only_is_right_again_afterwards():
    walks = Walks(11)

    def in_winter(at: datetime) -> datetime:
        return unchanged(at) if at < datetime(2026, 9, 27, 2) else at

    for day in (date(2026, 3, 20), date(2026, 5, 1), date(2026, 6, 1), date(2026, 11, 20)):
        walks.together(day, {PHONE: right, CAMERA: in_winter})
    (one,) = walks.proposed()
    assert (one.kind, one.add_s) == (ClockReason.SUMMER_TIME, -3600)
    assert (one.since, one.until) == (datetime(2026, 4, 5, 3), datetime(2026, 9, 27, 2))


def test_without_a_change_of_clocks_between_it_began_on_the_first_day_that_shows_it():
    walks = Walks(6)

    def set_wrong(at: datetime) -> datetime:
        return at - timedelta(minutes=20) if at >= datetime(2026, 3, 15) else at

    for day in (date(2026, 3, 10), date(2026, 3, 12), date(2026, 3, 18), date(2026, 3, 25)):
        walks.together(day, {PHONE: right, CAMERA: set_wrong})
    (one,) = walks.proposed()
    assert (one.kind, one.since) == (ClockReason.OTHER_CAMERA, datetime(2026, 3, 18))
    assert one.add_s == pytest.approx(1200, abs=30)


def first_day(began: datetime, shown: datetime) -> Clock:
    return lambda at: shown + (at - began)


def fallen_between(seed: int) -> tuple[Walks, list[ProposedClock], float]:
    """Three days together, the camera back on its first day on the second; what that is out by."""
    walks = Walks(seed)
    fell = datetime(2026, 3, 14, 13, 50)
    fallen = first_day(fell, datetime(2020, 1, 1))
    walks.together(MARCH, {PHONE: right, CAMERA: right})
    walks.together(date(2026, 3, 14), {PHONE: right, CAMERA: fallen})
    walks.together(date(2026, 3, 20), {PHONE: right, CAMERA: right})
    return walks, walks.proposed(), (fell - datetime(2020, 1, 1)).total_seconds()


def test_a_clock_that_fell_back_is_put_right_by_another_camera():
    walks, (one,), true_s = fallen_between(4)
    assert (one.camera, one.kind) == (CAMERA, ClockReason.FIRST_DAY)
    assert one.add_s == pytest.approx(true_s, abs=30)
    assert (one.since, one.until) == (datetime(2020, 1, 1), datetime(2020, 1, 2))
    names = [shot.name for shot in walks.shots if shot.clock.year == 2020]
    assert all(name in one.span for name in names)
    assert sum(shot.name in one.span for shot in walks.shots) == len(names)


def test_where_other_days_look_alike_nothing_is_proposed_rather_than_wrong():
    outcomes = []
    for seed in range(40):
        _, proposed, true_s = fallen_between(seed)
        outcomes.append([abs(one.add_s - true_s) < 45 for one in proposed])
    assert [False] not in outcomes
    assert outcomes.count([True]) >= 34


def test_what_a_correction_adds_already_is_counted_in():
    walks = Walks(2)
    for n in range(3):
        walks.together(MARCH + timedelta(days=n), {PHONE: right, CAMERA: out_by(minutes=-47)})
    walks.shots = [
        replace(shot, at=shot.clock + timedelta(minutes=20), correction=7)
        if shot.camera == CAMERA
        else shot
        for shot in walks.shots
    ]
    (one,) = walks.proposed(added_s={7: 1200})
    assert one.add_s == pytest.approx(2820, abs=30)
    assert one.found.add_s == pytest.approx(1620, abs=30)


@pytest.mark.parametrize("n", [6, 7, 10, 15, 40, 101, 500])
def test_the_interval_of_a_median_is_scipys(n):
    values = np.random.default_rng(n).normal(size=n)
    # scipy.stats.quantile_test inverts the binomial test of a median one side at a time.
    ours = median_interval(list(values))
    low = stats.quantile_test(values, p=0.5, alternative="greater").confidence_interval(0.975).low
    high = stats.quantile_test(values, p=0.5, alternative="less").confidence_interval(0.975).high
    assert ours == (low, high)


def test_the_interval_of_very_many_is_within_a_rank_of_scipys():
    values = np.sort(np.random.default_rng(1).normal(size=5000))
    low, high = median_interval(list(values))
    exact = [
        stats.quantile_test(values, p=0.5, alternative="greater").confidence_interval(0.975).low,
        stats.quantile_test(values, p=0.5, alternative="less").confidence_interval(0.975).high,
    ]
    ranks = np.searchsorted(values, [low, high, *exact])
    assert abs(ranks[0] - ranks[2]) <= 1
    assert abs(ranks[1] - ranks[3]) <= 1


def test_the_interval_of_few_is_from_least_to_most():
    assert median_interval([3.0, 1.0, 2.0]) == (1.0, 3.0)


def test_nights_of_changed_clocks():
    # Published rule of New Zealand: forward on the last Sunday of September at 2:00, back on the
    # first Sunday of April at 3:00 (Daylight Time Order 2007).
    changes = changes_between(datetime(2025, 6, 1), datetime(2026, 12, 1), auckland)
    assert changes == [
        (datetime(2025, 9, 28, 2), 3600),
        (datetime(2026, 4, 5, 3), -3600),
        (datetime(2026, 9, 27, 2), 3600),
    ]
    assert comes_twice(datetime(2026, 4, 5, 2, 30), auckland)
    assert not comes_twice(datetime(2026, 4, 5, 3, 30), auckland)
    assert never_comes(datetime(2025, 9, 28, 2, 30), auckland)
    assert not never_comes(datetime(2025, 9, 28, 3, 0), auckland)
