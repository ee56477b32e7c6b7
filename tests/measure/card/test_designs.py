"""The cards' layouts: nothing lies outside a card, nothing on its board, no mark twice."""

from __future__ import annotations

import dataclasses
from itertools import combinations

import pytest

from measure.card.designs import (
    DESIGNS,
    GREY_STEPS,
    CardDesign,
    Rect,
    design_named,
    design_of_mark,
)
from measure.card.marks import CARD_MARKS


@pytest.fixture(params=DESIGNS, ids=lambda design: design.name)
def design(request: pytest.FixtureRequest) -> CardDesign:
    found: CardDesign = request.param
    return found


def board(design: CardDesign) -> Rect:
    return Rect(
        left=design.board_left_mm,
        top=design.board_top_mm,
        width=design.squares_x * design.square_mm,
        height=design.squares_y * design.square_mm,
    )


def parts(design: CardDesign) -> dict[str, Rect]:
    """Everything with a place on the card; bars with their ticks of 2 mm."""
    found = {
        "board": board(design),
        "tag area": design.tag_area,
        "greys": design.greys,
        "bar across": Rect(
            left=design.bar_across[0], top=design.bar_across[1] - 2.0, width=100.0, height=2.6
        ),
        "bar along": Rect(
            left=design.bar_along[0] - 2.0, top=design.bar_along[1], width=2.6, height=100.0
        ),
    }
    if design.slot is not None:
        found["slot"] = design.slot
    for i, (x, y) in enumerate(design.cane_holes):
        size = design.cane_hole_mm
        found[f"cane hole {i}"] = Rect(left=x - size / 2, top=y - size / 2, width=size, height=size)
    return found


def overlap(a: Rect, b: Rect) -> bool:
    return (
        a.left < b.left + b.width
        and b.left < a.left + a.width
        and a.top < b.top + b.height
        and b.top < a.top + a.height
    )


def test_every_part_lies_inside_the_card(design: CardDesign):
    outside = [
        name
        for name, part in parts(design).items()
        if part.left < 0
        or part.top < 0
        or part.left + part.width > design.width_mm
        or part.top + part.height > design.height_mm
    ]

    assert outside == []


def test_no_two_parts_overlap(design: CardDesign):
    clashes = [
        (a, b)
        for (a, one), (b, other) in combinations(parts(design).items(), 2)
        if overlap(one, other)
    ]

    assert clashes == []


def test_backdrop_leaves_the_board_white_round_its_marks():
    design = design_named("bloom-1")
    assert design.backdrop is not None

    assert not overlap(design.backdrop, board(design))
    assert not overlap(design.backdrop, design.tag_area)
    assert design.subject_at is not None


def test_marks_keep_a_module_of_white_round_them(design: CardDesign):
    # AprilTag's detector wants a white border of at least one module (a mark has eight a side).
    assert (design.square_mm - design.mark_mm) / 2 >= design.mark_mm / 8


def test_boards_share_no_mark():
    for a, b in combinations(DESIGNS, 2):
        assert set(a.marks).isdisjoint(b.marks)
    for design in DESIGNS:
        assert all(mark in CARD_MARKS for mark in design.marks)
        assert all(design_of_mark(mark) is design for mark in design.marks)


def test_room_is_left_for_later_cards():
    taken = sum(len(design.marks) for design in DESIGNS)

    assert len(CARD_MARKS) - taken >= 200


def test_a_tied_tag_fits_the_tag_area(design: CardDesign):
    # A tied tag's face is 62 by 33.75 mm.
    assert design.tag_area.width >= 62.0
    assert design.tag_area.height >= 33.75


def test_bloom_stands_where_the_slot_ends():
    design = design_named("bloom-1")
    assert design.slot is not None
    assert design.subject_at is not None
    x, y = design.subject_at

    assert x == design.width_mm / 2 == design.slot.left + design.slot.width / 2
    assert y == design.slot.top + design.slot.height - design.slot.width / 2
    # A bloom of 150 mm leaves the whole board in sight.
    assert y + 75.0 < design.board_top_mm


def test_greys_go_from_paper_to_black():
    assert GREY_STEPS[0] == 1.0
    assert GREY_STEPS[-1] == 0.0
    assert list(GREY_STEPS) == sorted(GREY_STEPS, reverse=True)


def test_unknown_design_is_refused_with_the_known_ones():
    with pytest.raises(
        ValueError, match="no card design 'A7'; known are pocket-1, bloom-1, bench-1"
    ):
        design_named("A7")


def test_design_with_marks_of_tags_is_refused():
    with pytest.raises(ValueError, match="card odd uses marks outside those kept for cards"):
        dataclasses.replace(design_named("pocket-1"), name="odd", first_mark=195)
