"""The migrations make what the models say, back up first, and leave the old book whole."""

from __future__ import annotations

import errno
import os
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import datetime, tzinfo
from pathlib import Path
from typing import Self

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import create_engine, text

from photolog.book import StockBook
from photolog.book.errors import BackupThere, BookDamaged, BookMissing, BookTooNew
from photolog.records import Base
from photolog.records.database import APPLICATION_ID
from photolog.records.migrations import HEAD, KNOWN, back_up, running
from tests.records import factories


def statements(path: Path) -> set[str]:
    """Every statement that made a file's tables, indexes and triggers, blanks made one."""
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT sql FROM sqlite_master WHERE sql IS NOT NULL AND tbl_name <> 'alembic_version'"
        ).fetchall()
    return {" ".join(sql.replace("(", " ( ").replace(")", " ) ").split()) for (sql,) in rows}


def test_the_migrations_make_exactly_what_the_models_say(book: StockBook, tmp_path: Path) -> None:
    fresh = tmp_path / "by models.sqlite3"
    engine = create_engine(f"sqlite:///{fresh}")
    Base.metadata.create_all(engine)
    engine.dispose()
    book.close()
    assert statements(book.file) == statements(fresh)


def test_alembic_finds_nothing_to_change(book: StockBook) -> None:
    with book.engines[0].connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, Base.metadata) == []


def test_the_versions_known_are_the_migrations_there_in_one_line() -> None:
    config = Config()
    config.set_main_option("script_location", str(Path(running.__file__).parent))
    config.set_main_option("path_separator", "os")
    scripts = ScriptDirectory.from_config(config)
    oldest_first = [script.revision for script in scripts.walk_revisions()][::-1]
    assert tuple(oldest_first) == KNOWN
    assert scripts.get_heads() == [HEAD]


def test_a_book_of_a_newer_version_is_left_alone(book: StockBook) -> None:
    with book.writing() as session:
        session.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    book.close()
    before = book.file.read_bytes()
    with pytest.raises(
        BookTooNew,
        match=r"newer photolog \(its tables are of version 0999; this program knows them up",
    ):
        StockBook.open(book.folder)
    assert book.file.read_bytes() == before


def test_a_book_up_to_date_is_not_backed_up(book: StockBook) -> None:
    assert book.backup_made is None
    assert list(book.backups.iterdir()) == []


AFTER = "9000"
NEXT = f'''
"""A next version, for the test."""
import sqlalchemy as sa
from alembic import op

revision = "{AFTER}"
down_revision = "{HEAD}"
branch_labels = None
depends_on = None


def upgrade() -> None:
    {{body}}
'''


@pytest.fixture
def next_version(
    book: StockBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Path]:
    """A file for one more version beside the real migrations, all in a copy."""
    with book.writing() as session:
        factories.plant(session)
        factories.plant(session)
    book.close()
    scripts = tmp_path / "migrations"
    shutil.copytree(
        Path(running.__file__).parent, scripts, ignore=shutil.ignore_patterns("__pycache__")
    )
    monkeypatch.setattr(running, "_SCRIPTS", scripts)
    monkeypatch.setattr(running, "KNOWN", (*KNOWN, AFTER))
    monkeypatch.setattr(running, "HEAD", AFTER)
    return scripts / "versions" / f"next_{AFTER}.py"


def rows(path: Path, query: str) -> list[tuple[object, ...]]:
    with closing(sqlite3.connect(path)) as connection:
        return connection.execute(query).fetchall()


def test_rebuilding_a_parent_table_keeps_its_children_and_backs_up_first(
    book: StockBook, next_version: Path
) -> None:
    next_version.write_text(
        NEXT.format(
            body='with op.batch_alter_table("variety", recreate="always") as table:\n'
            '        table.add_column(sa.Column("raiser", sa.Text(), nullable=True))'
        )
    )
    with StockBook.open(book.folder) as migrated:
        backup = migrated.backup_made
        assert backup is not None
    assert rows(backup, "SELECT version_num FROM alembic_version") == [(HEAD,)]
    assert rows(backup, "SELECT count(*) FROM plant") == [(2,)]
    assert rows(backup, "PRAGMA integrity_check") == [("ok",)]
    assert rows(book.file, "SELECT version_num FROM alembic_version") == [(AFTER,)]
    assert rows(book.file, "SELECT count(*) FROM plant") == [(2,)]
    assert rows(book.file, "SELECT raiser FROM variety") == [(None,), (None,)]


def test_a_migration_that_fails_leaves_the_old_book(book: StockBook, next_version: Path) -> None:
    next_version.write_text(
        NEXT.format(
            body='op.add_column("variety", sa.Column("raiser", sa.Text()))\n'
            '    op.drop_table("size")\n'
            '    raise RuntimeError("half way")'
        )
    )
    before = statements(book.file)
    with pytest.raises(RuntimeError, match="half way"):
        StockBook.open(book.folder)
    assert statements(book.file) == before
    assert rows(book.file, "SELECT version_num FROM alembic_version") == [(HEAD,)]
    assert len(list(book.backups.iterdir())) == 1


def test_a_migration_that_breaks_links_is_refused(book: StockBook, next_version: Path) -> None:
    next_version.write_text(NEXT.format(body='op.execute("DELETE FROM variety")'))
    with pytest.raises(BookDamaged, match="rows of plant point at rows that are not there"):
        StockBook.open(book.folder)
    assert rows(book.file, "SELECT count(*) FROM variety") == [(2,)]


def test_a_start_cut_off_leaves_no_book_and_can_be_done_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "garden"
    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):  # noqa: PT012
        patched.setattr(running, "_check_links", _interrupted)
        StockBook.start(folder)
    assert not (folder / "book.sqlite3").exists()
    StockBook.start(folder).close()
    assert sorted(path.name for path in folder.iterdir()) == [
        "backups",
        "book.sqlite3",
        "made",
        "photos",
    ]


def _interrupted(*_: object) -> None:
    raise KeyboardInterrupt


def test_a_backup_of_a_book_that_is_gone_leaves_nothing(book: StockBook, tmp_path: Path) -> None:
    book.close()
    book.file.unlink()
    for _ in range(2):
        with pytest.raises(BookMissing, match="There is no stock book in"):
            back_up(book.file, tmp_path / "safe" / "book.sqlite3")
    assert not book.file.exists()
    assert list((tmp_path / "safe").iterdir()) == []


def test_a_backup_cut_off_leaves_nothing_and_can_be_done_again(
    book: StockBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with book.writing() as session:
        factories.plant(session)
    to = tmp_path / "safe [1]" / "book.sqlite3"

    def fails(_: int) -> None:
        # What is to be synced is whole, and nothing has the backup's name yet.
        (unfinished,) = to.parent.iterdir()
        assert unfinished.name == "book.sqlite3.unfinished"
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched, pytest.raises(OSError, match="No space left"):  # noqa: PT012
        patched.setattr(os, "fsync", fails)
        back_up(book.file, to)
    assert list(to.parent.iterdir()) == []
    # Killed, it leaves its unfinished file behind: that is no hindrance either.
    to.with_name("book.sqlite3.unfinished").write_bytes(b"half of it")
    back_up(book.file, to)
    assert [path.name for path in to.parent.iterdir()] == ["book.sqlite3"]
    assert rows(to, "PRAGMA integrity_check") == [("ok",)]
    assert rows(to, "SELECT count(*) FROM plant") == [(1,)]


def test_a_backup_never_replaces_a_file(book: StockBook, tmp_path: Path) -> None:
    there = tmp_path / "letter.sqlite3"
    there.write_text("Dear Imke")
    with pytest.raises(BackupThere, match=r"letter\.sqlite3 is there already, .* another name\."):
        book.back_up(there)
    assert there.read_text() == "Dear Imke"


def test_two_backups_before_migrating_in_one_second_have_two_names(
    book: StockBook, next_version: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    class OneMoment(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Self:
            return cls(2026, 5, 16, 12, tzinfo=tz)

    monkeypatch.setattr(running, "datetime", OneMoment)
    next_version.write_text(NEXT.format(body='raise RuntimeError("half way")'))
    for _ in range(2):
        with pytest.raises(RuntimeError, match="half way"):
            StockBook.open(book.folder)
    assert sorted(path.name for path in book.backups.iterdir()) == [
        f"book-of-version-{HEAD}-20260516-120000-2.sqlite3",
        f"book-of-version-{HEAD}-20260516-120000.sqlite3",
    ]


def test_a_book_of_the_first_version_keeps_its_measurements(tmp_path: Path) -> None:
    old = tmp_path / "garden" / "book.sqlite3"
    for name in ("photos", "made", "backups"):
        (old.parent / name).mkdir(parents=True)
    script = Path(running.__file__).parent / "versions" / "first_tables_0001.sql"
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript(
            f"PRAGMA application_id = {APPLICATION_ID};"
            + script.read_text(encoding="utf-8")
            + """;
            CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
            INSERT INTO alembic_version VALUES ('0001');
            INSERT INTO photo (id, sha256, content_sha256, original_name, file_kind, n_bytes,
                width_px, height_px, taken_in_at, subject, subject_by_hand, match_state,
                match_by_hand)
            VALUES (5, printf('%064d', 1), printf('%064d', 2), 'LF1.jpg', 'jpeg', 9, 40, 30,
                '2026-05-16T00:00:00+00:00', 'clump', 0, 'waiting', 0);
            INSERT INTO measurement (id, photo_id, measured_of, status, made_by, made_at, settings,
                flags, mm_per_px, acceptance)
            VALUES (7, 5, 'clump', 'measured', 'measure 0.1.0', '2026-05-16T00:00:00+00:00', '{}',
                '["outline unsure"]', 0.2, 'accepted');
            INSERT INTO measurement (id, photo_id, measured_of, status, reason, made_by, made_at,
                settings, flags, acceptance)
            VALUES (8, 5, 'clump', 'refused', 'Too blurred.', 'measure 0.1.0',
                '2026-05-16T00:00:00+00:00', '{}', '[]', 'turned down');
            INSERT INTO size (measurement_id, name, value, components)
            VALUES (7, 'spread_mm', 231.5, '{}');
            """
        )
    with StockBook.open(old.parent) as migrated:
        assert migrated.backup_made is not None
        assert rows(migrated.backup_made, "SELECT version_num FROM alembic_version") == [("0001",)]
        fresh = StockBook.start(tmp_path / "fresh")
        fresh.close()
    assert statements(old) == statements(fresh.file)
    kept = "SELECT id, photo_id, status, how_made, acceptance, flags, colours FROM measurement"
    assert rows(old, kept) == [
        (7, 5, "measured", "measured", "accepted", '["outline unsure"]', None),
        (8, 5, "refused", "measured", "turned down", "[]", None),
    ]
    assert rows(old, "SELECT measurement_id, value FROM size") == [(7, 231.5)]
    with (
        closing(sqlite3.connect(old)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="added, never overwritten"),
    ):
        connection.execute("UPDATE measurement SET how_made = 'callipers by hand'")


def test_a_book_of_the_second_version_keeps_its_day_book(tmp_path: Path) -> None:
    old = tmp_path / "garden" / "book.sqlite3"
    for name in ("photos", "made", "backups"):
        (old.parent / name).mkdir(parents=True)
    versions = Path(running.__file__).parent / "versions"
    scripts = [
        (versions / name).read_text(encoding="utf-8")
        for name in ("first_tables_0001.sql", "by_hand_0002.sql")
    ]
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript(
            f"PRAGMA application_id = {APPLICATION_ID};"
            + ";\n".join(scripts)
            + """;
            CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
            INSERT INTO alembic_version VALUES ('0002');
            INSERT INTO variety (id, name, name_key, kind, note)
            VALUES (3, 'Tin Orchard', 'tin orchard', 'named', '');
            INSERT INTO plant (id, variety_id, came_from, since, note)
            VALUES (4, 3, 'bought', '2025-10-01', '');
            INSERT INTO event (id, kind, on_date, garden_wide, cause, note, entered_at,
                struck_out_at)
            VALUES (7, 'lost', '2026-02-01', 0, 'rotted', 'soft at the crown',
                '2026-02-01T00:00:00+00:00', NULL),
                (9, 'first frost', '2026-05-02', 1, NULL, '', '2026-05-02T00:00:00+00:00',
                '2026-05-03T00:00:00+00:00');
            INSERT INTO event_subject (id, event_id, plant_id) VALUES (1, 7, 4);
            """
        )
    with StockBook.open(old.parent) as migrated:
        assert migrated.backup_made is not None
        assert rows(migrated.backup_made, "SELECT version_num FROM alembic_version") == [("0002",)]
        fresh = StockBook.start(tmp_path / "fresh")
        fresh.close()
    assert statements(old) == statements(fresh.file)
    kept = "SELECT id, kind, on_date, garden_wide, cause, note, struck_out_at FROM event"
    assert rows(old, kept) == [
        (7, "lost", "2026-02-01", 0, "rotted", "soft at the crown", None),
        (9, "first frost", "2026-05-02", 1, None, "", "2026-05-03T00:00:00+00:00"),
    ]
    assert rows(old, "SELECT event_id, plant_id FROM event_subject") == [(7, 4)]
    assert rows(old, "SELECT count(*) FROM proposal") == [(0,)]


def test_a_book_of_the_third_version_keeps_its_clocks(tmp_path: Path) -> None:
    old = tmp_path / "garden" / "book.sqlite3"
    for name in ("photos", "made", "backups"):
        (old.parent / name).mkdir(parents=True)
    versions = Path(running.__file__).parent / "versions"
    scripts = [
        (versions / name).read_text(encoding="utf-8")
        for name in ("first_tables_0001.sql", "by_hand_0002.sql", "proposals_0003.sql")
    ]
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript(
            f"PRAGMA application_id = {APPLICATION_ID};"
            + ";\n".join(scripts)
            + """;
            CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
            INSERT INTO alembic_version VALUES ('0003');
            INSERT INTO camera (id, make, model, serial) VALUES (3, 'Larkfield', 'Field 35', '7');
            INSERT INTO clock_correction (id, camera_id, from_moment, add_seconds, note)
            VALUES (4, 3, '1900-01-01T00:00:00', 2820, 'by hand');
            INSERT INTO photo (id, sha256, content_sha256, original_name, file_kind, n_bytes,
                width_px, height_px, taken_at, camera_id, taken_in_at, subject, subject_by_hand,
                match_state, match_by_hand)
            VALUES (5, printf('%064d', 1), printf('%064d', 2), 'LF1.jpg', 'jpeg', 9, 40, 30,
                '2026-05-16T10:00:00', 3, '2026-05-16T00:00:00+00:00', 'clump', 0, 'waiting', 0);
            """
        )
    with StockBook.open(old.parent):
        fresh = StockBook.start(tmp_path / "fresh")
        fresh.close()
    assert statements(old) == statements(fresh.file)
    assert rows(old, "SELECT * FROM camera") == [(3, "Larkfield", "Field 35", "7", "")]
    assert rows(old, "SELECT * FROM clock_correction") == [
        (4, 3, "1900-01-01T00:00:00", None, None, None, None, 2820, "by hand", None)
    ]
    assert rows(old, "SELECT camera_id, taken_at FROM photo") == [(3, "2026-05-16T10:00:00")]


def test_decisions_and_proposals_made_before_are_kept(tmp_path: Path) -> None:
    old = tmp_path / "garden" / "book.sqlite3"
    for name in ("photos", "made", "backups"):
        (old.parent / name).mkdir(parents=True)
    versions = Path(running.__file__).parent / "versions"
    scripts = [
        (versions / name).read_text(encoding="utf-8")
        for name in ("first_tables_0001.sql", "by_hand_0002.sql", "proposals_0003.sql")
    ]
    photo = """INSERT INTO photo (id, sha256, content_sha256, original_name, file_kind, n_bytes,
        width_px, height_px, taken_at, told_on, taken_in_at, subject, subject_by_hand, match_state,
        match_by_hand)
        VALUES ({id}, printf('%064d', {id}), printf('%064d', {id}), 'LF{id}.jpg', 'jpeg', 9, 40, 30,
        {taken}, {told}, '2026-06-01T00:00:00+00:00', 'clump', 0, '{state}', {by_hand});"""
    photos = [
        photo.format(id=5, taken="'2026-05-16T12:00:00'", told="NULL", state="matched", by_hand=1),
        photo.format(id=6, taken="NULL", told="'2026-05-17'", state="matched", by_hand=1),
        photo.format(id=7, taken="'2026-05-16T12:09:00'", told="NULL", state="no plant", by_hand=1),
        photo.format(id=8, taken="'2026-05-16T12:10:00'", told="NULL", state="matched", by_hand=0),
    ]
    with closing(sqlite3.connect(old)) as connection:
        connection.executescript(
            f"PRAGMA application_id = {APPLICATION_ID};"
            + ";\n".join(scripts)
            + """;
            CREATE TABLE alembic_version (version_num VARCHAR(32) NOT NULL PRIMARY KEY);
            INSERT INTO alembic_version VALUES ('0003');
            INSERT INTO variety (id, name, name_key, kind, note)
            VALUES (3, 'Tin Orchard', 'tin orchard', 'named', '');
            INSERT INTO plant (id, variety_id, came_from, since, note)
            VALUES (4, 3, 'bought', '2025-10-01', '');"""
            + "".join(photos)
            + "".join(
                f"""INSERT INTO photo_subject (photo_id, plant_id, reason, because, probability,
                by_hand, matched_at) VALUES ({id_}, 4, 'by hand', '', 1.0, {by_hand},
                '2026-06-0{id_ - 2}T00:00:00+00:00');"""
                for id_, by_hand in ((5, 1), (6, 1), (8, 0))
            )
            + """INSERT INTO proposal (id, photo_id, mark, meant, state, by_hand, plant_id, on_date,
                because) VALUES (2, 8, 201, 201, 'proposed', 1, 4, '2026-05-16', '');"""
        )
    with StockBook.open(old.parent):
        pass
    assert rows(
        old, "SELECT photo_id, plant_id, told_day FROM decided_photo ORDER BY photo_id"
    ) == [
        (5, 4, 0),
        (6, 4, 1),
        (7, None, 0),
    ]
    # The newest is the last that was decided: of 'no plant' only the intake's moment is known.
    assert rows(
        old,
        "SELECT photo_id FROM decision JOIN decided_photo ON decision_id = decision.id "
        "ORDER BY decided_at DESC LIMIT 1",
    ) == [(6,)]
    assert rows(old, "SELECT id, mark, by_hand, plant_id, box_id FROM proposal") == [
        (2, 201, 1, 4, None)
    ]
