"""Which files in a folder have come to rest, so that whoever writes them is done."""

from __future__ import annotations

import stat
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from photolog.photos.folders import files_in, is_photo
from photolog.photos.kinds import looks_like_photo

__all__ = ["FileState", "Looked", "Settling"]

# Ends of the names that files have while they are written, whatever writes them.
_UNFINISHED = (".part", ".partial", ".tmp", ".temp", ".crdownload", ".download", ".filepart")


class FileState(NamedTuple):
    """What changes when a file is written to, replaced, or its permissions are changed."""

    n_bytes: int
    modified_ns: int
    changed_ns: int
    inode: int


@dataclass(slots=True)
class _Seen:
    state: FileState
    since_s: float


@dataclass(slots=True, kw_only=True)
class Looked:
    """One look at a folder.

    ``files`` are the photos there with their state and for how many seconds it has been so;
    ``there`` is False where the folder itself is gone; ``trouble`` are folders that can't be read.
    """

    there: bool
    files: dict[Path, tuple[FileState, float]] = field(default_factory=dict)
    trouble: list[tuple[Path, str]] = field(default_factory=list)


class Settling:
    """Looks at a folder again and again, and remembers since when each file is as it is.

    Names that programs give to files they are still writing are passed over, as are hidden ones.
    """

    def __init__(self, folder: Path, *, leave_out: Path | None = None) -> None:
        self.folder = folder
        self.leave_out = leave_out
        self._seen: dict[Path, _Seen] = {}
        self._no_photos: dict[Path, FileState] = {}

    def look(self, now_s: float) -> Looked:
        """What is there at this moment, by a clock that only runs forward."""
        looked = Looked(there=self.folder.is_dir())
        if not looked.there:
            self._seen.clear()
            return looked
        seen: dict[Path, _Seen] = {}
        for path in files_in(
            self.folder,
            leave_out=self.leave_out,
            seen=set(),
            unreadable=lambda path, why: looked.trouble.append((path, why)),
        ):
            state = None if _is_unfinished(path) else _state_of(path)
            if state is None or not self._is_photo(path, state):
                continue
            before = self._seen.get(path)
            same = before is not None and before.state == state
            seen[path] = before if same and before is not None else _Seen(state, now_s)
            looked.files[path] = (state, now_s - seen[path].since_s)
        # Gone while it was gone through: an empty list would be no news of its files.
        looked.there = self.folder.is_dir()
        self._seen = seen
        return looked

    def _is_photo(self, path: Path, state: FileState) -> bool:
        if looks_like_photo(path):
            return True
        if self._no_photos.get(path) == state:
            return False
        if is_photo(path):
            return True
        self._no_photos[path] = state
        return False


def _is_unfinished(path: Path) -> bool:
    return path.name.startswith("~") or path.name.lower().endswith(_UNFINISHED)


def _state_of(path: Path) -> FileState | None:
    """None for what is no file, or is gone by now."""
    try:
        status = path.stat()
    except OSError:
        return None
    if not stat.S_ISREG(status.st_mode):
        return None
    return FileState(status.st_size, status.st_mtime_ns, status.st_ctime_ns, status.st_ino)
