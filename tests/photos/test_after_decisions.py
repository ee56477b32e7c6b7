"""What follows from one decision: the rest of its run, the tag shot before it, word cards after."""

from __future__ import annotations

from dataclasses import replace

from photolog.photos.facts import Match, MatchSettings
from photolog.photos.garden import Holder
from photolog.photos.word_matches import match_word_photos
from photolog.photos.word_places import WordInView, read_words
from photolog.word_cards import words_named
from tests.photos.garden import Shoot, found, garden, matched, plant

ALIKE = 0x0F0F0F0F0F0F0F0F
UNLIKE = ALIKE ^ 0xFFFFFFFFFFFF


def decided(shoot: Shoot, number: int, *holders: Holder) -> None:
    """Let the grower have decided a photo of the shoot."""
    at = next(n for n, photo in enumerate(shoot.photos) if photo.photo_id == number)
    shoot.photos[at] = replace(shoot.photos[at], decided=holders)


def a_day_of_tag_shots() -> tuple[Shoot, int, int]:
    """0011 shot tag first, then a tag shot that can't be read and its clump."""
    shoot = Shoot()
    shoot.tag_shot(11)
    shoot.wait(seconds=8).subject(likeness=UNLIKE)
    failed = shoot.wait(seconds=60).photo()
    clump = shoot.wait(seconds=9).subject(likeness=ALIKE)
    return shoot, failed, clump


def standing(shoot: Shoot) -> dict[int, Match]:
    return matched(shoot, garden=garden(lifted=(11, 12, 13, 14)))


def test_nothing_is_settled_before() -> None:
    shoot, failed, clump = a_day_of_tag_shots()
    matches = standing(shoot)
    assert found(matches[failed]) is None
    assert found(matches[clump]) is None


def test_a_failed_tag_shot_decided_opens_its_run() -> None:
    shoot, failed, clump = a_day_of_tag_shots()
    again = shoot.wait(seconds=4).subject(likeness=ALIKE)
    decided(shoot, failed, plant(12))
    matches = standing(shoot)
    assert found(matches[clump]) == (plant(12), "run")
    assert found(matches[again]) == (plant(12), "run")
    assert matches[clump].found is not None
    assert matches[clump].found.because == (
        "The first clump after the photo that you decided (9 s), of Wherry Lamp."
    )


def test_a_clump_decided_gives_its_tag_shot_and_its_second_shot() -> None:
    shoot, failed, clump = a_day_of_tag_shots()
    again = shoot.wait(seconds=4).subject(likeness=ALIKE)
    decided(shoot, clump, plant(12))
    matches = standing(shoot)
    assert found(matches[failed]) == (plant(12), "run")
    assert found(matches[again]) == (plant(12), "run")


def test_another_clump_after_a_decided_one_waits() -> None:
    shoot, _, clump = a_day_of_tag_shots()
    other = shoot.wait(seconds=20).subject(likeness=UNLIKE)
    decided(shoot, clump, plant(12))
    assert found(standing(shoot)[other]) is None


def test_where_no_tags_are_shot_a_photo_without_card_opens_nothing() -> None:
    shoot = Shoot()
    whole_plant = shoot.photo()
    clump = shoot.wait(seconds=9).subject(likeness=ALIKE)
    shoot.wait(seconds=60).subject(likeness=UNLIKE)
    decided(shoot, whole_plant, plant(12))
    match = standing(shoot)[clump]
    assert match.found is None or match.found.reason != "run"


def test_a_photo_of_several_opens_nothing() -> None:
    shoot, failed, clump = a_day_of_tag_shots()
    decided(shoot, failed, plant(12), plant(13))
    assert found(standing(shoot)[clump]) is None


def test_a_missing_photo_between_is_seen() -> None:
    shoot, failed, clump = a_day_of_tag_shots()
    at = shoot.photos.index(next(one for one in shoot.photos if one.photo_id == clump))
    shoot.photos[at] = replace(shoot.photos[at], name="LF000009.JPG", decided=(plant(12),))
    assert found(standing(shoot)[failed]) is None


def test_a_word_card_after_a_decided_photo_is_of_the_same_plant() -> None:
    shoot, failed, _ = a_day_of_tag_shots()
    shoot.photos.pop()
    card = shoot.photo(has_word=True)
    (rotted,) = words_named("rotted")
    words = {card: (WordInView(mark=rotted.mark, side_px=200.0),)}
    known = garden(lifted=(11,))
    for holder, waits in ((None, True), (plant(12), False)):
        if holder is not None:
            decided(shoot, failed, holder)
        read = read_words(shoot.photos, words, known, MatchSettings())
        matches = matched(shoot, garden=known)
        after = match_word_photos(
            matches.values(), shoot.photos, read, known, confirmed={}, settings=MatchSettings()
        )
        (one,) = (match for match in after if match.photo_id == card)
        assert (one.found is None) == waits
    assert one.found is not None
    assert one.found.holder == plant(12)
    assert one.found.because == "Shown directly after the photo that you decided."
