"""Cameras that fell back to their first day, told by their own counting."""

from datetime import date, datetime, timedelta

from photolog.photos.dates_doubted import doubted_dates
from photolog.photos.garden import Holding
from tests.photos.garden import Shoot, found, garden, matched, plant, tag

FIRST_DAY = datetime(2020, 1, 1)
FEBRUARY = datetime(2026, 2, 10, 10)


def three_days(*, middle: datetime, tags=(11, 12)) -> tuple[Shoot, list[int]]:
    """Two photos on the first and the third of three days, one on the second: its date is given."""
    shoot = Shoot(at=FEBRUARY)
    numbers = []
    for at in (FEBRUARY, middle, FEBRUARY + timedelta(days=10)):
        shoot.at = at
        for number in tags[:1] if at == middle else tags:
            numbers.append(shoot.subject("bloom", tags=(tag(number, pegged=True),)))
            shoot.wait(minutes=2)
    return shoot, numbers


def test_dates_that_go_on_with_the_numbers_are_not_doubted():
    shoot, _ = three_days(middle=FEBRUARY + timedelta(days=5))
    assert doubted_dates(shoot.photos) == {}


def test_a_camera_back_on_its_first_day_is_noticed():
    shoot, numbers = three_days(middle=FIRST_DAY)
    doubted = doubted_dates(shoot.photos)
    assert set(doubted) == set(numbers[2:3])
    one = doubted[numbers[2]]
    assert "can't be right: LF000103.JPG would be of 2020-01-01, before LF000102.JPG" in one.because
    assert (one.earliest, one.latest) == (datetime(2026, 2, 11), datetime(2026, 2, 19))


def test_without_a_later_photo_nothing_bounds_the_day():
    shoot, numbers = three_days(middle=FIRST_DAY)
    del shoot.photos[3:]
    assert {one.earliest for one in doubted_dates(shoot.photos).values()} == {None}
    match = matched(shoot, garden=garden())[numbers[2]]
    assert found(match) is None
    assert [one.holder for one in match.candidates] == [plant(11)]


def test_a_tag_that_one_plant_held_all_the_time_still_says_whose_it_is():
    shoot, numbers = three_days(middle=FIRST_DAY)
    match = matched(shoot, garden=garden())[numbers[2]]
    assert found(match) == (plant(11), "tag")
    assert "it was taken from 2026-02-11 to 2026-02-19" in match.found.because


def test_a_tag_handed_on_in_that_time_leaves_it_to_the_grower():
    heir = plant(14)
    own = garden(
        holdings=[
            Holding(
                tag=77,
                holder=plant(13),
                from_date=date(2025, 1, 1),
                until_date=date(2026, 2, 15),
            ),
            Holding(tag=77, holder=heir, from_date=date(2026, 2, 15)),
        ]
    )
    shoot, numbers = three_days(middle=FIRST_DAY, tags=(77, 12))
    matches = matched(shoot, garden=own)
    assert found(matches[numbers[2]]) is None
    assert {one.holder for one in matches[numbers[2]].candidates} == {plant(13), heir}
    assert found(matches[numbers[0]]) == (plant(13), "tag")
    assert found(matches[numbers[3]]) == (heir, "tag")


def test_two_cameras_and_names_that_do_not_count_are_not_compared():
    shoot, numbers = three_days(middle=FIRST_DAY)
    named = [
        photo.__class__(**{**{f: getattr(photo, f) for f in photo.__slots__}, "name": "garden.jpg"})
        for photo in shoot.photos
    ]
    assert doubted_dates(named) == {}
    other = Shoot(camera=2, at=FIRST_DAY)
    other.photo()
    assert set(doubted_dates([*shoot.photos, *other.photos])) == set(numbers[2:3])
