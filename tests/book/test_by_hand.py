"""Sizes by the grower's hand: kept beside the measured ones, and counting in their place."""

from datetime import UTC, date, datetime

import pytest
from sqlalchemy import select

from photolog.book import by_hand, history, judging, matching, seasons
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.intake import take_in
from photolog.book.measuring import measure_all
from photolog.records import MeasurementRow
from photolog.reports.history_page import history_page
from photolog.reports.history_text import history_text
from photolog.terms import Acceptance, HowMade, Subject
from tests.book.photographed import clump_picture, fill_garden, photo
from tests.reports.garden import add_measurement, enter_photo, planted_and_lifted

NOON = datetime(2026, 5, 16, 12, 0)
SPREAD_MM = 220.0


def rows_of(book, photo_id):
    with book.reading() as session:
        return list(
            session.scalars(
                select(MeasurementRow)
                .where(MeasurementRow.photo_id == photo_id)
                .order_by(MeasurementRow.id)
            )
        )


@pytest.fixture
def clump(book, tmp_path):
    """A clump of 220 mm, measured; its photo is number 1."""
    fill_garden(book)
    photo(tmp_path, clump_picture(11), NOON, name="LF1")
    take_in(book, [tmp_path], workers=0, now=datetime(2026, 7, 1, tzinfo=UTC))
    matching.match_all(book)
    measure_all(book, workers=0)
    return book


def test_callipers_and_a_corrected_outline_on_the_photo(clump):
    (measured,) = rows_of(clump, 1)
    now = by_hand.set_callipers(clump, 1, measured.callipers)
    spread = now.measured.sizes["spread_mm"]
    # The ends that the program set, set by hand: the same length, less surely placed.
    assert spread.value == pytest.approx(now.measured.beside["spread_mm"].value, rel=0.02)
    assert spread.interval95[0] < SPREAD_MM < spread.interval95[1]
    assert spread.components["placing"] > 0.0
    assert now.measured.how_made is HowMade.CALLIPERS
    assert now.measured.outline is not None

    corrected = by_hand.outline_of(clump, 1)
    now = by_hand.draw_outline(clump, 1, corrected)
    assert now.measured.how_made is HowMade.OUTLINE
    assert set(now.measured.sizes) >= {"spread_mm", "width_mm", "area_cm2"}
    kept = rows_of(clump, 1)
    assert [row.acceptance for row in kept] == [
        Acceptance.CORRECTED,
        Acceptance.CORRECTED,
        Acceptance.ACCEPTED,
    ]
    assert (kept[0].outline, kept[0].made_at) == (measured.outline, measured.made_at)
    assert kept[1].outline is None
    # What was made by hand is no reason to measure again, nor not to.
    again = measure_all(clump, workers=0)
    assert (again.measured, again.already) == (0, 1)
    with pytest.raises(WrongEntry, match="too few for an outline"):
        by_hand.draw_outline(clump, 1, [[0, 0], [9, 9], [0, 9]])
    with pytest.raises(WrongEntry, match="list of places on the photo"):
        by_hand.draw_outline(clump, 1, [[0, 0], [9]])
    assert len(rows_of(clump, 1)) == 3


@pytest.fixture
def shown(book):
    """A stock book with a clump's photo measured as 160 mm, and its number."""
    planted_and_lifted(book, {11: "Tin Orchard"})
    number = enter_photo(book, 11, NOON, name="b.jpg", spread_mm=160.0, flags=("outline unsure",))
    return book, number


def counts(book):
    return history.of_tag(book, 11).photos[-1].record.measured


def test_a_tape_counts_in_histories_and_comparisons(shown):
    book, number = shown
    enter_photo(book, 11, datetime(2025, 5, 17, 14), name="a.jpg", spread_mm=200.0)
    now = by_hand.read_off(book, number, {"spread_mm": 150.0})
    assert now.measured.read_on == NOON.date()
    spread = counts(book).sizes["spread_mm"]
    # Read to 1.5 mm, and 1 % from tape to tape: the root of the sum of squares.
    assert (spread.value, spread.u) == (150.0, pytest.approx((1.5**2 + 1.5**2) ** 0.5))
    assert counts(book).beside["spread_mm"].value == 160.0
    assert seasons.compare(book).rows[0].size.change.ratio == pytest.approx(0.75)
    told = history.of_tag(book, 11)
    text = " ".join(history_text(told).split())
    assert "spread 150 ± 4 mm (tape or ring)" in text
    assert "photolog measured spread 160" in history_page(told)
    # A newer version's measurement does not take its place, until it is accepted.
    add_measurement(book, number, spread_mm=171.0)
    assert counts(book).sizes["spread_mm"].value == 150.0
    assert counts(book).beside["spread_mm"].value == 171.0
    judging.accept(book, number)
    assert counts(book).sizes["spread_mm"].value == 171.0


def test_taken_back_the_measured_one_counts_again(shown):
    book, number = shown
    by_hand.read_off(book, number, {"spread_mm": 150.0}, on=date(2026, 5, 18))
    assert [row.acceptance for row in rows_of(book, number)] == ["corrected", "accepted"]
    now = by_hand.take_back(book, number)
    assert now.measured.sizes["spread_mm"].value == 160.0
    assert [row.acceptance for row in rows_of(book, number)] == ["proposed", "turned down"]
    assert not counts(book).accepted
    with pytest.raises(Unknown, match="Nothing was entered by hand of photo"):
        by_hand.take_back(book, number)


def test_a_ring_and_a_tape_on_a_bloom_that_could_not_be_measured(book):
    planted_and_lifted(book, {11: "Tin Orchard"})
    number = enter_photo(
        book,
        11,
        datetime(2026, 2, 3, 9),
        name="bloom.jpg",
        subject=Subject.BLOOM_FACE,
        refused=("No scale card in the picture.", "Put one beside it."),
    )
    now = by_hand.read_off(book, number, {"widest_mm": 98.0, "ring_mm": 92.0})
    assert {name: size.value for name, size in now.measured.sizes.items()} == {
        "widest_mm": 98.0,
        "ring_mm": 92.0,
    }
    assert not now.measured.beside
    with pytest.raises(WrongEntry, match="No scale card in the picture"):
        by_hand.set_callipers(book, number, [[1, 1], [90, 1]])


@pytest.mark.parametrize(
    ("sizes", "says"),
    [
        ({"widest_mm": 98.0}, "can be read off: spread_mm, width_mm, longest_tuber_mm; not widest"),
        ({"spread_mm": 0.0}, "A tape can't read 0 mm"),
        ({"spread_mm": 2000.0}, "up to 1000"),
        ({}, "Nothing was read off"),
    ],
)
def test_readings_that_can_not_be(shown, sizes, says):
    book, number = shown
    with pytest.raises(WrongEntry, match=says):
        by_hand.read_off(book, number, sizes)
    assert len(rows_of(book, number)) == 1


def test_photos_of_nothing_to_measure(shown):
    book, _ = shown
    with pytest.raises(Unknown, match="There is no photo 99"):
        by_hand.read_off(book, 99, {"spread_mm": 150.0})
    tray = enter_photo(book, 11, NOON, name="t.jpg", subject=Subject.WHOLE_PLANT)
    with pytest.raises(WrongEntry, match="is not measured: whole plant"):
        by_hand.read_off(book, tray, {"spread_mm": 150.0})
    undated = enter_photo(book, 11, None, name="u.jpg", subject=Subject.CLUMP)
    with pytest.raises(WrongEntry, match="has no date: say on which day"):
        by_hand.read_off(book, undated, {"spread_mm": 150.0})
