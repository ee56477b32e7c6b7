"""Copies on their way into the stock book: synced, named by their hash, cleared up after a kill."""

from __future__ import annotations

import hashlib
import os
import time
from contextlib import suppress
from pathlib import Path
from typing import BinaryIO

from photolog.book.stockbook import StockBook

__all__ = ["SourceFailed", "clear_incoming", "copy_synced", "name_by_hash", "place_for_copy"]

_FOLDER = ".incoming"
_BLOCK = 1 << 20
_LONG_AGO_S = 3600.0


class SourceFailed(Exception):  # noqa: N818  (named for what is wrong)
    """The grower's file could not be read to its end; ``why`` in the system's words."""

    def __init__(self, error: OSError) -> None:
        self.why = error.strerror or str(error)
        super().__init__(self.why)


def place_for_copy(book: StockBook, number: int) -> Path:
    """Where this process puts a copy: on the disk of the originals, so that it can be renamed."""
    folder = book.photos / _FOLDER
    folder.mkdir(exist_ok=True)
    return folder / f"{os.getpid()}-{number}"


def copy_synced(source: Path, copy: Path) -> tuple[str, int]:
    """Copy a file and sync the copy; hash and size are of what was copied.

    Raises ``SourceFailed``, the begun copy put away, where it is the source that fails; an
    ``OSError`` is of the copy.
    """
    digest = hashlib.sha256()
    n_bytes = 0
    try:
        with _opened(source) as reader, copy.open("wb") as writer:
            while block := _next_block(reader):
                digest.update(block)
                n_bytes += len(block)
                writer.write(block)
            writer.flush()
            os.fsync(writer.fileno())
    except SourceFailed:
        copy.unlink(missing_ok=True)
        raise
    return digest.hexdigest(), n_bytes


def _opened(source: Path) -> BinaryIO:
    try:
        return source.open("rb")
    except OSError as error:
        raise SourceFailed(error) from error


def _next_block(reader: BinaryIO) -> bytes:
    try:
        return reader.read(_BLOCK)
    except OSError as error:
        raise SourceFailed(error) from error


def name_by_hash(copy: Path, original: Path) -> None:
    """Move a synced copy to its lasting name, and sync the folders that name it."""
    new_folder = not original.parent.exists()
    original.parent.mkdir(exist_ok=True)
    copy.replace(original)
    original.chmod(0o444)
    _sync_folder(original.parent)
    if new_folder:
        _sync_folder(original.parent.parent)


def clear_incoming(book: StockBook) -> None:
    """Put away this process's copies and those of a killed intake; one still running keeps its."""
    folder = book.photos / _FOLDER
    if not folder.is_dir():
        return
    for copy in folder.iterdir():
        if _left_behind(copy):
            copy.unlink(missing_ok=True)
    # Another intake that is running may need the folder: then it is not empty, and stays.
    with suppress(OSError):
        folder.rmdir()


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        # Windows keeps its folders in order by itself and can't open one to sync it.
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _left_behind(copy: Path) -> bool:
    """Whether nobody is working on a copy; its name starts with the number of its process."""
    process = copy.name.partition("-")[0]
    if not process.isdigit() or int(process) == os.getpid():
        return True
    if os.name == "nt":
        # There, asking a process whether it is there would end it.
        return time.time() - copy.stat().st_mtime > _LONG_AGO_S
    try:
        os.kill(int(process), 0)
    except ProcessLookupError:
        return True
    except PermissionError:
        return False
    return False
