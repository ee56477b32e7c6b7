"""Photos without a date: what came together, and in what order."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from photolog.photos.undated import UndatedPhoto, day_in_name, in_name_order, undated_lots
from tests.photos.garden import NOON, Shoot, found, garden, matched, plant

EVENING = datetime(2026, 5, 17, 20, 0, tzinfo=UTC)


def photo(number: int, name: str, *, minutes: float = 0.0, px: int = 1600, bare: bool = True):
    return UndatedPhoto(
        photo_id=number,
        name=name,
        taken_in_at=EVENING + timedelta(minutes=minutes),
        longest_px=px,
        bare=bare,
    )


@pytest.mark.parametrize(
    ("name", "day"),
    [
        ("IMG-20260516-0008.jpg", date(2026, 5, 16)),
        ("2026-05-16 14.03.22.jpg", date(2026, 5, 16)),
        ("photo_2026.05.16.jpeg", date(2026, 5, 16)),
        ("sent-2026-05-16-140322.jpg", date(2026, 5, 16)),
        ("LF350394.JPG", None),
        ("IMG-20261345-0008.jpg", None),
        ("2026-0516.jpg", None),
        ("120260516.jpg", None),
        ("00000-18991231-20260516.jpg", date(2026, 5, 16)),
    ],
)
def test_the_day_in_a_name(name, day):
    assert day_in_name(name) == day


def test_names_are_counted_as_people_count():
    names = ["IMG (10).jpg", "img (9).jpg", "IMG (1).jpg", "IMG.jpg"]
    in_order = in_name_order(photo(n, name) for n, name in enumerate(names))
    assert [one.name for one in in_order] == [
        "IMG.jpg",
        "IMG (1).jpg",
        "img (9).jpg",
        "IMG (10).jpg",
    ]


def test_what_comes_together_is_one_lot():
    photos = [photo(n, f"pic{n}.jpg", minutes=n) for n in range(1, 9)]
    later = [photo(n, f"pic{n}.jpg", minutes=60 + n) for n in range(9, 11)]
    lots = undated_lots([*later, *photos])
    assert [[one.photo_id for one in lot.photos] for lot in lots] == [list(range(1, 9)), [9, 10]]
    assert [lot.sent for lot in lots] == [True, True]
    assert [lot.named_day for lot in lots] == [None, None]


def test_names_of_two_days_are_two_lots():
    photos = [photo(n, f"IMG-202605{16 + n % 2}-{n}.jpg") for n in range(4)]
    lots = undated_lots(photos)
    assert [lot.named_day for lot in lots] == [date(2026, 5, 16), date(2026, 5, 17)]


@pytest.mark.parametrize("odd", [{"px": 4000}, {"bare": False}])
def test_large_photos_and_those_of_a_camera_were_not_sent(odd):
    (lot,) = undated_lots([photo(1, "a.jpg"), photo(2, "b.jpg", **odd)])
    assert not lot.sent


def sent_together(*, reverse: bool = False):
    """A tag shot and its clump, twice, of one lot: no camera, no hour, in the order of names."""
    shoot = Shoot(camera=None)
    numbers = [shoot.tag_shot(11), shoot.subject(), shoot.tag_shot(12), shoot.subject()]
    shoot.photos = [
        replace(photo, lot=7, subsec=f"{place:06d}", taken_at=NOON, name=f"sent {place}.jpg")
        for place, photo in enumerate(shoot.photos)
    ]
    if reverse:
        shoot.photos.reverse()
    return shoot, numbers


@pytest.mark.parametrize("reverse", [False, True])
def test_the_order_of_their_names_offers_a_plant_and_never_decides(reverse):
    shoot, numbers = sent_together(reverse=reverse)
    matches = matched(shoot, garden=garden())
    assert found(matches[numbers[0]]) == (plant(11), "tag")
    for number, tag in ((numbers[1], 11), (numbers[3], 12)):
        assert found(matches[number]) is None
        first = matches[number].candidates[0]
        assert (first.holder, first.reason) == (plant(tag), "run")
        assert 0.5 < first.probability <= 0.9
        assert "only that of the files' names" in first.because


def test_two_lots_of_one_day_are_not_mixed():
    shoot, numbers = sent_together()
    other = Shoot(camera=None)
    for _ in range(4):
        other.subject()
    other.photos = [
        replace(photo, photo_id=900 + place, lot=8, subsec=f"{place:06d}", taken_at=NOON)
        for place, photo in enumerate(other.photos)
    ]
    matches = matched(shoot, other, garden=garden())
    assert matches[numbers[1]].candidates[0].holder == plant(11)
    assert all(one.reason != "run" for place in range(4) for one in matches[900 + place].candidates)
