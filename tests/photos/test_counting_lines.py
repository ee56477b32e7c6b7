"""Two phones of one model that write no serial number, told by their counting."""

from __future__ import annotations

from datetime import datetime, timedelta

import numpy as np
import pytest

from photolog.photos.counting_lines import counting_lines
from photolog.photos.counting_rounds import Numbered
from photolog.photos.dates_doubted import doubted_dates
from photolog.photos.facts import PhotoFacts
from photolog.photos.file_numbers import FileNumber

JUNE = datetime(2026, 6, 1, 10)
CYCLE = 9999


def numbered(count: int, at: datetime) -> Numbered:
    number = FileNumber(counted_as="LF", number=(count - 1) % CYCLE + 1, digits=4)
    return number, at


def season(rng: np.random.Generator, starts: list[int], *, days: int = 12) -> list[list[Numbered]]:
    """Each phone's photos over some days, now one out in the garden, now the other, now both."""
    counts = list(starts)
    phones: list[list[Numbered]] = [[] for _ in starts]
    for day in range(days):
        for phone in range(len(starts)):
            if rng.random() < 0.3:
                continue
            at = JUNE + timedelta(days=3 * day, minutes=float(rng.uniform(0, 90)))
            for _ in range(int(rng.integers(3, 25))):
                counts[phone] += 1 + int(rng.random() < 0.05)
                at += timedelta(seconds=float(rng.exponential(40)))
                phones[phone].append(numbered(counts[phone], at))
            counts[phone] += int(rng.integers(0, 60))
    return phones


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("starts", [[394, 5120], [9700, 4000], [120, 3500, 7800]])
def test_phones_that_take_turns_are_told_apart(seed, starts):
    rng = np.random.default_rng(seed)
    phones = season(rng, starts)
    shots = [(shot, nth) for nth, phone in enumerate(phones) for shot in phone]
    order = rng.permutation(len(shots))
    shots = [shots[at] for at in order]
    lines = counting_lines([shot for shot, _ in shots])
    pairs = {(line, nth) for line, (_, nth) in zip(lines, shots, strict=True)}
    assert len(pairs) == len(starts)


@pytest.mark.parametrize("seed", range(20))
def test_one_phone_is_one_line_also_past_9999(seed):
    rng = np.random.default_rng(seed)
    (phone,) = season(rng, [9700], days=30)
    assert set(counting_lines(phone)) == {0}


def test_a_clock_that_fell_back_twice_is_no_second_phone():
    (phone,) = season(np.random.default_rng(2), [394], days=30)
    days = sorted({at.date() for _, at in phone})
    fallen = {day: datetime(2020, 1, 1, 0, n) for n, day in enumerate(days[5:25:2])}
    said = [
        (number, fallen[at.date()] + (at - datetime.combine(at.date(), JUNE.time())))
        if at.date() in fallen
        else (number, at)
        for number, at in phone
    ]
    assert set(counting_lines(said)) == {0}


def test_edited_copies_are_no_second_phone():
    (phone,) = season(np.random.default_rng(3), [394], days=20)
    assert set(counting_lines([*phone, *phone[::7]])) == {0}


def test_dates_of_two_phones_do_not_speak_against_each_other():
    phones = season(np.random.default_rng(4), [394, 5120])
    photos = [
        PhotoFacts(
            photo_id=n,
            name=f"LF{number.number:04d}.JPG",
            taken_at=at,
            camera=1,
            longest_px=4000,
            shows=None,
            has_card=False,
        )
        for n, (number, at) in enumerate([*phones[0], *phones[1]], 1)
    ]
    assert doubted_dates(photos) == {}
