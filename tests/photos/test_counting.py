"""What two file names say of whether one camera took them in a row."""

from datetime import datetime, timedelta

import pytest

from photolog.photos.counting import doubt_between
from photolog.photos.facts import PhotoFacts

AT = datetime(2026, 8, 16, 14, 0)


def photo(name, *, seconds=0):
    return PhotoFacts(
        photo_id=seconds,
        name=name,
        taken_at=AT + timedelta(seconds=seconds),
        camera=1,
        longest_px=4000,
        shows=None,
        has_card=False,
    )


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("LF350394.JPG", "LF350395.JPG"),
        ("LF350394.JPG", "LF350395-edited.JPG"),
        ("LF350394 (2).JPG", "LF350395.JPG"),
        ("DSC_9999.JPG", "DSC_0001.JPG"),
        ("IMG_20260816_140000.jpg", "IMG_20260816_140009.jpg"),
    ],
)
def test_names_that_follow_each_other_leave_no_doubt(one, other):
    assert doubt_between(photo(one), photo(other, seconds=9)) == ""


def test_a_copy_of_the_same_moment_is_no_other_camera():
    assert doubt_between(photo("LF350394.JPG"), photo("LF350394-edited.JPG")) == ""


def test_the_same_number_at_another_moment_is_another_camera():
    said = doubt_between(photo("IMG_0394.JPG"), photo("IMG_0394-edited.JPG", seconds=9))
    assert "may be of two cameras" in said


def test_a_missing_number_is_named():
    said = doubt_between(photo("LF350394.JPG"), photo("LF350396-edited.JPG", seconds=9))
    assert "is missing (LF350395)" in said


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("IMG_0394.JPG", "IMG_5120.JPG"),
        ("IMG_0394.JPG", "DSC_0395.JPG"),
        ("IMG_0394.JPG", "2026-08-16 14.00.09.jpg"),
    ],
)
def test_names_that_do_not_may_be_of_two_cameras(one, other):
    assert "may be of two cameras" in doubt_between(photo(one), photo(other, seconds=9))
