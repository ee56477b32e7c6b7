"""The grower's word on measurements: what counts after it, and what can't be accepted."""

from datetime import datetime

import pytest

from photolog.book import history, judging, seasons
from photolog.book.errors import Unknown, WrongEntry
from photolog.terms import Acceptance
from tests.reports.garden import add_measurement, enter_photo, planted_and_lifted


@pytest.fixture
def book(book):
    return planted_and_lifted(book, {11: "Tin Orchard"})


@pytest.fixture
def photo(book):
    return enter_photo(
        book,
        11,
        datetime(2026, 5, 16, 14),
        name="b.jpg",
        spread_mm=160.0,
        flags=("outline unsure",),
    )


def counts(book):
    return history.of_tag(book, 11).photos[-1].record.measured


def test_an_accepted_size_counts_before_a_newer_one_until_that_is_accepted(book, photo):
    said = judging.accept(book, photo)
    assert (said.name, said.measured_of, said.said) == ("b.jpg", "clump", Acceptance.ACCEPTED)
    add_measurement(book, photo, spread_mm=171.0)
    assert counts(book).sizes["spread_mm"].value == 160.0
    judging.accept(book, photo)
    assert counts(book).sizes["spread_mm"].value == 171.0
    judging.accept(book, photo)
    assert counts(book).accepted


def test_accepting_brings_a_flagged_photo_into_the_comparison(book, photo):
    enter_photo(book, 11, datetime(2025, 5, 17, 14), name="a.jpg", spread_mm=200.0)
    with pytest.raises(Unknown, match="The outline may not follow the subject"):
        seasons.compare(book)
    judging.accept(book, photo)
    assert seasons.compare(book).rows[0].size.change.ratio == pytest.approx(0.8)
    judging.take_back(book, photo)
    with pytest.raises(Unknown, match="The outline may not follow the subject"):
        seasons.compare(book)


def test_turned_down_none_counts_until_taken_back(book, photo):
    add_measurement(book, photo, spread_mm=171.0)
    judging.accept(book, photo)
    judging.turn_down(book, photo)
    assert counts(book).turned_down
    judging.take_back(book, photo)
    assert not counts(book).turned_down
    assert not counts(book).accepted


def test_measured_anew_after_turning_down_the_new_one_counts(book, photo):
    judging.turn_down(book, photo)
    add_measurement(book, photo, spread_mm=171.0)
    assert counts(book).sizes["spread_mm"].value == 171.0


def test_what_can_not_be_accepted(book):
    with pytest.raises(Unknown, match="There is no photo 99"):
        judging.accept(book, 99)
    new = enter_photo(book, 11, datetime(2026, 5, 16, 15), name="new.jpg")
    with pytest.raises(Unknown, match=r"\(new.jpg\) has not been measured yet"):
        judging.turn_down(book, new)
    dim = enter_photo(
        book, 11, datetime(2026, 5, 16, 16), name="dim.jpg", refused=("Too blurred.", "Hold still.")
    )
    with pytest.raises(WrongEntry, match=r"has no size to accept: Too blurred\."):
        judging.accept(book, dim)
