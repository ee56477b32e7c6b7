"""Every table refuses what can't be, whoever writes it, and keeps what it was given."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta, timezone
from typing import Any

import pytest
from sqlalchemy import delete, select, text
from sqlalchemy.exc import IntegrityError, StatementError

from photolog.book import StockBook
from photolog.records import Base, MeasurementRow, PhotoRow, PlantRow, SizeRow, VarietyRow
from photolog.terms import EventKind
from tests.records import factories
from tests.records.factories import FACTORIES


def test_every_table_has_a_factory_whose_row_is_accepted(book: StockBook) -> None:
    assert set(FACTORIES) == set(Base.metadata.tables)
    with book.writing() as session:
        for name, make in FACTORIES.items():
            assert make(session).__tablename__ == name


def test_every_table_is_strict(book: StockBook) -> None:
    with book.reading() as session:
        tables = session.execute(
            text("SELECT name, strict FROM pragma_table_list WHERE type = 'table'")
        ).all()
    strict = {row.name: row.strict for row in tables if not row.name.startswith("sqlite_")}
    assert set(strict) - {"alembic_version"} == set(Base.metadata.tables)
    assert all(strict[name] for name in Base.metadata.tables)


def test_a_word_is_no_length(book: StockBook) -> None:
    with (
        pytest.raises(IntegrityError, match=r"cannot store TEXT value in REAL column size\.value"),
        book.writing() as session,
    ):
        session.execute(
            text(
                "INSERT INTO size (measurement_id, name, value, components) "
                "VALUES (1, 'spread_mm', 'wide', '{}')"
            )
        )


@pytest.mark.parametrize(
    ("table", "given", "constraint"),
    [
        ("variety", {"kind": "seedling"}, "seedling_has_number"),
        ("variety", {"name": ""}, "name_given"),
        ("batch", {"count": 0}, "count_above_none"),
        ("batch_change", {"fewer": 0}, "fewer_above_none"),
        ("tag", {"number": 10_000}, "number_1_to_9999"),
        ("tag_holding", {"until_date": date(2025, 11, 7)}, "until_after_from"),
        ("event", {"count": 0}, "count_above_none"),
        ("event", {"weight_g": -1.0}, "weight_above_none"),
        ("photo", {"sha256": "abc"}, "sha256_whole"),
        ("photo", {"width_px": 0}, "has_pixels"),
        ("photo", {"n_bytes": 0}, "has_bytes"),
        ("photo", {"held": "upside down"}, "held_known"),
        ("photo_subject", {"probability": 1.5}, "probability_0_to_1"),
        ("photo_subject", {"stage": "half eaten"}, "stage_known"),
        ("candidate", {"probability": -0.1}, "probability_0_to_1"),
        ("proposal", {"mark": 199}, "mark_of_words"),
        ("proposal", {"meant": 260}, "mark_of_words"),
        ("proposal", {"state": "confirmed"}, "confirmed_has_entry"),
        ("proposal", {"count": 0}, "count_above_none"),
        ("measurement", {"status": "refused"}, "refused_has_reason"),
        ("measurement", {"mm_per_px": 0.0}, "measured_has_scale"),
        ("measurement", {"lift_u_mm": -1.0}, "lift_u_not_negative"),
        ("measurement", {"outline_confidence": 1.2}, "outline_confidence_0_to_1"),
        (
            "measurement",
            {"status": "refused", "reason": "no card", "acceptance": "accepted"},
            "none_accepted",
        ),
        ("size", {"u": -0.1}, "u_not_negative"),
        ("size", {"low": 320.0}, "low_to_high"),
        ("printing", {"across_mm": 10.0}, "across_near_100"),
        ("printing", {"along_mm": 1000.0}, "along_near_100"),
        ("how_grown", {"stems": 0}, "stems_above_none"),
    ],
)
def test_what_cant_be_is_refused(
    book: StockBook, table: str, given: dict[str, Any], constraint: str
) -> None:
    with (
        pytest.raises(IntegrityError, match=f"CHECK constraint failed: ck_{table}_{constraint}"),
        book.writing() as session,
    ):
        FACTORIES[table](session, **given)


@pytest.mark.parametrize(
    "table", ["tag_holding", "event_subject", "photo_subject", "candidate", "how_grown"]
)
def test_a_row_points_at_a_plant_or_a_batch_and_never_both(book: StockBook, table: str) -> None:
    with book.writing() as session:
        both = {
            "plant_id": factories.plant(session).id,
            "batch_id": factories.batch(session).id,
        }
    for given in (both, {"plant_id": None, "batch_id": None}):
        with (
            pytest.raises(IntegrityError, match=f"CHECK constraint failed: ck_{table}_one_"),
            book.writing() as session,
        ):
            FACTORIES[table](session, **given)


@pytest.mark.parametrize(
    ("table", "given"),
    [
        ("variety", {"kind": "cultivar"}),
        ("plant", {"came_from": "found"}),
        ("event", {"kind": "sung to"}),
        ("photo", {"subject": "the cat"}),
        ("photo", {"match_state": "perhaps"}),
        ("measurement", {"measured_of": "leaf"}),
    ],
)
def test_a_word_outside_its_list_is_refused(
    book: StockBook, table: str, given: dict[str, str]
) -> None:
    (word,) = given.values()
    with (
        pytest.raises(StatementError, match=f"'{word}' is not a valid"),
        book.writing() as session,
    ):
        FACTORIES[table](session, **given)


def test_the_file_itself_refuses_a_word_outside_its_list(book: StockBook) -> None:
    with book.writing() as session:
        factories.event(session)
    with (
        pytest.raises(IntegrityError, match="ck_event_kind_known"),
        book.writing() as session,
    ):
        session.execute(text("UPDATE event SET kind = 'sung to'"))


def test_a_tag_is_on_one_thing_at_a_time(book: StockBook) -> None:
    with book.writing() as session:
        tag_id = factories.tag_holding(session).tag_id
    with (
        pytest.raises(IntegrityError, match=r"UNIQUE constraint failed: tag_holding\.tag_id"),
        book.writing() as session,
    ):
        factories.tag_holding(session, tag_id=tag_id)


def test_a_photo_belongs_to_several_plants_and_batches_but_to_each_once(book: StockBook) -> None:
    with book.writing() as session:
        tray = factories.photo(session)
        plant = factories.plant(session)
        factories.photo_subject(session, photo_id=tray.id, plant_id=plant.id)
        factories.photo_subject(session, photo_id=tray.id)
        factories.photo_subject(session, photo_id=tray.id, batch_id=factories.batch(session).id)
        session.refresh(tray)
        assert len(tray.subjects) == 3
        photo_id, plant_id = tray.id, plant.id
    with (
        pytest.raises(IntegrityError, match=r"photo_subject\.photo_id, photo_subject\.plant_id"),
        book.writing() as session,
    ):
        factories.photo_subject(session, photo_id=photo_id, plant_id=plant_id)


@pytest.mark.parametrize("table", ["plant", "batch"])
def test_a_variety_with_stock_cant_be_deleted(book: StockBook, table: str) -> None:
    with book.writing() as session:
        variety_id = FACTORIES[table](session).variety_id
    with (
        pytest.raises(IntegrityError, match="FOREIGN KEY constraint failed"),
        book.writing() as session,
    ):
        session.execute(delete(VarietyRow).where(VarietyRow.id == variety_id))


def test_a_plant_with_photos_cant_be_deleted(book: StockBook) -> None:
    with book.writing() as session:
        plant_id = factories.photo_subject(session).plant_id
    with (
        pytest.raises(IntegrityError, match="FOREIGN KEY constraint failed"),
        book.writing() as session,
    ):
        session.execute(delete(PlantRow).where(PlantRow.id == plant_id))


def test_what_belongs_to_a_photo_goes_with_it(book: StockBook) -> None:
    with book.writing() as session:
        size = factories.size(session)
        photo_id = size.measurement.photo_id
        factories.photo_subject(session, photo_id=photo_id)
        factories.candidate(session, photo_id=photo_id)
        session.execute(delete(PhotoRow).where(PhotoRow.id == photo_id))
        for table in ("photo_subject", "candidate", "measurement", "size"):
            assert session.scalar(text(f"SELECT count(*) FROM {table}")) == 0, table


@pytest.mark.parametrize(
    "column",
    [
        c.name
        for c in MeasurementRow.__table__.columns
        if c.name not in ("acceptance", "decided_at")
    ],
)
def test_a_measurement_is_never_overwritten(book: StockBook, column: str) -> None:
    with book.writing() as session:
        factories.measurement(session)
    with (
        pytest.raises(IntegrityError, match="a measurement is added, never overwritten"),
        book.writing() as session,
    ):
        session.execute(text(f"UPDATE measurement SET {column} = {column}"))


def test_what_the_grower_said_of_a_measurement_can_change(book: StockBook) -> None:
    with book.writing() as session:
        row = factories.measurement(session)
        row.acceptance, row.decided_at = "accepted", factories.NOW
    with book.reading() as session:
        assert session.scalars(select(MeasurementRow.acceptance)).one() == "accepted"


def test_a_size_is_never_overwritten(book: StockBook) -> None:
    with book.writing() as session:
        factories.size(session)
    with (
        pytest.raises(IntegrityError, match="a size is added, never overwritten"),
        book.writing() as session,
    ):
        session.scalars(select(SizeRow)).one().value = 1.0


def test_measuring_again_adds_a_row_and_one_of_them_is_accepted(book: StockBook) -> None:
    with book.writing() as session:
        first = factories.measurement(session, acceptance="accepted")
        factories.measurement(session, photo_id=first.photo_id, made_by="measure 0.2.0")
        photo_id = first.photo_id
    with (
        pytest.raises(IntegrityError, match=r"UNIQUE constraint failed: measurement\.photo_id"),
        book.writing() as session,
    ):
        factories.measurement(session, photo_id=photo_id, acceptance="accepted")


def test_times_are_kept_as_iso_text_and_come_back_equal(book: StockBook) -> None:
    in_nelson = timezone(timedelta(hours=12))
    with book.writing() as session:
        factories.photo(
            session,
            taken_at=datetime(2026, 5, 16, 14, 5, 9),
            taken_in_at=datetime(2026, 5, 17, 0, 30, tzinfo=in_nelson),
        )
        factories.event(session, on_date=date(2026, 5, 16), at_time=time(14, 5))
    with book.reading() as session:
        kept = session.execute(text("SELECT taken_at, taken_in_at FROM photo")).one()
        assert kept == ("2026-05-16T14:05:09", "2026-05-16T12:30:00.000000+00:00")
        kept = session.execute(text("SELECT on_date, at_time FROM event")).one()
        assert kept == ("2026-05-16", "14:05:00")
        photo = session.scalars(select(PhotoRow)).one()
        assert photo.taken_at == datetime(2026, 5, 16, 14, 5, 9)
        assert photo.taken_in_at == datetime(2026, 5, 16, 12, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("table", "given", "said"),
    [
        ("event", {"on_date": datetime(2026, 5, 16, 9)}, "a day was expected"),
        ("photo", {"taken_at": factories.NOW}, "a wall clock has no zone"),
        ("photo", {"taken_in_at": datetime(2026, 5, 16)}, "a moment needs its zone"),
        ("measurement", {"settings": {"u": float("nan")}}, "Out of range float values"),
    ],
)
def test_a_column_refuses_what_it_would_lose(
    book: StockBook, table: str, given: dict[str, Any], said: str
) -> None:
    with pytest.raises(StatementError, match=said), book.writing() as session:
        FACTORIES[table](session, **given)


def test_rows_come_back_with_the_words_as_enums(book: StockBook) -> None:
    with book.writing() as session:
        factories.event(session, kind="first frost", garden_wide=True)
    with book.reading() as session:
        row = session.execute(text("SELECT kind, garden_wide FROM event")).one()
        assert row == ("first frost", 1)
    with book.reading() as session:
        from photolog.records import EventRow

        kept = session.scalars(select(EventRow)).one()
        assert kept.kind is EventKind.FIRST_FROST
        assert kept.garden_wide is True
