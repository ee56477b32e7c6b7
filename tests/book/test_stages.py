"""Stages of blooms and clumps: as told, else a clump's by the day book."""

from __future__ import annotations

from datetime import date, datetime

import pytest
from sqlalchemy import select

from photolog.book import StockBook, stages
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.plant_seasons import Happening
from photolog.records import PhotoSubjectRow
from photolog.terms import BloomStage, ClumpStage, EventKind, Subject
from tests.records import factories

WASHED = (
    Happening(kind=EventKind.LIFTED, on=date(2026, 5, 16)),
    Happening(kind=EventKind.WASHED, on=date(2026, 5, 17)),
)
AFTER = datetime(2026, 5, 18, 10)


def test_what_is_told_goes_before_the_day_book() -> None:
    assert stages.stage_of(None, Subject.CLUMP, WASHED, AFTER) is ClumpStage.WASHED
    assert stages.stage_of("trimmed", Subject.CLUMP, WASHED, AFTER) is ClumpStage.TRIMMED


def test_a_bloom_has_no_stage_unless_told() -> None:
    assert stages.stage_of(None, Subject.BLOOM_FACE, WASHED, AFTER) is None
    told = stages.stage_of("going over", Subject.BLOOM_FACE, (), AFTER)
    assert told is BloomStage.GOING_OVER


def test_without_a_date_nobody_knows() -> None:
    assert stages.stage_of(None, Subject.CLUMP, WASHED, None) is None


def test_told_for_all_that_a_photo_belongs_to(book: StockBook) -> None:
    with book.writing() as session:
        photo = factories.photo(session, subject="clump")
        for _ in range(2):
            factories.photo_subject(session, photo_id=photo.id)
        photo_id = photo.id
    assert stages.tell(book, photo_id, "Washed") is ClumpStage.WASHED
    with book.reading() as session:
        assert session.scalars(select(PhotoSubjectRow.stage)).all() == ["washed", "washed"]


def test_bad_input_is_said(book: StockBook) -> None:
    with book.writing() as session:
        bloom = factories.photo(session, subject="bloom face").id
        tray = factories.photo(session, subject="group").id
    with pytest.raises(WrongEntry, match=r"shows: bloom face\. It can't be 'washed'"):
        stages.tell(book, bloom, "washed")
    with pytest.raises(WrongEntry, match="belongs to no plant yet"):
        stages.tell(book, bloom, "opening")
    with pytest.raises(WrongEntry, match=r"shows: group\. It can't be 'opening'"):
        stages.tell(book, tray, "opening")
    with pytest.raises(Unknown, match=r"no stage 'openning'\. Did you mean opening"):
        stages.tell(book, bloom, "openning")
    with pytest.raises(Unknown, match="There is no photo 99"):
        stages.tell(book, 99, "opening")
