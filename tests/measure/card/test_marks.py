"""How marks are shared out, and what the check letter catches."""

from __future__ import annotations

import cv2
import pytest

from measure.card.marks import (
    BOX_LEFT,
    BOX_NUMBERS,
    CARD_MARKS,
    TAG_LEFT,
    TAG_NUMBERS,
    TAG_RIGHT,
    WORD_MARKS,
    box_of_marks,
    check_letter,
    marks_of_box,
    marks_of_tag,
    tag_of_marks,
)

ALL_NUMBERS = range(10_000)


def test_no_mark_is_given_out_twice_and_all_exist():
    shares = [TAG_LEFT, TAG_RIGHT, WORD_MARKS, BOX_LEFT, CARD_MARKS]
    given = [mark for share in shares for mark in share]
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36H11)

    assert len(given) == len(set(given))
    assert min(given) >= 0
    assert max(given) < family.bytesList.shape[0] == 587
    # Asked for: at least 5,000 tags, about 50 word cards, room for later cards.
    assert len(TAG_NUMBERS) >= 5000
    assert len(WORD_MARKS) >= 50


def test_every_tag_has_marks_of_its_own():
    pairs = {marks_of_tag(number) for number in TAG_NUMBERS}

    assert len(pairs) == len(TAG_NUMBERS)
    assert all(tag_of_marks(*marks_of_tag(number)) == number for number in TAG_NUMBERS)


def test_every_box_has_marks_of_its_own_and_none_of_a_tags_pairs():
    pairs = {marks_of_box(number) for number in BOX_NUMBERS}

    assert len(pairs) == len(BOX_NUMBERS) == 399
    assert all(box_of_marks(*marks_of_box(number)) == number for number in BOX_NUMBERS)
    assert not pairs & {marks_of_tag(number) for number in TAG_NUMBERS}
    assert marks_of_box(203) == (262, 103)


@pytest.mark.parametrize("number", [0, 400])
def test_boxes_outside_the_range_are_refused(number: int):
    with pytest.raises(ValueError, match=f"boxes are numbered 1 to 399, got {number}"):
        marks_of_box(number)


def test_two_marks_that_are_no_box_are_refused():
    with pytest.raises(ValueError, match="marks 4 and 123 are not the two halves of a box's tag"):
        box_of_marks(4, 123)


def test_the_figures_can_be_seen_in_the_marks():
    assert marks_of_tag(423) == (4, 123)
    assert tag_of_marks(4, 123) == 423


def test_halves_the_wrong_way_round_are_no_tag():
    with pytest.raises(ValueError, match="marks 123 and 4 are not the two halves of a tag"):
        tag_of_marks(123, 4)


@pytest.mark.parametrize("number", [0, -1, 10_000])
def test_numbers_outside_the_range_are_refused(number: int):
    with pytest.raises(ValueError, match=f"tags are numbered 1 to 9999, got {number}"):
        marks_of_tag(number)


def test_check_letter_catches_every_single_wrong_figure():
    letters = {number: check_letter(number) for number in ALL_NUMBERS}
    missed = [
        (number, wrong)
        for number in ALL_NUMBERS
        for place in (1, 10, 100, 1000)
        for figure in range(10)
        if (wrong := number + (figure - number // place % 10) * place) != number
        and letters[wrong] == letters[number]
    ]

    assert missed == []


def test_check_letter_catches_every_swap_of_neighbours():
    missed = []
    for number in ALL_NUMBERS:
        digits = f"{number:04d}"
        for i in range(3):
            swapped = digits[:i] + digits[i + 1] + digits[i] + digits[i + 2 :]
            if swapped != digits and check_letter(int(swapped)) == check_letter(number):
                missed.append((digits, swapped))

    assert missed == []


def test_check_letters_leave_out_those_that_look_like_figures():
    assert {check_letter(number) for number in ALL_NUMBERS}.isdisjoint("IOSZ")


def test_a_check_that_did_not_weight_its_figures_would_be_found_out():
    """The tests above can fail: a plain sum of figures misses every swap."""
    plain = {number: sum(map(int, f"{number:04d}")) % 19 for number in ALL_NUMBERS}

    assert plain[1234] == plain[1243]
    assert check_letter(1234) != check_letter(1243)
