"""The stock book as a folder: beginning one, opening one, reading and writing in it."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import local
from typing import Self

from sqlalchemy import Engine
from sqlalchemy.orm import Session, sessionmaker

from photolog.book.errors import (
    BookFull,
    BookMissing,
    BookReadOnly,
    FolderInUse,
    NotAStockBook,
)
from photolog.records.database import BUSY_TIMEOUT_MS, Begin, engine_for
from photolog.records.migrations import UNFINISHED, back_up, bring_up_to_date, make_tables
from photolog.records.trouble import said_plainly

__all__ = ["StockBook"]

BOOK_FILE = "book.sqlite3"

_FOLDERS = ("photos", "made", "backups")

# Left by file managers in a folder that looks empty.
_UNSEEN = frozenset({".DS_Store", "Thumbs.db", "desktop.ini", ".directory"})


class StockBook:
    """An open stock book.

    Its folder holds ``book.sqlite3``; ``photos/``, the originals; ``made/``, what can be thrown
    away and made again; ``backups/``, copies of the book file.

    Attributes
    ----------
    folder, file, photos, made, backups : Path
    backup_made : Path or None
        The copy that was made when opening brought the tables up to date.
    """

    def __init__(
        self, folder: Path, *, busy_timeout_ms: int, backup_made: Path | None = None
    ) -> None:
        self.folder = folder
        self.file = folder / BOOK_FILE
        self.photos = folder / "photos"
        self.made = folder / "made"
        self.backups = folder / "backups"
        self.backup_made = backup_made
        self._writer = self._engine("BEGIN IMMEDIATE", busy_timeout_ms)
        self._reader = self._engine("BEGIN", busy_timeout_ms)
        self._sessions_to_write = sessionmaker(self._writer, expire_on_commit=False)
        self._sessions_to_read = sessionmaker(self._reader, expire_on_commit=False)
        self._in_this_thread = local()

    @classmethod
    def start(cls, folder: Path | str) -> StockBook:
        """Begin a stock book in a new or empty folder, and open it.

        Raises ``FolderInUse`` where the folder holds anything, ``BookReadOnly`` where it can't be
        made or written to.
        """
        folder = Path(folder)
        if folder.exists() and not folder.is_dir():
            msg = f"{folder} is a file. Give the name of a new folder for the stock book."
            raise FolderInUse(msg)
        if (folder / BOOK_FILE).exists():
            msg = f"{folder} is a stock book already. Go on with it, or give another folder."
            raise FolderInUse(msg)
        try:
            folder.mkdir(parents=True, exist_ok=True)
            others = sorted(entry.name for entry in folder.iterdir() if not _may_be_there(entry))
            if others:
                msg = (
                    f"{folder} already holds other things ({', '.join(others[:3])}"
                    f"{' …' if len(others) > 3 else ''}). Give a new or an empty folder."
                )
                raise FolderInUse(msg)
            for name in _FOLDERS:
                (folder / name).mkdir(exist_ok=True)
            make_tables(folder / BOOK_FILE)
        except OSError as error:
            if error.errno == errno.ENOSPC:
                raise BookFull(folder) from error
            raise BookReadOnly(folder) from error
        return cls.open(folder)

    @classmethod
    def open(cls, folder: Path | str, *, busy_timeout_ms: int = BUSY_TIMEOUT_MS) -> StockBook:
        """Open the stock book in a folder; tables of an older version are backed up, then migrated.

        Raises ``BookMissing``, ``NotAStockBook``, ``BookTooNew``, ``BookLocked``, ``BookReadOnly``
        or ``BookDamaged``, each with a sentence.
        """
        folder = Path(folder)
        file = folder / BOOK_FILE
        if not file.exists():
            raise BookMissing(folder)
        if not file.is_file():
            raise NotAStockBook(file)
        # Even a reader writes beside the book file (the log and its index).
        if not (os.access(file, os.W_OK) and os.access(folder, os.W_OK)):
            raise BookReadOnly(file)
        backup = bring_up_to_date(file, backups=folder / "backups")
        book = cls(folder, busy_timeout_ms=busy_timeout_ms, backup_made=backup)
        for name in _FOLDERS:
            (folder / name).mkdir(exist_ok=True)
        return book

    def close(self) -> None:
        """Close every connection; SQLite then folds its log into the book file."""
        self._reader.dispose()
        self._writer.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """One transaction that writes: all of it or, where an error leaves the block, none.

        Inside another ``writing`` of the same thread it is part of that one, so that what belongs
        together is kept or dropped together.
        """
        outer: Session | None = getattr(self._in_this_thread, "session", None)
        if outer is not None:
            # A savepoint: an error that the outer block catches drops only the inner part.
            with outer.begin_nested():
                yield outer
            return
        with said_plainly(self.file), self._sessions_to_write.begin() as session:
            # Take the lock now: a book that is in use is said so before any work is done.
            session.connection()
            self._in_this_thread.session = session
            try:
                yield session
            finally:
                self._in_this_thread.session = None

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """One transaction that only reads: a steady view of the book, which nobody waits for.

        Inside ``writing`` of the same thread it reads what that one has written so far.
        """
        outer: Session | None = getattr(self._in_this_thread, "session", None)
        if outer is not None:
            yield outer
            return
        with said_plainly(self.file), self._sessions_to_read() as session:
            yield session

    def back_up(self, to: Path) -> None:
        """Copy the book file (not the photos) to a new file, also while the book is in use."""
        with said_plainly(self.file):
            back_up(self.file, to)

    @property
    def engines(self) -> tuple[Engine, Engine]:
        """The engine that writes and the one that reads, for those who count queries."""
        return self._writer, self._reader

    def _engine(self, begin: Begin, busy_timeout_ms: int) -> Engine:
        return engine_for(self.file, begin=begin, busy_timeout_ms=busy_timeout_ms)


def _may_be_there(entry: Path) -> bool:
    """Whether this does not hinder a start: unseen, or left by a start that was cut off."""
    if entry.name in _FOLDERS and entry.is_dir():
        return not any(entry.iterdir())
    return entry.name in _UNSEEN or entry.name.startswith(BOOK_FILE + UNFINISHED)
