"""Cameras and their clocks."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest

from photolog.book import StockBook, cameras
from photolog.book.cameras import ClockCorrection
from photolog.book.errors import Unknown, WrongEntry
from tests.records import factories

NOON = datetime(2026, 2, 14, 12, 0)


@pytest.fixture
def pocket(book: StockBook) -> str:
    with book.writing() as session:
        cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        cameras.find_or_add(session, make="Larkfield", model="Larkfield Pocket 28", serial="")
    return "Larkfield Pocket 28"


def test_a_camera_is_added_once(book: StockBook, pocket: str) -> None:
    with book.writing() as session:
        first = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        again = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        other = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="77")
    assert first == again != other
    assert [one.label for one in cameras.every(book)] == [
        "Larkfield Field 35",
        "Larkfield Field 35 no. 77",
        "Larkfield Pocket 28",
    ]


def test_a_camera_that_says_nothing_has_a_label(book: StockBook) -> None:
    with book.writing() as session:
        cameras.find_or_add(session, make="", model="", serial="")
    assert cameras.every(book)[0].label == "a camera that does not name itself"


def test_an_hour_fast_is_put_right(book: StockBook, pocket: str) -> None:
    view = cameras.set_clock(book, "larkfield pocket 28", add_seconds=-3600)
    assert cameras.corrected(NOON, view.corrections) == datetime(2026, 2, 14, 11, 0)


def test_without_a_correction_the_clock_stands() -> None:
    assert cameras.corrected(NOON, ()) == NOON


def test_each_correction_holds_until_the_next() -> None:
    summer = ClockCorrection(since=datetime(2025, 9, 28, 3), add_seconds=3600, note="")
    right = ClockCorrection(since=datetime(2026, 4, 5, 3), add_seconds=0, note="set right")
    assert cameras.corrected(datetime(2025, 9, 28, 2, 59), [right, summer]).hour == 2
    assert cameras.corrected(datetime(2025, 9, 28, 3), [right, summer]).hour == 4
    assert cameras.corrected(datetime(2026, 4, 5, 3), [right, summer]).hour == 3


def test_set_again_from_the_same_moment_it_is_put_right(book: StockBook, pocket: str) -> None:
    cameras.set_clock(book, pocket, add_seconds=3600)
    view = cameras.set_clock(book, pocket, add_seconds=-3600)
    assert [one.add_seconds for one in view.corrections] == [-3600]


def test_learnt_from_one_photo_of_a_clock(book: StockBook, pocket: str) -> None:
    with book.writing() as session:
        camera_id = cameras.find_or_add(
            session, make="Larkfield", model="Larkfield Pocket 28", serial=""
        )
        photo_id = factories.photo(session, taken_at=NOON, camera_id=camera_id).id
    view = cameras.learn_clock(book, photo_id, true_time=NOON - timedelta(hours=1, seconds=4))
    assert [one.add_seconds for one in view.corrections] == [-3604]
    assert view.corrections[0].note.startswith("learnt from photo LF")


def test_bad_input_is_said(book: StockBook, pocket: str) -> None:
    with pytest.raises(Unknown, match=r"from a camera 'Pocket 29'\. Did you mean Larkfield Pocket"):
        cameras.set_clock(book, "Pocket 29", add_seconds=60)
    with pytest.raises(WrongEntry, match="A clock can't be 9999999999 seconds out"):
        cameras.set_clock(book, pocket, add_seconds=9_999_999_999)
    with pytest.raises(Unknown, match="There is no photo 5"):
        cameras.learn_clock(book, 5, true_time=NOON)
    with book.writing() as session:
        undated = factories.photo(session, taken_at=None).id
    with pytest.raises(WrongEntry, match="does not say when or with which camera"):
        cameras.learn_clock(book, undated, true_time=NOON)


def test_the_beginning_is_before_every_camera() -> None:
    assert cameras.BEGINNING.date() < date(1975, 1, 1)
