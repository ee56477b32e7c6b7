"""Word cards among a camera's photos: for whom each speaks, and where nobody can say."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from photolog.photos.facts import MatchSettings
from photolog.photos.garden import DayFact, Garden, Holder, HolderFact, Holding
from photolog.photos.word_places import WordInView, read_words, words_in_view
from photolog.photos.words import ProposedWord, Told, propose_words
from photolog.terms import EventKind
from photolog.word_cards import words_named
from tests.photos.garden import NOON, PLANTING, Shoot, plant, tag

LABEL_LOST = "label lost"


def row_of(*numbers: int) -> Garden:
    """Plants in the ground, each with the tag of its own number."""
    return Garden(
        holdings=[Holding(tag=n, holder=plant(n), from_date=date(2025, 10, 1)) for n in numbers],
        holders={plant(n): HolderFact(name=f"No. {n}", since=date(2025, 10, 1)) for n in numbers},
        events=[DayFact(kind=EventKind.PLANTED_OUT, on=PLANTING, holder=plant(n)) for n in numbers],
    )


class Words:
    """Photos of one camera, and the cards in them."""

    def __init__(self) -> None:
        self.shoot = Shoot()
        self.words: dict[int, tuple[WordInView, ...]] = {}

    def card(self, words: str, *, after_s: float = 20.0, **facts: object) -> int:
        photo = self.shoot.wait(seconds=after_s).photo(has_word=True, **facts)
        self.words[photo] = tuple(
            WordInView(mark=card.mark, side_px=200.0) for card in words_named(words)
        )
        return photo

    def tagged(self, number: int, words: str = "lifted") -> int:
        return self.card(words, tags=(tag(number, side_px=200.0),))

    def proposed(self, garden: Garden, **given: object) -> list[ProposedWord]:
        read = read_words(self.shoot.photos, self.words, garden, MatchSettings())
        return propose_words(self.shoot.photos, read, garden, **given)  # type: ignore[arg-type]


def whose(found: list[ProposedWord], word: str) -> list[Holder | None]:
    return [one.holder for one in found if one.meant.word == word]


@pytest.mark.parametrize("numbers", [(21, 22, 24, 25), (25, 24, 22, 21)])
def test_a_lost_label_in_a_row_walked_up_or_down(numbers: tuple[int, ...]) -> None:
    day = Words()
    for number in numbers[:2]:
        day.tagged(number)
    day.card(LABEL_LOST)
    day.card("rotted")
    for number in numbers[2:]:
        day.tagged(number)
    found = day.proposed(row_of(*range(21, 26), 40))
    assert whose(found, LABEL_LOST) == [plant(23)]
    assert whose(found, "rotted") == [plant(23)]
    (one,) = (one for one in found if one.meant.word == LABEL_LOST)
    assert one.because == (
        f"It has no tag, but stands between {numbers[1]:04d} and {numbers[2]:04d}, where only 0023 "
        "(No. 23) was not photographed."
    )


@pytest.mark.parametrize(
    ("numbers", "at"),
    [
        ((21, 22, 25, 26), 2),  # two are missing between
        ((21, 22, 24), 2),  # only one after
        ((22, 21, 24, 25), 2),  # not in order before
        ((21, 22, 23, 24), 2),  # none is missing between
    ],
)
def test_a_lost_label_where_the_order_does_not_tell(numbers: tuple[int, ...], at: int) -> None:
    day = Words()
    for number in numbers[:at]:
        day.tagged(number)
    day.card(LABEL_LOST)
    for number in numbers[at:]:
        day.tagged(number)
    assert whose(day.proposed(row_of(*range(21, 28))), LABEL_LOST) == [None]


def test_a_plant_seen_by_another_camera_has_its_label() -> None:
    day, other = Words(), Shoot(camera=2)
    for number in (21, 22):
        day.tagged(number)
    day.card(LABEL_LOST)
    for number in (24, 25):
        day.tagged(number)
    other.tag_shot(23)
    photos = [*day.shoot.photos, *other.photos]
    row = row_of(*range(21, 26))
    found = propose_words(photos, read_words(photos, day.words, row, MatchSettings()), row)
    assert whose(found, LABEL_LOST) == [None]


def test_a_card_beside_a_clump_with_its_tag_pegged_and_one_after_it() -> None:
    day = Words()
    day.card("lifted", shows="clump", has_card=True, px_per_mm=3.0, tags=(tag(21, pegged=True),))
    day.card("eaten", after_s=6.0)
    found = day.proposed(row_of(21))
    assert [(one.meant.word, one.holder, one.because) for one in found] == [
        ("lifted", plant(21), ""),
        ("eaten", plant(21), "Shown directly after tag 0021."),
    ]


def test_half_a_tag_names_nobody_nor_does_the_card_after_it() -> None:
    day = Words()
    day.tagged(21)
    day.shoot.photo(tags=(tag(None, side_px=200.0),))
    day.card("rotted")
    (_, rotted) = day.proposed(row_of(21, 22))
    assert (rotted.holder, rotted.on) == (None, NOON.date())
    assert rotted.because.startswith("Only half of the tag could be read")


def test_no_date_and_nobody_is_named() -> None:
    day = Words()
    day.card("rotted", tags=(tag(21, side_px=200.0),), taken_at=None, date_problem="No date.")
    (one,) = day.proposed(row_of(21))
    assert (one.holder, one.on, one.at) == (None, None, None)
    assert one.because == "No date. Say when it was taken."


def test_a_photo_of_the_next_day_does_not_follow_on_the_last_of_this() -> None:
    day = Words()
    day.shoot.at = NOON + timedelta(hours=11, minutes=59, seconds=30)
    day.tagged(21, "lifted")
    day.card("rotted")
    assert day.shoot.photos[-1].taken_at == NOON + timedelta(hours=12, seconds=10)
    assert whose(day.proposed(row_of(21)), "rotted") == [None]


def test_put_right_the_second_shot_of_it_does_not_come_in_its_place() -> None:
    day = Words()
    first = day.tagged(21, "rotted")
    day.tagged(21, "rotted")
    mark = words_named("rotted")[0].mark
    garden = row_of(21, 22)
    told = {(first, mark): Told(meant=mark, holder=plant(22))}
    assert [one.holder for one in day.proposed(garden, told=told)] == [plant(22)]
    assert day.proposed(garden, turned_down={(first, mark)}) == []


def test_a_card_far_off_in_the_background_says_nothing() -> None:
    near = {"mark": 200, "side_px": 40.0}
    far = {"mark": 207, "side_px": 20.0}
    assert [one.mark for one in words_in_view([near, far], longest_px=1600)] == [200]
