"""Watching a folder: what a phone's sync puts there is taken in once it is whole."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from threading import Event

from sqlalchemy import select
from sqlalchemy.dialects.sqlite import insert

from photolog.book.errors import BookLocked, WrongEntry
from photolog.book.intake import take_in
from photolog.book.intake_report import IntakeReport, Refused
from photolog.book.stockbook import StockBook
from photolog.photos.settling import FileState, Looked, Settling
from photolog.records import PhotoRow, WatchedFileRow

__all__ = ["WatchPace", "WatchReport", "check_folder", "watch"]

# So many are taken in at a time, so that what is remembered is never far behind.
_AT_ONCE = 40

# For fewer than so many, one process that reads them is enough.
_FEW = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class WatchPace:
    """How often a folder is looked at, and when a file there is held to be whole, in seconds.

    Attributes
    ----------
    every_s : float
        From one look to the next.
    settled_s : float
        A file that has not changed for so long is tried.
    given_up_s : float
        One that can't be read then may still be on its way: it is tried again, and refused, when
        it has not changed for so long.
    """

    every_s: float = 2.0
    settled_s: float = 5.0
    given_up_s: float = 60.0


@dataclass(slots=True, kw_only=True)
class WatchReport:
    """What became of all files while the folder was watched."""

    taken: int = 0
    known: int = 0
    refused: int = 0
    unfinished: int = 0
    seconds: float = 0.0


def check_folder(book: StockBook, folder: Path) -> None:
    """``WrongEntry`` where there is no such folder, or it is the stock book's own."""
    if not folder.is_dir():
        msg = f"There is no folder {folder} to watch. Check its name, or make it first."
        raise WrongEntry(msg)
    if folder.resolve().is_relative_to(book.folder.resolve()):
        msg = f"{folder} is the stock book's own folder. Watch the one that the photos come to."
        raise WrongEntry(msg)


def watch(
    book: StockBook,
    folder: Path,
    *,
    stop: Event,
    tell: Callable[[str], None],
    after: Callable[[IntakeReport], None],
    pace: WatchPace | None = None,
) -> WatchReport:
    """Take in what is put in a folder, and in the folders in it, until ``stop`` is set.

    What was taken in is remembered in the stock book by path, size and time of change, so that
    nothing is read twice after a restart; and since every photo is known by its hash, a watch that
    was killed loses nothing and doubles nothing. ``tell`` is given sentences, ``after`` what became
    of each lot. Raises as ``check_folder`` and ``take_in`` do, except that a book in use by another
    program is waited for.
    """
    check_folder(book, folder)
    began = time.monotonic()
    watched = _Watch(book, folder, stop, tell, after, pace or WatchPace())
    while not stop.is_set():
        watched.one_look()
        stop.wait(watched.pace.every_s)
    watched.report.seconds = time.monotonic() - began
    return watched.report


@dataclass(slots=True)
class _Watch:
    """A watch and what it knows: ``done`` from the stock book, the rest since it began.

    ``tried`` are files that could not be read, as they were then; ``refused`` those of them that
    were tried for the last time as they are.
    """

    book: StockBook
    folder: Path
    stop: Event
    tell: Callable[[str], None]
    after: Callable[[IntakeReport], None]
    pace: WatchPace
    report: WatchReport = field(default_factory=WatchReport)
    done: dict[Path, tuple[int, int]] = field(default_factory=dict)
    tried: dict[Path, FileState] = field(default_factory=dict)
    refused: dict[Path, FileState] = field(default_factory=dict)
    said: set[str] = field(default_factory=set)
    away: bool = False
    settling: Settling = field(init=False)

    def __post_init__(self) -> None:
        # The path by which a file is remembered is the same wherever the program is started.
        self.settling = Settling(self.folder.absolute(), leave_out=self.book.folder)
        self.done = _remembered(self.book)

    def one_look(self) -> None:
        """Look at the folder once, and take in what is due."""
        looked = self.settling.look(time.monotonic())
        self._say_trouble(looked)
        due = [path for path, seen in looked.files.items() if self._is_due(path, *seen)]
        for at in range(0, len(due), _AT_ONCE):
            if not self.stop.is_set():
                self._take(due[at : at + _AT_ONCE], looked)
        self.report.unfinished = sum(
            self._is_open(path, state) for path, (state, _) in looked.files.items()
        )

    def _say_trouble(self, looked: Looked) -> None:
        """Each trouble once; the folder itself each time that it goes and comes back."""
        if not looked.there and not self.away:
            self.tell(f"{self.folder} is gone. It is watched again as soon as it is back.")
        elif looked.there and self.away:
            self.tell(f"{self.folder} is back.")
        self.away = not looked.there
        for path, why in looked.trouble if looked.there else ():
            self._say_once(f"{path} can't be read ({why}).")

    def _say_once(self, sentence: str) -> None:
        if sentence not in self.said:
            self.said.add(sentence)
            self.tell(sentence)

    def _is_open(self, path: Path, state: FileState) -> bool:
        """Whether a file is still to be dealt with."""
        done = self.done.get(path) == (state.n_bytes, state.modified_ns)
        return not done and self.refused.get(path) != state

    def _is_due(self, path: Path, state: FileState, resting_s: float) -> bool:
        """Whether to try it now: at rest for long enough, and not tried as it is."""
        was_tried = self.tried.get(path) == state
        enough_s = self.pace.given_up_s if was_tried else self.pace.settled_s
        return resting_s >= enough_s and self._is_open(path, state)

    def _take(self, due: Sequence[Path], looked: Looked) -> None:
        try:
            workers = 1 if len(due) < _FEW else 2
            lot = take_in(self.book, due, workers=workers, stop=self.stop.is_set)
        except BookLocked as busy:
            self._say_once(f"{busy} It is tried again.")
            return
        found = {one.path: one.photo_id for one in lot.taken}
        found |= {one.path: one.photo_id for one in lot.known}
        # The others may still be on their way, or were taken away again meanwhile.
        refused = tuple(
            one
            for one in lot.refused
            if looked.files[one.path][1] >= self.pace.given_up_s and one.path.exists()
        )
        _remember(self.book, found, refused, looked)
        for path in found:
            state, _ = looked.files[path]
            self.done[path] = (state.n_bytes, state.modified_ns)
        for one in lot.refused:
            self.tried[one.path] = looked.files[one.path][0]
        for one in refused:
            self.refused[one.path] = looked.files[one.path][0]
        self.report.taken += len(lot.taken)
        self.report.known += len(lot.known)
        self.report.refused += len(refused)
        self.after(replace(lot, refused=refused))


def _remembered(book: StockBook) -> dict[Path, tuple[int, int]]:
    """Of every file that was taken in, its size and time of change then."""
    with book.reading() as session:
        rows = session.execute(
            select(WatchedFileRow.path, WatchedFileRow.n_bytes, WatchedFileRow.modified_ns).where(
                WatchedFileRow.photo_id.is_not(None)
            )
        )
        return {Path(row.path): (row.n_bytes, row.modified_ns) for row in rows}


def _remember(
    book: StockBook, found: Mapping[Path, int], refused: Iterable[Refused], looked: Looked
) -> None:
    said = {one.path: one.reason for one in refused}
    if not found and not said:
        return
    now = datetime.now(UTC)
    with book.writing() as session:
        rows = session.execute(
            select(PhotoRow.id, PhotoRow.sha256).where(PhotoRow.id.in_(found.values()))
        )
        hashes = {row.id: row.sha256 for row in rows}
        for path in (*found, *said):
            state, _ = looked.files[path]
            photo_id = found.get(path)
            row = {
                "path": str(path),
                "n_bytes": state.n_bytes,
                "modified_ns": state.modified_ns,
                "sha256": None if photo_id is None else hashes[photo_id],
                "photo_id": photo_id,
                "refused": said.get(path),
                "seen_at": now,
            }
            statement = insert(WatchedFileRow).values(row)
            session.execute(
                statement.on_conflict_do_update(index_elements=[WatchedFileRow.path], set_=row)
            )
