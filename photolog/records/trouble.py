# ruff: noqa: N818  (each is named for what is wrong, as the grower reads it)
"""What can be wrong with a stock book's file, each as a sentence for the grower."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy.exc import DatabaseError

__all__ = [
    "BackupThere",
    "BookDamaged",
    "BookError",
    "BookFull",
    "BookLocked",
    "BookMissing",
    "BookReadOnly",
    "BookTooNew",
    "DiskFailed",
    "NotAStockBook",
    "said_plainly",
]

# The log's index alone takes 32 kB at a time, the log some more.
_ROOM_NEEDED_BYTES = 256 * 1024


class BookError(Exception):
    """Something that the stock book can't do; the message is a sentence for the grower."""


class BookMissing(BookError):
    """There is no stock book in the folder."""

    def __init__(self, folder: Path) -> None:
        super().__init__(
            f"There is no stock book in {folder}. "
            f"Give the folder that holds book.sqlite3, or begin one: photolog start {folder}"
        )


class NotAStockBook(BookError):
    """The file is there, but it is something else."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is not a stock book of photolog. "
            "Give the folder of your stock book, or bring this one back from a backup."
        )


class BackupThere(BookError):
    """A file of the backup's name is there already."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is there already, and a backup never replaces a file. Give another name."
        )


class BookTooNew(BookError):
    """The tables are of a version that this program does not know."""

    def __init__(self, path: Path, *, found: str, known: str) -> None:
        super().__init__(
            f"{path} was written by a newer photolog (its tables are of version {found}; this "
            f"program knows them up to {known}). Install the newer photolog; nothing was changed."
        )


class BookLocked(BookError):
    """Another program holds the file."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} is in use by another program. "
            "Close the other one (or wait until it has finished) and do it again."
        )


class BookReadOnly(BookError):
    """The file, or its folder, can't be written to."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"{path} can't be written to. Give yourself the right to write in its folder "
            "(on a memory card, look at its write-protect slide) and do it again."
        )


class BookFull(BookError):
    """The disk has no room left; ``so_far``: what a longer work has done, and how to go on."""

    def __init__(self, path: Path, *, so_far: str | None = None) -> None:
        rest = so_far or (
            "What was not finished was left out, what was taken in before is safe. "
            "Make room and do it again."
        )
        super().__init__(f"The disk that holds {path} is full. {rest}")


class DiskFailed(BookError):
    """The disk did not do what was asked of it."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"The disk that holds {path} can't be read or written just now. Look whether it is "
            "still plugged in, and do it again. If it happens again, copy the folder to another "
            "disk."
        )


class BookDamaged(BookError):
    """The file can't be read as it should."""

    def __init__(self, path: Path, *, detail: str) -> None:
        super().__init__(
            f"{path} is damaged ({detail}). Bring it back from a backup; your photographs in the "
            "folder beside it are whole."
        )


@contextmanager
def said_plainly(path: Path) -> Iterator[None]:
    """Turn what SQLite says of the file at ``path`` into a BookError; the rest passes through."""
    try:
        yield
    except (DatabaseError, sqlite3.DatabaseError) as error:
        said = error.orig if isinstance(error, DatabaseError) else error
        plain = _plain(str(said).lower(), path)
        if plain is None:
            raise
        raise plain from error


_SAID: tuple[tuple[str, Callable[[Path], BookError]], ...] = (
    ("is locked", BookLocked),
    ("readonly", BookReadOnly),
    ("is full", BookFull),
    ("not a database", NotAStockBook),
)


def _plain(said: str, path: Path) -> BookError | None:
    for words, trouble in _SAID:
        if words in said:
            return trouble(path)
    if "unable to open" in said:
        return BookReadOnly(path) if path.exists() else BookMissing(path.parent)
    if "disk i/o error" in said:
        # So it is said, too, when the log's index can't grow for want of room.
        full = shutil.disk_usage(path.parent).free < _ROOM_NEEDED_BYTES
        return BookFull(path) if full else DiskFailed(path)
    if "malformed" in said or "no such table" in said:
        return BookDamaged(path, detail=said)
    return None
