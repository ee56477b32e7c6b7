"""Measuring a stock book's photos in worker processes, and what is kept beside each number."""

from datetime import UTC, date, datetime, timedelta

import pytest
from PIL import Image
from sqlalchemy import select
from sqlalchemy.orm import selectinload

from measure import REFUSALS, Refusal
from photolog.book import matching, measuring, printings
from photolog.book.intake import take_in
from photolog.book.measuring import measure_all, overlay_of
from photolog.book.originals import original_of
from photolog.records import MeasurementRow, PhotoRow
from photolog.terms import Acceptance, MeasureStatus
from tests.book.photographed import clump_picture, fill_garden, photo, plain_picture, tag_picture

NOW = datetime(2026, 7, 1, tzinfo=UTC)
NOON = datetime(2026, 5, 16, 12, 0)
SPREAD_MM = 220.0


@pytest.fixture
def clumps(book, tmp_path):
    """Three clumps matched by their pegged tags, a tag shot, and a clump that nobody knows."""
    fill_garden(book)
    folder = tmp_path / "card"
    folder.mkdir()
    pictures = [
        clump_picture(11),
        clump_picture(12, seed=4),
        clump_picture(13, seed=5),
        tag_picture(14),
        plain_picture(),
        clump_picture(None, seed=6),
    ]
    for number, picture in enumerate(pictures):
        at = NOON + timedelta(minutes=3 * number)
        photo(folder, picture, at, name=f"LF35010{number}")
    take_in(book, [folder], workers=0, now=NOW)
    matching.match_all(book)
    return book


def rows_of(book) -> list[MeasurementRow]:
    with book.reading() as session:
        return list(
            session.scalars(
                select(MeasurementRow)
                .options(selectinload(MeasurementRow.sizes))
                .order_by(MeasurementRow.id)
            )
        )


def test_photos_are_measured_and_the_origin_is_kept(clumps):
    told = []
    report = measure_all(clumps, workers=2, progress=told.append)
    assert (report.measured, report.refused, report.already) == (4, (), 0)
    assert [one.done for one in told] == [1, 2, 3, 4]
    rows = rows_of(clumps)
    assert [row.photo_id for row in rows] == [1, 2, 3, 6]
    for row in rows:
        assert (row.measured_of, row.status, row.card_design) == ("clump", "measured", "bench-1")
        assert row.made_by.startswith("measure ")
        assert row.settings["asked"]["photo_sha256"] == _photo(clumps, row.photo_id).sha256
        assert row.acceptance is Acceptance.PROPOSED
        assert len(row.outline) > 20
        assert len(row.callipers) == 2
        assert row.mm_per_px > 0.0
        sizes = {size.name: size for size in row.sizes}
        assert {"spread_mm", "width_mm", "area_cm2", "tubers"} <= set(sizes)
        spread = sizes["spread_mm"]
        # The drawn clump's true spread, known from its geometry.
        assert spread.value == pytest.approx(SPREAD_MM, rel=0.05)
        assert spread.low < spread.value < spread.high
        assert spread.components
        overlay = overlay_of(clumps, row.id)
        assert overlay is not None
        with Image.open(overlay) as drawn:
            assert max(drawn.size) >= 800


def _photo(book, photo_id: int) -> PhotoRow:
    with book.reading() as session:
        row = session.get(PhotoRow, photo_id)
        assert row is not None
        return row


def test_measuring_again_does_nothing_until_something_changes(clumps):
    measure_all(clumps, workers=0)
    again = measure_all(clumps, workers=0)
    assert (again.measured, again.already) == (0, 4)
    printings.enter(clumps, "bench-1", across_mm=98.0, along_mm=98.0, on=date(2026, 5, 1))
    report = measure_all(clumps, workers=0)
    assert (report.measured, report.already) == (4, 0)
    before, after = rows_of(clumps)[0], rows_of(clumps)[4]
    assert (before.photo_id, before.printing_id) == (1, None)
    assert (after.photo_id, after.printing_id) == (1, 1)
    # A bar that reads 98 mm says that the print is 2 % small: every length with it shrinks by 2 %.
    spread = [next(s for s in row.sizes if s.name == "spread_mm").value for row in (before, after)]
    assert spread[1] / spread[0] == pytest.approx(0.98, abs=0.002)


def test_what_the_grower_accepted_stays_beside_the_new_row(clumps):
    measure_all(clumps, workers=0)
    with clumps.writing() as session:
        session.get(MeasurementRow, 1).acceptance = Acceptance.ACCEPTED
    printings.enter(clumps, "bench-1", across_mm=99.0, along_mm=99.0, on=date(2026, 5, 1))
    measure_all(clumps, workers=0)
    rows = [row for row in rows_of(clumps) if row.photo_id == 1]
    assert [row.acceptance for row in rows] == [Acceptance.ACCEPTED, Acceptance.PROPOSED]


def test_photos_with_a_card_are_measured_those_that_wait_as_well(clumps):
    waits = next(one.photo_id for one in matching.waiting(clumps) if one.shows == "clump")
    report = measure_all(clumps, workers=0)
    assert {row.photo_id for row in rows_of(clumps)} == {1, 2, 3, waits}
    assert report.waiting == 1
    matching.decide(clumps, waits, 14)
    again = measure_all(clumps, workers=0)
    assert (again.measured, again.waiting, again.already) == (0, 0, 4)


def test_a_refused_photo_is_kept_with_reason_and_remedy(book, tmp_path):
    fill_garden(book)
    picture = clump_picture(11).copy()
    # The clump wiped out: card and pegged tag stay.
    picture[:, :560] = (150, 146, 138)
    photo(tmp_path, picture, NOON, name="LF1")
    take_in(book, [tmp_path], workers=0, now=NOW)
    matching.match_all(book)
    report = measure_all(book, workers=0)
    ((_, name, reason, remedy),) = report.refused
    assert name == "LF1.jpg"
    (row,) = rows_of(book)
    assert row.status is MeasureStatus.REFUSED
    assert (row.reason, row.remedy) == (reason, remedy)
    assert reason.startswith(REFUSALS[Refusal(row.refusal)][0])
    assert row.card_design == "bench-1"
    assert overlay_of(book, row.id) is None
    assert measure_all(book, workers=0).already == 1


def test_an_original_gone_missing_does_not_stop_the_rest(clumps):
    original_of(clumps, 2).unlink()
    report = measure_all(clumps, workers=0)
    assert report.measured == 3
    (missing,) = report.refused
    assert missing.reason == "There is no such file."
    # Nothing is kept of it, so that it is measured once the original is back.
    assert {row.photo_id for row in rows_of(clumps)} == {1, 3, 6}


def test_a_failure_inside_does_not_stop_the_rest(clumps, monkeypatch):
    whole = measuring.measure_photo

    def fails_once(job):
        if job.photo_id == 2:
            msg = "division by zero"
            raise ZeroDivisionError(msg)
        return whole(job)

    monkeypatch.setattr(measuring, "measure_photo", fails_once)
    report = measure_all(clumps, workers=0)
    assert report.measured == 3
    assert "ZeroDivisionError" in report.refused[0].reason
    monkeypatch.undo()
    assert measure_all(clumps, workers=0).measured == 1


def test_overlays_thrown_away_are_said_to_be_gone(clumps):
    measure_all(clumps, workers=0)
    overlay_of(clumps, 1).unlink()
    assert overlay_of(clumps, 1) is None
    assert overlay_of(clumps, 999) is None
