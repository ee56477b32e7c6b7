from datetime import date, datetime

import pytest

from photolog.photos.facts import MatchSettings
from photolog.photos.garden import Holder, Holding
from tests.photos.garden import TRAY, Shoot, found, garden, matched, plant, tag


def test_a_pegged_tag_says_whose_it_is():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, pegged=True),))
    match = matched(shoot, garden=garden())[photo]
    assert found(match) == (plant(11), "tag")
    assert match.found.probability >= 0.99
    assert (
        match.found.because == "Tag 0011 is pegged to the card, held on 2026-05-16 by Tin Orchard."
    )


def test_a_tag_lying_beside_the_clump_counts_too():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, side_px=55.0),))
    assert found(matched(shoot, garden=garden())[photo]) == (plant(11), "tag")


def test_the_pegged_tag_wins_over_a_larger_one():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(12, side_px=90.0), tag(11, side_px=60.0, pegged=True)))
    assert found(matched(shoot, garden=garden())[photo]) == (plant(11), "tag")


def test_a_neighbours_tag_in_the_background_never_matches():
    shoot = Shoot()
    with_own = shoot.subject(tags=(tag(11, pegged=True), tag(12, side_px=14.0)))
    alone = shoot.wait(minutes=30).subject(tags=(tag(12, side_px=14.0),))
    without_card = shoot.wait(minutes=30).photo(tags=(tag(12, side_px=20.0),))
    matches = matched(shoot, garden=garden())
    assert found(matches[with_own]) == (plant(11), "tag")
    for photo in (alone, without_card):
        assert found(matches[photo]) is None
        assert "background" in matches[photo].waiting_because
        assert plant(12) in [one.holder for one in matches[photo].candidates]


def test_two_tags_alike_are_the_growers_choice():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, side_px=60.0), tag(12, side_px=48.0)))
    match = matched(shoot, garden=garden())[photo]
    assert found(match) is None
    assert match.waiting_because == (
        "Several tags are in the photo (0011, 0012): the choice is yours."
    )
    assert [one.holder for one in match.candidates[:2]] == [plant(11), plant(12)]
    assert match.candidates[0].probability > match.candidates[1].probability


def test_two_pegged_tags_are_a_choice_too():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, pegged=True), tag(12, side_px=30.0, pegged=True)))
    assert found(matched(shoot, garden=garden())[photo]) is None


def test_the_same_tag_seen_twice_is_one():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, side_px=60.0), tag(11, side_px=58.0)))
    assert found(matched(shoot, garden=garden())[photo]) == (plant(11), "tag")


def test_the_largest_of_unlike_tags_is_taken():
    shoot = Shoot()
    photo = shoot.photo(tags=(tag(11, side_px=120.0), tag(12, side_px=50.0)))
    match = matched(shoot, garden=garden())[photo]
    assert found(match) == (plant(11), "tag")
    assert "the largest in the photo" in match.found.because


def test_half_a_tag_gives_candidates_only():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(None, pegged=True),))
    match = matched(shoot, garden=garden(lifted=[11]))[photo]
    assert found(match) is None
    assert match.waiting_because == "Only half of the tag could be read: 00••."
    # Left half 00: tags 0001 to 0099, of which four are held; 0101 is not among them.
    assert {one.holder for one in match.candidates} == {plant(n) for n in (11, 12, 13, 14)}


def test_an_unknown_tag_waits():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(77, pegged=True),))
    match = matched(shoot, garden=garden())[photo]
    assert found(match) is None
    assert match.waiting_because == (
        "Tag 0077 is pegged to the card, but no plant or batch in the stock book ever held it. "
        "Enter the one that does, and match again."
    )


@pytest.mark.parametrize(
    ("taken_at", "holder"),
    [
        (datetime(2024, 10, 29, 12), Holder("plant", 1)),
        (datetime(2024, 10, 30, 0, 0), Holder("plant", 2)),
        (datetime(2026, 5, 16, 12), Holder("plant", 2)),
    ],
)
def test_a_tag_handed_on_is_resolved_by_the_photos_date(taken_at, holder):
    own = garden(
        holdings=[
            Holding(
                tag=16,
                holder=Holder("plant", 1),
                from_date=date(2023, 11, 1),
                until_date=date(2024, 10, 30),
            ),
            Holding(tag=16, holder=Holder("plant", 2), from_date=date(2024, 10, 30)),
        ]
    )
    shoot = Shoot(at=taken_at)
    photo = shoot.subject("bloom", tags=(tag(16, pegged=True),))
    assert found(matched(shoot, garden=own)[photo]) == (holder, "tag")


def test_nobody_held_it_that_day():
    shoot = Shoot(at=datetime(2022, 1, 1, 12))
    photo = shoot.photo(tags=(tag(11, side_px=200.0),))
    match = matched(shoot, garden=garden())[photo]
    assert found(match) is None
    assert "nobody held it on 2022-01-01" in match.waiting_because
    assert "Tin Orchard held it from 2024-11-02 on" in match.waiting_because
    assert [one.holder for one in match.candidates] == [plant(11)]


def test_a_batch_matches_like_a_plant():
    shoot = Shoot(at=datetime(2026, 6, 6, 11))
    photo = shoot.photo(tags=(tag(101, side_px=40.0),))
    assert found(matched(shoot, garden=garden())[photo]) == (TRAY, "tag")


def test_without_a_date_everything_waits_with_its_reason():
    shoot = Shoot()
    photo = shoot.subject(
        tags=(tag(11, pegged=True),),
        taken_at=None,
        date_problem="The date in the file is all zeros: the camera's clock was not set.",
    )
    match = matched(shoot, garden=garden())[photo]
    assert found(match) is None
    assert match.waiting_because.startswith("The date in the file is all zeros")
    assert [one.holder for one in match.candidates] == [plant(11)]


def test_the_threshold_can_be_set():
    shoot = Shoot()
    photo = shoot.subject(tags=(tag(11, side_px=55.0),))
    strict = matched(shoot, garden=garden(), settings=MatchSettings(threshold=0.99))[photo]
    assert found(strict) is None
    assert strict.waiting_because.startswith("Not sure enough: Tag 0011")
    with pytest.raises(ValueError, match=r"between 0\.5 and 1, got 0\.3"):
        MatchSettings(threshold=0.3)


def test_a_holder_without_a_name_is_said_by_its_number():
    own = garden(holdings=[Holding(tag=5, holder=Holder("plant", 9), from_date=date(2024, 1, 1))])
    shoot = Shoot()
    photo = shoot.photo(tags=(tag(5, side_px=200.0),))
    assert "plant 9" in matched(shoot, garden=own)[photo].found.because
