"""Which version a stock book's tables are of, and the way to the newest."""

from __future__ import annotations

import glob
import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection

from photolog.records.database import APPLICATION_ID, engine_for
from photolog.records.trouble import (
    BackupThere,
    BookDamaged,
    BookFull,
    BookTooNew,
    NotAStockBook,
    said_plainly,
)

__all__ = [
    "HEAD",
    "KNOWN",
    "UNFINISHED",
    "back_up",
    "bring_up_to_date",
    "make_tables",
    "version_of",
]

KNOWN = ("0001", "0002", "0003", "0004", "0005", "0006", "0007")
"""Every version of the tables, oldest first; a test holds this against the migration files."""

HEAD = KNOWN[-1]

UNFINISHED = ".unfinished"
"""End of the name of a stock book file that is being made."""

# Alembic finds the migrations here; a test puts others in its place.
_SCRIPTS = Path(__file__).parent


def version_of(path: Path) -> str:
    """Read the version of the tables in a stock book file.

    Raises ``NotAStockBook`` where the file is something else, ``BookTooNew`` where a newer program
    wrote it.
    """
    engine = engine_for(path, begin="BEGIN")
    try:
        with said_plainly(path), engine.connect() as connection:
            ours = connection.exec_driver_sql("PRAGMA application_id").scalar_one()
            if ours != APPLICATION_ID:
                raise NotAStockBook(path)
            found = str(
                connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar_one()
            )
    finally:
        engine.dispose()
    if found not in KNOWN:
        raise BookTooNew(path, found=found, known=HEAD)
    return found


def make_tables(path: Path) -> None:
    """Make a new stock book file with all its tables; ``FileExistsError`` where one is there.

    It gets its name only when it is whole: interrupted, it leaves nothing that looks like a book.
    """
    if path.exists():
        raise FileExistsError(path)
    unfinished = path.with_name(path.name + UNFINISHED)
    _put_away(unfinished)
    unfinished.touch()
    _migrate(unfinished, known_as=path)
    unfinished.rename(path)


def bring_up_to_date(path: Path, *, backups: Path) -> Path | None:
    """Bring the tables to the newest version; return the backup made first, None if none needed."""
    found = version_of(path)
    if found == HEAD:
        return None
    stamp = datetime.now(UTC).strftime("%Y%m%d-%H%M%S")
    backup = _free_name(backups, f"book-of-version-{found}-{stamp}")
    back_up(path, backup)
    _migrate(path, known_as=path)
    return backup


def back_up(path: Path, to: Path) -> None:
    """Copy a stock book file, also while it is in use.

    SQLite's own backup is used: copying the file itself would miss what is still in its log. The
    copy gets its name only when it is whole and on disk. Raises ``BackupThere`` where ``to`` is
    there, ``BookMissing`` where ``path`` is not; the rest as ``said_plainly``.
    """
    if to.exists():
        raise BackupThere(to)
    to.parent.mkdir(parents=True, exist_ok=True)
    unfinished = to.with_name(to.name + UNFINISHED)
    _put_away(unfinished)
    try:
        # Made here first: a folder that may not be written is then not said of the book.
        unfinished.touch()
        with said_plainly(path):
            _copy_book(path, unfinished)
        with unfinished.open("rb+") as copy:
            os.fsync(copy.fileno())
        unfinished.rename(to)
    except BookFull as error:
        raise BookFull(to.parent) from error
    except FileExistsError as error:
        # On Windows a name taken meanwhile is not given to another file.
        raise BackupThere(to) from error
    finally:
        _put_away(unfinished)


def _copy_book(path: Path, to: Path) -> None:
    # Opened to write, as the log of a book that is in use asks for, but never made.
    existing = f"{path.absolute().as_uri()}?mode=rw"
    with (
        closing(sqlite3.connect(existing, uri=True)) as source,
        closing(sqlite3.connect(to)) as target,
    ):
        source.backup(target)
        # The copy is one whole file, without a log beside it, so that it can be carried away.
        target.execute("PRAGMA journal_mode = DELETE")


def _put_away(unfinished: Path) -> None:
    """Drop an unfinished file, and what SQLite wrote beside it."""
    for leftover in unfinished.parent.glob(glob.escape(unfinished.name) + "*"):
        leftover.unlink()


def _free_name(folder: Path, name: str) -> Path:
    """A backup's name that is not taken: an earlier try may have been in the same second."""
    free = folder / f"{name}.sqlite3"
    number = 2
    while free.exists():
        free = folder / f"{name}-{number}.sqlite3"
        number += 1
    return free


def _migrate(path: Path, *, known_as: Path) -> None:
    """Run what migrations are missing, in one transaction: all of them or none."""
    from alembic import command
    from alembic.config import Config

    config = Config()
    # Alembic reads % in its settings as the start of a variable.
    config.set_main_option("script_location", str(_SCRIPTS).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    engine = engine_for(path, begin="BEGIN IMMEDIATE", foreign_keys=False)
    try:
        with said_plainly(known_as), engine.begin() as connection:
            connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
            config.attributes["connection"] = connection
            command.upgrade(config, "head")
            _check_links(connection, known_as)
    finally:
        engine.dispose()


def _check_links(connection: Connection, path: Path) -> None:
    broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if broken:
        tables = ", ".join(sorted({str(row[0]) for row in broken}))
        raise BookDamaged(path, detail=f"rows of {tables} point at rows that are not there")
