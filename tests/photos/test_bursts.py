"""Which photos are one burst: by camera, moment, what they show and how they look."""

from dataclasses import replace
from datetime import datetime, timedelta

import pytest

from photolog.photos.bursts import BurstShot, bursts
from photolog.terms import Subject

AT = datetime(2026, 5, 16, 14, 3, 22)


def shot(number, seconds=0.0, **more):
    whole = int(seconds)
    return BurstShot(
        **{
            "photo_id": number,
            "camera": 1,
            "taken_at": AT + timedelta(seconds=whole),
            "subsec": f"{seconds - whole:.2f}"[2:],
            "name": f"LF{number:06d}.JPG",
            "shows": Subject.CLUMP,
            "of": "11/",
            "likeness": 0xABCDEF,
        }
        | more
    )


def test_seconds_apart_and_alike():
    shots = [shot(3, 1.5), shot(1), shot(2, 0.4), shot(4, 60.0)]
    assert bursts(shots, {}) == {1: 1, 2: 1, 3: 1, 4: 4}


def test_a_long_burst_goes_on_from_shot_to_shot():
    assert set(bursts([shot(n, 8.0 * n) for n in range(1, 9)], {}).values()) == {1}


@pytest.mark.parametrize(
    "other",
    [
        {"camera": 2},
        {"camera": None},
        {"taken_at": None},
        {"taken_at": AT + timedelta(seconds=11)},
        {"of": "12/"},
        {"shows": Subject.BLOOM_FACE},
        {"likeness": 0xABCDEF ^ 0x1FF},
        {"likeness": None},
    ],
)
def test_what_is_no_burst(other):
    assert bursts([shot(1), replace(shot(2, 1.0), **other)], {}) == {1: 1, 2: 2}


def test_eight_bits_may_differ():
    assert bursts([shot(1), shot(2, 1.0, likeness=0xABCDEF ^ 0xFF)], {}) == {1: 1, 2: 1}


def test_photos_not_matched_yet_are_none():
    assert bursts([shot(n, n, of="") for n in (1, 2)], {}) == {1: 1, 2: 2}


def test_tag_shots_are_none():
    tags = [shot(n, n, shows=Subject.TAGS) for n in (1, 2)]
    assert bursts(tags, {}) == {1: 1, 2: 2}


def test_the_growers_word_goes_before():
    shots = [shot(1), shot(2, 1.0), shot(3, 2.0), shot(4, 600.0), shot(5, 601.0)]
    # 2 stands alone, 4 belongs to 3; 1 and 3 are still alike, 5 is left.
    assert bursts(shots, {2: 2, 3: 3, 4: 3}) == {1: 1, 2: 2, 3: 3, 4: 3, 5: 5}
    assert bursts(shots, {2: 2}) == {1: 1, 2: 2, 3: 1, 4: 4, 5: 4}
