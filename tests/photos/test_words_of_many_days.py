"""Many simulated days of word cards, with tags soiled or forgotten: none may speak for another."""

from __future__ import annotations

import random

import pytest

from photolog.photos import word_places
from photolog.photos.garden import Garden
from tests.photos.garden import plant, tag
from tests.photos.test_words import Words, row_of

DAYS = 100
WORK = ("lifted", "checked", "washed", "trimmed")
LOSSES = ("rotted", "eaten", "dried out")


def one_day(seed: int) -> tuple[int, int, int]:
    """How many cards were shown for forty plants, how many are ready, how many of those wrong.

    Of the tags 8 % can't be read and 2 % are forgotten; 3 % of the plants have lost theirs. Some
    growers show tag and card in one photo, some in two, some both ways; to the next plant they
    take 20 to 90 s, from card to card 4 to 15 s (all judgement, no source).
    """
    draw = random.Random(seed)
    numbers = range(101, 141)
    known = row_of(*numbers)
    day = Words()
    together = draw.choice((0.0, 0.6, 1.0))
    of_whom: dict[int, int] = {}
    for number in numbers:
        day.shoot.wait(seconds=draw.uniform(20.0, 90.0))
        soiled, forgotten, lost = draw.random() < 0.08, draw.random() < 0.02, draw.random() < 0.2
        words = [draw.choice(WORK), *([draw.choice(LOSSES)] if lost else [])]
        seen = () if soiled or forgotten else (tag(number, side_px=200.0),)
        if draw.random() < 0.03:
            of_whom[day.card(f"{words[0]}, label lost")] = number
        elif draw.random() < together:
            of_whom[day.card(", ".join(words), tags=seen, after_s=0.0)] = number
        else:
            if not forgotten:
                day.shoot.photo(tags=seen)
            for word in words:
                of_whom[day.card(word, after_s=draw.uniform(4.0, 15.0))] = number
    # Without a day book, so that nothing but the photos can tell.
    found = day.proposed(Garden(holdings=known.holdings, holders=known.holders, events=()))
    ready = [one for one in found if one.holder is not None and one.against is None]
    wrong = [one for one in ready if one.holder != plant(of_whom[one.photo_id])]
    return sum(len(words) for words in day.words.values()), len(ready), len(wrong)


def test_none_speaks_for_another_plant_and_most_need_no_look() -> None:
    shown, ready, wrong = (sum(day) for day in zip(*map(one_day, range(DAYS)), strict=True))
    assert wrong == 0
    assert ready >= 0.75 * shown


def test_the_days_are_hard_enough_to_find_a_wrong_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(word_places, "_AT_ONCE_S", 1000.0)
    assert sum(one_day(seed)[2] for seed in range(20)) > 10
