"""A tag's history: whose it is by the day, photos in order, the day book while it was there."""

from datetime import date, datetime

import pytest

from photolog.book import batches, daybook, history, plants, tags, varieties
from photolog.book.errors import Unknown, WrongTag
from photolog.records import PhotoRow
from photolog.terms import Acceptance, Subject
from tests.reports.garden import LIFTED, add_measurement, enter_photo, planted_and_lifted


@pytest.fixture
def book(book):
    return planted_and_lifted(book, {11: "Tin Orchard", 16: "Tía Farola"})


def test_photos_in_order_with_season_stage_and_reason(book):
    enter_photo(book, 11, datetime(2026, 5, 16, 14), name="c.jpg", spread_mm=160.0, tubers=9)
    enter_photo(book, 11, datetime(2025, 5, 17, 14), name="a.jpg", spread_mm=200.0)
    enter_photo(book, 11, datetime(2026, 2, 14, 9), name="b.jpg", subject=Subject.WHOLE_PLANT)
    told = history.of_tag(book, "0011-N")
    assert [(p.record.name, p.season, p.stage) for p in told.photos] == [
        ("a.jpg", 2024, "as lifted"),
        ("b.jpg", 2025, None),
        ("c.jpg", 2025, "as lifted"),
    ]
    assert told.photos[0].because == "Its tag is in the picture."
    figure = told.photos[2].record.measured.sizes["spread_mm"]
    assert (figure.value, figure.u) == (160.0, 3.0)
    assert figure.half95 == pytest.approx(5.88)
    assert told.photos[1].record.measured is None
    assert [season.year for season in told.seasons] == [2024, 2025]
    assert (told.variety, told.tag, told.kind, told.count) == (
        "Tin Orchard",
        "0011-N",
        "plant",
        None,
    )


def test_day_book_with_what_befell_the_whole_garden(book):
    daybook.enter(book, "stored", on=date(2025, 5, 31), tags=[11], note="in barely damp sand")
    daybook.enter(book, "first frost", on=date(2022, 5, 2), garden_wide=True)
    lines = history.of_tag(book, 11).day_book
    assert [(str(line.what), line.garden_wide) for line in lines] == [
        ("planted out", False),
        ("first frost", True),
        ("lifted", False),
        ("stored", False),
        ("planted out", False),
        ("lifted", False),
    ]
    assert lines[3].details == ("in barely damp sand",)


def test_a_tag_that_was_handed_on_tells_by_the_day(book):
    varieties.add(book, "Old Harbour Moth")
    old = plants.add(book, variety="Old Harbour Moth", since=date(2023, 11, 4))
    tags.hand_on(book, 16, to=old.ref, on=date(2023, 11, 4), until=date(2024, 10, 30))
    daybook.enter(book, "lost", on=date(2024, 10, 30), stock=[old.ref], cause="rotted")
    assert history.of_tag(book, 16).variety == "Tía Farola"
    then = history.of_tag(book, 16, on=date(2024, 1, 1))
    assert (then.variety, then.ended) == ("Old Harbour Moth", ("lost", date(2024, 10, 30)))
    assert then.day_book[-1].details == ("rotted",)
    # The frost of 2025 was after its time.
    assert "first frost" not in [str(line.what) for line in then.day_book]
    with pytest.raises(Unknown, match="0016"):
        history.of_tag(book, 16, on=date(2024, 10, 31))


def test_a_tag_no_longer_on_anything_tells_what_held_it_last(book):
    tags.take_off(book, 11, on=date(2026, 6, 1))
    assert history.of_tag(book, 11).variety == "Tin Orchard"


def test_a_batch_tells_its_count(book):
    batches.add(
        book, variety="Tía Farola", count=40, kind="pot tubers", since=date(2026, 6, 6), tag=101
    )
    batches.lose(book, 101, count=3, on=date(2026, 7, 1), cause="rotted")
    told = history.of_tag(book, 101)
    assert (told.kind, told.count, told.left) == ("batch of pot tubers", 40, 37)
    assert told.day_book[0].details == ("3 of them", "rotted")


def test_what_it_came_from(book):
    plants.add(
        book,
        variety="Tin Orchard",
        since=date(2025, 10, 1),
        came_from="division",
        parent_tag=11,
        tag=30,
    )
    told = history.of_tag(book, 30)
    assert (told.came_from, told.parent) == ("division of", "Tin Orchard, tag 0011-N")


def test_the_accepted_measurement_counts_before_a_newer_one(book):
    photo = enter_photo(
        book,
        11,
        datetime(2026, 5, 16, 14),
        name="a.jpg",
        spread_mm=160.0,
        acceptance=Acceptance.ACCEPTED,
    )
    add_measurement(book, photo, spread_mm=171.0)
    measured = history.of_tag(book, 11).photos[0].record.measured
    assert measured.sizes["spread_mm"].value == 160.0
    assert measured.accepted


def test_the_newest_counts_where_none_is_accepted(book):
    photo = enter_photo(book, 11, datetime(2026, 5, 16, 14), name="a.jpg", spread_mm=160.0)
    add_measurement(book, photo, spread_mm=171.0)
    measured = history.of_tag(book, 11).photos[0].record.measured
    assert measured.sizes["spread_mm"].value == 171.0
    assert not measured.accepted


def test_a_flag_of_another_version_is_still_shown(book):
    enter_photo(
        book, 11, datetime(2026, 5, 16), name="a", spread_mm=160.0, flags=("card made of cheese",)
    )
    (doubt,) = history.of_tag(book, 11).photos[0].record.measured.doubts
    assert doubt.sentence == "Card made of cheese."


def test_no_such_tag(book):
    with pytest.raises(Unknown, match="0099"):
        history.of_tag(book, 99)
    with pytest.raises(WrongTag, match="is no tag"):
        history.of_tag(book, "tag eleven")


def test_lifted_days_of_the_garden_are_as_the_tests_say(book):
    assert [s.lifted_on for s in history.of_tag(book, 11).seasons] == [LIFTED[2024], LIFTED[2025]]


def test_a_photo_without_a_date_has_the_day_that_was_told(book):
    photo = enter_photo(book, 11, None, name="sent.jpg", spread_mm=160.0)
    assert history.of_tag(book, 11).photos[0].record.taken_at is None
    with book.writing() as session:
        session.get(PhotoRow, photo).told_on = date(2026, 5, 17)
    told = history.of_tag(book, 11).photos[0]
    assert told.record.day_told
    assert (told.record.taken_at.date(), told.season) == (date(2026, 5, 17), 2025)
