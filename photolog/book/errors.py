# ruff: noqa: N818  (each is named for what is wrong, as the grower reads it)
"""Everything that the stock book can refuse, each as a sentence for the grower."""

from __future__ import annotations

from photolog.records.trouble import (
    BackupThere,
    BookDamaged,
    BookError,
    BookFull,
    BookLocked,
    BookMissing,
    BookReadOnly,
    BookTooNew,
    DiskFailed,
    NotAStockBook,
)

__all__ = [
    "AlreadyThere",
    "BackupThere",
    "BookDamaged",
    "BookError",
    "BookFull",
    "BookLocked",
    "BookMissing",
    "BookReadOnly",
    "BookTooNew",
    "DiskFailed",
    "FolderInUse",
    "NotAStockBook",
    "NotEnough",
    "Unknown",
    "WrongEntry",
    "WrongTag",
]


class FolderInUse(BookError):
    """The folder for a new stock book holds other things, or already a stock book."""


class Unknown(BookError):
    """No tag, variety, plant, batch or entry like this in the stock book."""


class AlreadyThere(BookError):
    """It is in the stock book already."""


class WrongTag(BookError):
    """A tag's number or check letter can't be right, or the tag is held by another."""


class NotEnough(BookError):
    """A batch does not have so many left."""


class WrongEntry(BookError):
    """What was given can't be entered as it stands."""
