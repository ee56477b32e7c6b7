"""Seasons side by side from a stock book: who is compared, what is left out, and why."""

from datetime import date, datetime

import pytest

from photolog.book import daybook, growing, plants, printings, seasons, stages
from photolog.book.errors import Unknown, WrongEntry
from photolog.terms import Acceptance, Subject
from tests.reports.garden import LIFTED, enter_photo, planted_and_lifted

TAGS = {11: "Tin Orchard", 12: "Wherry Lamp", 21: "Tin Orchard"}


def at(season, hour=14, minute=0):
    return datetime.combine(LIFTED[season], datetime.min.time()).replace(hour=hour, minute=minute)


@pytest.fixture
def book(book):
    return planted_and_lifted(book, TAGS)


def enter_both(book, tag, first_mm, second_mm, **more):
    name = more.pop("name", f"{tag}")
    enter_photo(book, tag, at(2024), name=f"{name}-a.jpg", spread_mm=first_mm, **more)
    enter_photo(book, tag, at(2025), name=f"{name}-b.jpg", spread_mm=second_mm, **more)


def test_rows_and_the_last_two_seasons(book):
    enter_both(book, 11, 200.0, 160.0, tubers=9)
    enter_both(book, 21, 240.0, 192.0)
    enter_both(book, 12, 150.0, 150.0, tubers=7)
    compared = seasons.compare(book)
    assert (compared.first, compared.second) == (2024, 2025)
    tin, wherry = compared.rows
    assert (tin.variety, tin.stage) == ("Tin Orchard", "as lifted")
    assert tin.size.n_same == 2
    assert tin.size.change.ratio == pytest.approx(0.8)
    assert tin.size.word == "smaller"
    assert tin.number.n_same == 1
    assert tin.number.word == "no clear change"
    assert wherry.size.word == "no clear change"
    assert len(compared.photos) == 6
    assert [photo.tag for photo in compared.photos[:1]] == ["0011-N"]
    assert compared.left_out == compared.doubtful == ()


def test_a_clump_in_store_belongs_to_the_season_just_ended(book):
    enter_photo(book, 11, at(2024), name="a.jpg", spread_mm=200.0)
    # Taken out of store in spring, five months after lifting and before planting out.
    enter_photo(book, 11, datetime(2025, 10, 20, 9, 0), name="b.jpg", spread_mm=190.0)
    enter_photo(book, 11, at(2025), name="c.jpg", spread_mm=160.0)
    compared = seasons.compare(book)
    assert [photo.season for photo in compared.photos] == [2024, 2024, 2025]
    assert compared.rows[0].size.first.n_photos == 2


def test_northern_seasons(book):
    plants.add(book, variety="Tin Orchard", tag=5, since=date(2024, 5, 20))
    for year in (2024, 2025):
        daybook.enter(book, "planted out", on=date(year, 5, 20), tags=[5])
        daybook.enter(book, "lifted", on=date(year, 11, 3), tags=[5])
        enter_photo(book, 5, datetime(year, 11, 3, 10), name=f"{year}", spread_mm=100.0)
    assert [photo.season for photo in seasons.compare(book).photos] == [2024, 2025]


def test_a_plant_never_planted_out_has_no_season(book):
    enter_both(book, 12, 150.0, 150.0)
    plants.add(book, variety="Tin Orchard", tag=5, since=date(2026, 5, 1))
    enter_photo(book, 5, at(2025), name="new.jpg", spread_mm=100.0)
    (left,) = seasons.compare(book).left_out
    assert left.why == "The day book does not say that this plant was planted out before."
    assert left.season is None


def test_washed_clumps_are_kept_apart(book):
    enter_photo(book, 11, at(2024), name="a.jpg", spread_mm=200.0)
    washed = enter_photo(book, 11, at(2025), name="b.jpg", spread_mm=160.0)
    stages.tell(book, washed, "washed")
    compared = seasons.compare(book)
    assert [(row.stage, row.size.word) for row in compared.rows] == [
        ("as lifted", "too few to say"),
        ("washed", "too few to say"),
    ]
    assert compared.rows[1].size.why == "no clump measured washed in 2024 (as lifted: not alike)"


def test_the_day_book_tells_the_stage(book):
    enter_both(book, 11, 200.0, 160.0)
    daybook.enter(book, "washed", on=date(2026, 5, 17), tags=[11])
    enter_photo(book, 11, datetime(2026, 5, 18, 9), name="c.jpg", spread_mm=158.0)
    assert [row.stage for row in seasons.compare(book).rows] == ["as lifted", "washed"]


def test_what_is_left_out_says_why(book):
    enter_both(book, 12, 150.0, 150.0)
    enter_photo(
        book, None, at(2025, 15), name="waits.jpg", spread_mm=99.0, waiting="Two tags are in it."
    )
    enter_photo(book, 11, at(2025, 15, 5), name="dim.jpg", refused=("Too blurred.", "Hold still."))
    enter_photo(book, 11, at(2025, 15, 9), name="new.jpg")
    enter_photo(book, 11, at(2025, 16), name="edge.jpg", spread_mm=90.0, flags=("outline unsure",))
    enter_photo(
        book, 11, at(2025, 17), name="no.jpg", spread_mm=90.0, acceptance=Acceptance.TURNED_DOWN
    )
    enter_photo(book, 11, at(2025, 18), name="unsure.jpg", spread_mm=90.0, u=None)
    enter_photo(book, 11, None, name="undated.jpg", spread_mm=90.0)
    compared = seasons.compare(book)
    whys = {one.name: one.why for one in compared.left_out}
    assert whys == {
        "waits.jpg": "Two tags are in it.",
        "dim.jpg": "Too blurred.",
        "new.jpg": "It has not been measured yet.",
        "edge.jpg": "The outline may not follow the subject.",
        "no.jpg": "You turned its measurement down.",
        "unsure.jpg": "How sure its size is could not be told.",
        "undated.jpg": "The file gives no date, so its season is not known.",
    }
    assert all(one.remedy for one in compared.left_out)
    assert [row.variety for row in compared.rows] == ["Wherry Lamp"]


def test_the_growers_word_outweighs_a_flag(book):
    enter_both(book, 11, 200.0, 160.0, flags=("outline unsure",), acceptance=Acceptance.ACCEPTED)
    compared = seasons.compare(book)
    assert compared.rows[0].size.change.ratio == pytest.approx(0.8)
    assert len(compared.doubtful) == 2
    assert compared.doubtful[0].doubts[0].sentence == "The outline may not follow the subject."


def test_old_waiting_photos_are_not_listed_for_ever(book):
    enter_both(book, 11, 200.0, 160.0)
    enter_photo(book, None, datetime(2019, 5, 3, 12), name="old.jpg", spread_mm=99.0)
    assert seasons.compare(book).left_out == ()


def test_one_printing_cancels_and_unread_ones_do_not(book):
    reading = printings.enter(book, "bench-1", across_mm=99.5, along_mm=99.5, on=LIFTED[2024])
    enter_both(book, 11, 200.0, 160.0, u=4.0, scale_u=2.0, printing_id=reading.id)
    read = seasons.compare(book).rows[0].size.change
    assert dict(read.scale) == {}
    enter_both(book, 12, 200.0, 160.0, u=4.0, scale_u=2.0)
    unread = seasons.compare(book).rows[1].size.change
    assert len(unread.scale) == 2
    assert unread.interval95[1] > read.interval95[1]


def test_which_seasons(book):
    with pytest.raises(Unknown, match="There is no photo of a clump in the stock book"):
        seasons.compare(book)
    for i in range(2):
        enter_photo(book, 11, at(2024, 9, i), name=f"new-{i}.jpg")
    with pytest.raises(Unknown, match=r"can be used yet\. Left out: 2 × It has not been measured"):
        seasons.compare(book)
    enter_photo(book, 11, at(2024), name="a.jpg", spread_mm=200.0)
    with pytest.raises(Unknown, match="Clumps were measured in 2024 only"):
        seasons.compare(book)
    enter_photo(book, 11, at(2025), name="b.jpg", spread_mm=160.0)
    with pytest.raises(Unknown, match=r"in season 2019\. Measured are those of 2024, 2025"):
        seasons.compare(book, first=2019)
    with pytest.raises(WrongEntry, match="2025 can't be compared with itself"):
        seasons.compare(book, first=2025, second=2025)
    for asked in ({"first": 2024}, {"second": 2025}, {"first": 2024, "second": 2025}):
        compared = seasons.compare(book, **asked)
        assert (compared.first, compared.second) == (2024, 2025)
    turned = seasons.compare(book, first=2025, second=2024).rows[0].size.change
    assert turned.ratio == pytest.approx(1.25)
    with pytest.raises(Unknown, match="Two seasons are needed"):
        seasons.compare(book, first=2025)


def test_a_photo_of_a_bloom_is_no_clump(book):
    enter_both(book, 11, 200.0, 160.0)
    enter_photo(
        book, 11, datetime(2026, 2, 1), name="bloom", spread_mm=95.0, subject=Subject.BLOOM_FACE
    )
    assert len(seasons.compare(book).photos) == 2


def test_as_many_queries_for_many_photos_as_for_few(book, queries_of):
    def queries():
        with queries_of() as seen:
            seasons.compare(book)
        return len(seen)

    enter_both(book, 11, 200.0, 160.0)
    few = queries()
    for i in range(6):
        enter_both(book, 12, 200.0, 160.0, name=f"more-{i}")
    assert 0 < queries() == few


def test_what_was_not_grown_alike_is_said(book):
    enter_both(book, 11, 200.0, 160.0)
    enter_both(book, 12, 150.0, 150.0)
    assert seasons.compare(book).unlike == (
        "Grown from a bought plant in season 2024, from its own clump in 2025: "
        "Tin Orchard, Wherry Lamp.",
    )
    growing.tell(
        book, plants.of_tag(book, 12, on=LIFTED[2024]).ref, season=2024, grown_from="its own clump"
    )
    (said,) = seasons.compare(book).unlike
    assert "Wherry Lamp" not in said
