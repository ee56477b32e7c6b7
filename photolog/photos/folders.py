"""Finding the photos in folders: each once, nothing hidden, and no link followed in a circle."""

from __future__ import annotations

import os
import stat
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

from photolog.photos.kinds import PhotoError, looks_like_photo, sniff

__all__ = ["Found", "files_in", "find_photos", "is_photo"]


@dataclass(slots=True)
class Found:
    """The files to look at in order, what could not be looked into, and how many were no photos."""

    files: list[Path] = field(default_factory=list)
    refused: list[tuple[Path, PhotoError]] = field(default_factory=list)
    passed_over: int = 0


def find_photos(paths: Iterable[Path | str], *, leave_out: Path | None = None) -> Found:
    """Every file named, and every photo in the folders named with all the folders in them.

    In folders, hidden files and folders are left out, and files are passed over (and counted) that
    neither are photos nor are named like photos. ``leave_out`` is a folder not to go into.
    """
    found = Found()
    files: dict[Path, None] = {}
    seen: set[tuple[int, int]] = set()
    for given in paths:
        path = Path(given)
        if path.is_dir():
            _look_into(path, found, files, seen, leave_out)
        elif path.exists():
            files[path] = None
        else:
            what = "There is no such file or folder."
            found.refused.append((path, PhotoError(what, "Check the name.")))
    found.files = list(files)
    return found


def _look_into(
    folder: Path,
    found: Found,
    files: dict[Path, None],
    seen: set[tuple[int, int]],
    leave_out: Path | None,
) -> None:
    def unreadable(path: Path, why: str) -> None:
        what = f"The folder can't be read ({why})."
        remedy = "Change its permissions, or copy the photos somewhere else."
        found.refused.append((path, PhotoError(what, remedy)))

    for path in files_in(folder, leave_out=leave_out, seen=seen, unreadable=unreadable):
        if looks_like_photo(path) or is_photo(path):
            files[path] = None
        else:
            found.passed_over += 1


def files_in(
    folder: Path,
    *,
    leave_out: Path | None,
    seen: set[tuple[int, int]],
    unreadable: Callable[[Path, str], None],
) -> Iterator[Path]:
    """Every file in a folder and all its folders, in order, hidden ones left out.

    ``seen`` are the folders (device, number) that were gone through already, and grows;
    ``unreadable`` is told of each folder that can't be read, and why.
    """

    def failed(error: OSError) -> None:
        unreadable(Path(error.filename or folder), error.strerror or str(error))

    left_out = leave_out.resolve() if leave_out is not None else None
    for parent, folders, names in os.walk(folder, followlinks=True, onerror=failed):
        here = Path(parent)
        try:
            status = here.stat()
        except OSError as error:
            failed(error)
            folders.clear()
            continue
        # A link to a folder further up would go round for ever.
        if (status.st_dev, status.st_ino) in seen or here.resolve() == left_out:
            folders.clear()
            continue
        seen.add((status.st_dev, status.st_ino))
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        yield from (here / name for name in sorted(names) if not name.startswith("."))


def is_photo(path: Path) -> bool:
    """Whether a file's own bytes say that it is a photo, whatever its name."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return False
        sniff(path)
    except (PhotoError, OSError):
        return False
    return True
