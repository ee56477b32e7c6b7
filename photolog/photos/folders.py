"""Finding the photos in folders: each once, nothing hidden, and no link followed in a circle."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from photolog.photos.kinds import PhotoError, looks_like_photo, sniff

__all__ = ["Found", "find_photos"]


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
    def unreadable(error: OSError) -> None:
        what = f"The folder can't be read ({error.strerror})."
        remedy = "Change its permissions, or copy the photos somewhere else."
        found.refused.append((Path(error.filename or folder), PhotoError(what, remedy)))

    left_out = leave_out.resolve() if leave_out is not None else None
    for parent, folders, names in os.walk(folder, followlinks=True, onerror=unreadable):
        here = Path(parent)
        status = here.stat()
        # A link to a folder further up would go round for ever.
        if (status.st_dev, status.st_ino) in seen or here.resolve() == left_out:
            folders.clear()
            continue
        seen.add((status.st_dev, status.st_ino))
        folders[:] = sorted(name for name in folders if not name.startswith("."))
        for name in sorted(names):
            path = here / name
            if name.startswith("."):
                continue
            if looks_like_photo(path) or _is_photo(path):
                files[path] = None
            else:
                found.passed_over += 1


def _is_photo(path: Path) -> bool:
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return False
        sniff(path)
    except (PhotoError, OSError):
        return False
    return True
