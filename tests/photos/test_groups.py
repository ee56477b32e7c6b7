"""Photos of several plants: a tray, a row, a vase, a box as packed; and what is no group."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from photolog.photos.facts import Match, MatchSettings, PhotoFacts
from photolog.photos.garden import BoxFact, DayFact, Garden, Holder
from photolog.photos.groups import as_decided, match_groups, with_boxes
from photolog.photos.matching import match_photos
from photolog.photos.word_places import WordInView, read_words
from photolog.photos.words import propose_words
from photolog.terms import EventKind
from photolog.word_cards import words_named
from tests.photos.garden import LIFTING, TRAY, Shoot, found, garden, plant, tag

SMALL = 40.0  # of 1,600 px; a tag shot's mark has 96 or more


def with_box(*events: DayFact) -> Garden:
    known = garden(events=events)
    return Garden(
        holdings=known.holdings,
        holders=known.holders,
        events=known.events,
        boxes={3: BoxFact(box_id=7, name="blue crate"), 4: BoxFact(box_id=8, name="")},
    )


def grouped(shoot: Shoot, known: Garden | None = None) -> dict[int, Match]:
    known = known or with_box()
    settings = MatchSettings()
    groups = match_groups(shoot.photos, known, settings)
    single = match_photos(as_decided(shoot.photos, groups), known, settings)
    every = with_boxes((*groups.values(), *single), shoot.photos, known)
    return {match.photo_id: match for match in every}


def one(known: Garden | None = None, **facts: Any) -> Match:
    shoot = Shoot()
    number = shoot.photo(**facts)
    return grouped(shoot, known)[number]


def tags(*numbers: int, side_px: float = SMALL) -> tuple[object, ...]:
    return tuple(tag(number, side_px=side_px) for number in numbers)


def holders(match: Match) -> set[Holder]:
    return {candidate.holder for candidate in match.belongs_to}


@pytest.mark.parametrize("numbers", [(11, 12), (11, 12, 13), (11, 12, 13, 14)])
def test_several_tags_of_like_size_belong_to_all(numbers: tuple[int, ...]) -> None:
    match = one(tags=tags(*numbers))
    assert holders(match) == {plant(number) for number in numbers}
    assert match.waiting_because is None
    assert match.found is None


def test_a_row_that_goes_away_from_the_camera_is_one_group() -> None:
    row = tuple(tag(n, side_px=size) for n, size in ((11, 160.0), (12, 110.0), (13, 76.0)))
    assert holders(one(tags=row)) == {plant(11), plant(12), plant(13)}


def test_one_far_behind_the_others_is_none_of_them() -> None:
    row = (*tags(11, 12, 13, side_px=120.0), tag(14, side_px=50.0))
    assert holders(one(tags=row)) == {plant(11), plant(12), plant(13)}


def test_two_close_shots_of_tags_are_a_choice() -> None:
    match = one(tags=tags(11, 12, side_px=150.0))
    assert match.belongs_to == ()
    assert match.waiting_because is not None
    assert "the choice is yours" in match.waiting_because


def test_with_a_card_one_clump_has_one_tag() -> None:
    match = one(tags=tags(11, 12, 13, side_px=60.0), shows="clump", has_card=True, px_per_mm=3.0)
    assert match.belongs_to == ()
    told = one(tags=tags(11, 12, 13, side_px=60.0), has_card=True, px_per_mm=3.0, is_group=True)
    assert len(told.belongs_to) == 3


def test_a_tag_pegged_to_the_card_is_its_clumps() -> None:
    match = one(
        tags=(tag(11, side_px=60.0, pegged=True), *tags(12, 13, side_px=58.0)),
        shows="clump",
        has_card=True,
        px_per_mm=3.0,
        boxes=(3,),
    )
    assert found(match) == (plant(11), "tag")
    assert [box.number for box in match.boxes] == [3]


def test_a_box_as_packed_belongs_to_all_in_it_and_to_the_box() -> None:
    match = one(tags=tags(11, 12), boxes=(3,), has_card=True, px_per_mm=2.0, shows="clump")
    assert holders(match) == {plant(11), plant(12)}
    assert [(box.box_id, box.number) for box in match.boxes] == [(7, 3)]
    assert match.boxes[0].because == "The tag of box 3 (blue crate) is in the photo."


def test_one_tag_beside_a_boxs_is_one_plants() -> None:
    match = one(tags=tags(11), boxes=(4,))
    assert found(match) == (plant(11), "tag")
    assert [box.number for box in match.boxes] == [4]


def test_a_box_alone_is_settled_and_an_unknown_one_waits() -> None:
    assert one(boxes=(3,)).box_alone
    unknown = one(boxes=(9,))
    assert unknown.waiting_because == (
        "The tag of box 9 is in the photo, but there is no such box in the stock book. "
        "photolog box 9 enters it."
    )


def test_a_clump_without_a_tag_beside_a_box_waits_for_its_plant() -> None:
    match = one(boxes=(3,), shows="clump", has_card=True, px_per_mm=3.0)
    assert match.found is None
    assert match.waiting_because is not None
    assert [box.number for box in match.boxes] == [3]


def test_one_that_was_lost_before_stops_the_whole_photo() -> None:
    lost = DayFact(kind=EventKind.LOST, on=date(2026, 2, 1), holder=plant(12))
    match = one(with_box(lost), tags=tags(11, 12, 13))
    assert match.belongs_to == ()
    assert match.contradiction
    assert match.waiting_because is not None
    assert "was lost on 2026-02-01, before this photo" in match.waiting_because
    assert {one.holder for one in match.candidates} == {plant(11), plant(12), plant(13)}


def test_a_tag_that_nobody_held_stops_it_too() -> None:
    match = one(tags=tags(11, 12, 77))
    assert match.belongs_to == ()
    assert match.waiting_because is not None
    assert "Nobody held tag 0077 on 2026-05-16." in match.waiting_because


def test_a_batch_may_be_in_a_group() -> None:
    shoot = Shoot(at=Shoot().at.replace(month=6, day=20))
    number = shoot.photo(tags=tags(11, 101))
    assert holders(grouped(shoot)[number]) == {plant(11), TRAY}


def test_a_group_between_a_tag_shot_and_a_clump_closes_the_run() -> None:
    shoot = Shoot()
    shoot.tag_shot(14)
    shoot.wait(seconds=20).photo(tags=tags(11, 12, 13))
    clump = shoot.wait(seconds=20).subject()
    assert grouped(shoot)[clump].found is None


def in_a_box_check(
    *shots: tuple[dict[str, object], str],
) -> list[tuple[str, Holder | None, int | None]]:
    """The words proposed when these photos follow one another, for whom, or for which box."""
    shoot, words = Shoot(), {}
    for facts, said in shots:
        photo = shoot.wait(seconds=20).photo(has_word=bool(said), **facts)
        if said:
            words[photo] = tuple(
                WordInView(mark=card.mark, side_px=200.0) for card in words_named(said)
            )
    known = with_box()
    read = read_words(shoot.photos, words, known, MatchSettings())
    return [
        (one.meant.word, one.holder, one.box) for one in propose_words(shoot.photos, read, known)
    ]


def test_rotted_beside_a_tag_in_a_box_check_is_that_plants() -> None:
    (said,) = in_a_box_check(({"tags": tags(11), "boxes": (3,)}, "rotted"))
    assert said == ("rotted", plant(11), None)


def test_checked_beside_the_boxs_tag_is_the_boxs() -> None:
    assert in_a_box_check(({"boxes": (3,)}, "checked")) == [("checked", None, 3)]
    assert in_a_box_check(({"boxes": (3,)}, ""), ({}, "checked")) == [("checked", None, 3)]


def test_rotted_beside_a_boxs_tag_alone_is_nobodys() -> None:
    assert in_a_box_check(({"boxes": (3,)}, "rotted")) == [("rotted", None, None)]


def test_a_whole_box_check() -> None:
    said = in_a_box_check(
        ({"boxes": (3,)}, "checked"),
        ({"tags": tags(11, side_px=200.0)}, "rotted"),
        ({"tags": tags(12, side_px=200.0)}, ""),
        ({}, "dried out"),
        ({"boxes": (4,)}, "checked"),
    )
    assert said == [
        ("checked", None, 3),
        ("rotted", plant(11), None),
        ("dried out", plant(12), None),
        ("checked", None, 4),
    ]


def test_two_boxes_in_one_photo_are_a_choice_and_nobody_elses() -> None:
    said = in_a_box_check(
        ({"tags": tags(11, side_px=200.0)}, ""), ({"boxes": (3, 4)}, "checked, rotted")
    )
    assert said == [("checked", None, None), ("rotted", None, None)]


def test_a_boxs_word_is_not_proposed_again_once_it_is_entered() -> None:
    shoot = Shoot()
    photo = shoot.photo(boxes=(3,), has_word=True)
    (checked,) = words_named("checked")
    words = {photo: (WordInView(mark=checked.mark, side_px=200.0),)}
    known = with_box()
    entered = Garden(
        holdings=known.holdings,
        holders=known.holders,
        events=known.events,
        boxes=known.boxes,
        box_entries=frozenset({(EventKind.CHECKED, LIFTING, 3)}),
    )
    read = read_words(shoot.photos, words, entered, MatchSettings())
    assert propose_words(shoot.photos, read, entered) == []


def test_a_photo_facts_of_no_date_waits_with_its_reason() -> None:
    photo = PhotoFacts(
        photo_id=1,
        name="LF1.JPG",
        taken_at=None,
        date_problem="The file has no date.",
        camera=None,
        longest_px=1600,
        shows=None,
        has_card=False,
        tags=tags(11, 12),  # type: ignore[arg-type]
    )
    match = match_groups([photo], with_box(), MatchSettings())[1]
    assert match.waiting_because == (
        "The file has no date. Without a date nobody can say who held the tags then (0011, 0012)."
    )
