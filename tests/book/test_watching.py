"""Watching a folder: whole files only, nothing twice, whatever happens to the folder meanwhile."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from photolog.book import StockBook, intake, watching
from photolog.book.errors import WrongEntry
from photolog.book.watching import WatchPace, watch
from photolog.records import PhotoRow, WatchedFileRow
from tests.photos.written import exif, picture, write

NOW = datetime(2026, 7, 1, tzinfo=UTC)
PACE = WatchPace(every_s=1.0, settled_s=3.0, given_up_s=10.0)
ROOT = Path(__file__).parents[2]


class Script:
    """Stands for the event that ends a watch: a step of the test is done between two looks.

    The watch's clock goes on by ``every_s`` from look to look; the last step is the last look's.
    """

    def __init__(self, steps: Sequence[Callable[[], object] | None]) -> None:
        self.steps = list(steps)
        self.now_s = 1000.0

    def is_set(self) -> bool:
        return not self.steps

    def wait(self, seconds: float) -> None:
        self.now_s += seconds
        step = self.steps.pop(0)
        if step is not None:
            step()


class Watched:
    """What a scripted watch told, and what became of the files."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.taken: list[str] = []
        self.known: list[str] = []
        self.refused: list[str] = []


@pytest.fixture
def sync(tmp_path: Path) -> Path:
    folder = tmp_path / "phone"
    folder.mkdir()
    return folder


@pytest.fixture
def watched(book, sync, monkeypatch):
    """Watch the folder with steps between the looks, the photos read in this process."""

    def run(*steps: Callable[[], object] | None) -> Watched:
        script, found = Script(steps), Watched()

        def note(lot):
            found.taken += [one.path.name for one in lot.taken]
            found.known += [one.path.name for one in lot.known]
            found.refused += [f"{one.path.name}: {one.reason}" for one in lot.refused]

        def here(book, due, *, workers, stop):
            return intake.take_in(book, due, workers=0, now=NOW, stop=stop)

        with monkeypatch.context() as patched:
            patched.setattr(watching, "take_in", here)
            patched.setattr(watching.time, "monotonic", lambda: script.now_s)
            report = watch(book, sync, stop=script, tell=found.said.append, after=note, pace=PACE)
        assert (report.taken, report.known) == (len(found.taken), len(found.known))
        assert report.refused == len(found.refused)
        found.unfinished = report.unfinished
        return found

    return run


def some(folder: Path, number: int, *, name: str | None = None) -> Path:
    return write(
        folder, name=name or f"LF{number}", image=picture(640, 480, seed=number), block=exif()
    )


def names(book: StockBook) -> list[str]:
    with book.reading() as session:
        return list(session.scalars(select(PhotoRow.original_name).order_by(PhotoRow.id)))


def looks(count: int) -> list[None]:
    return [None] * count


def test_a_file_is_taken_once_it_has_come_to_rest(sync, tmp_path, watched):
    data = some(tmp_path, 1).read_bytes()
    path = sync / "LF1.jpg"

    def grown(share: float) -> Callable[[], object]:
        return lambda: path.write_bytes(data[: round(share * len(data))])

    # It grows at each look but two, and rests for two: too short to be tried.
    found = watched(grown(0.2), grown(0.5), *looks(2), grown(0.8), grown(1.0), *looks(2))
    assert (found.taken, found.unfinished) == ([], 1)
    found = watched(*looks(5))
    assert (found.taken, found.refused, found.unfinished) == (["LF1.jpg"], [], 0)


def test_a_file_that_rests_before_it_is_whole_is_not_given_up_at_once(sync, tmp_path, watched):
    data = some(tmp_path, 1).read_bytes()
    path = sync / "LF1.jpg"
    path.write_bytes(data[:4000])
    found = watched(*looks(6), lambda: path.write_bytes(data), *looks(5))
    assert (found.taken, found.refused) == (["LF1.jpg"], [])


def test_a_file_that_never_becomes_whole_is_refused_once(sync, tmp_path, watched):
    data = some(tmp_path, 1).read_bytes()
    (sync / "LF1.jpg").write_bytes(data[:4000])
    (sync / "letter.jpg").write_text("Dear Imke")
    found = watched(*looks(20))
    assert found.refused == [
        "LF1.jpg: The photo is damaged or cut short.",
        "letter.jpg: The file is named like a JPEG photo but holds text.",
    ]
    # Replaced by a whole one it is taken after all.
    found = watched(lambda: (sync / "LF1.jpg").write_bytes(data), *looks(5))
    assert (found.taken, found.refused) == (["LF1.jpg"], [])


def test_names_of_files_that_are_still_written_are_passed_over(sync, watched):
    half = [sync / name for name in ("a.jpg.part", "b.tmp", "c.crdownload", ".d.jpg", "~e.jpg")]
    for number, path in enumerate(half):
        some(sync, number).rename(path)
    (sync / "film.mp4").write_bytes(b"\0\0\0\x18ftypmp42" + bytes(100))
    assert watched(*looks(15)).unfinished == 0
    found = watched(lambda: half[0].rename(sync / "a.jpg"), *looks(5))
    assert found.taken == ["a.jpg"]


def test_nothing_is_read_twice_after_a_restart(book, sync, watched, monkeypatch):
    (sync / "Camera" / "100").mkdir(parents=True)
    for number, folder in enumerate((sync, sync / "Camera", sync / "Camera" / "100")):
        some(folder, number)
    assert len(watched(*looks(5)).taken) == 3

    def opened(path: Path) -> str:
        msg = f"{path} was read again"
        raise AssertionError(msg)

    with monkeypatch.context() as patched:
        patched.setattr(intake, "file_sha256", opened)
        found = watched(*looks(15))
    assert (found.taken, found.known, found.unfinished) == ([], [], 0)


def test_a_watch_that_was_killed_before_it_remembered_doubles_nothing(book, sync, watched):
    some(sync, 1)
    watched(*looks(5))
    with book.writing() as session:
        session.delete(session.scalars(select(WatchedFileRow)).one())
    found = watched(*looks(5))
    assert (found.taken, found.known) == ([], ["LF1.jpg"])
    assert names(book) == ["LF1.jpg"]


def test_removed_and_replaced_files(book, sync, watched):
    first = some(sync, 1)
    gone = some(sync, 2)

    def replaced() -> None:
        some(sync, 3, name="LF1")
        os.utime(first, (1_700_000_000, 1_700_000_000))

    found = watched(*looks(2), gone.unlink, *looks(3), replaced, *looks(5))
    assert (found.taken, found.refused) == (["LF1.jpg", "LF1.jpg"], [])
    assert names(book) == ["LF1.jpg", "LF1.jpg"]
    # Touched only, it is looked at again and known.
    found = watched(lambda: os.utime(first), *looks(5))
    assert (found.taken, found.known) == ([], ["LF1.jpg"])


def test_a_file_taken_away_just_before_it_is_read_is_not_refused(sync, watched, monkeypatch):
    path = some(sync, 1)
    find = intake.find_photos

    def too_late(paths, **options):
        path.unlink(missing_ok=True)
        return find(paths, **options)

    monkeypatch.setattr(intake, "find_photos", too_late)
    found = watched(*looks(20))
    assert (found.taken, found.refused, found.unfinished) == ([], [], 0)


def test_the_folder_goes_and_comes_back(sync, watched):
    away = sync.with_name("away")
    some(sync, 1)
    found = watched(
        *looks(4),
        lambda: sync.rename(away),
        *looks(3),
        lambda: away.rename(sync),
        lambda: some(sync, 2),
        *looks(5),
    )
    assert found.taken == ["LF1.jpg", "LF2.jpg"]
    assert found.said == [
        f"{sync} is gone. It is watched again as soon as it is back.",
        f"{sync} is back.",
    ]


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_that_may_not_be_read_is_refused_until_it_may(sync, watched):
    path = some(sync, 1)
    path.chmod(0)
    found = watched(*looks(20))
    assert found.refused == ["LF1.jpg: The file may not be read."]
    found = watched(*looks(12), lambda: path.chmod(0o600), *looks(5))
    assert found.taken == ["LF1.jpg"]


def test_a_book_in_use_is_waited_for_and_said_once(book, sync, watched, monkeypatch):
    some(sync, 1)
    other = sqlite3.connect(book.file, isolation_level=None, check_same_thread=False)
    other.execute("BEGIN IMMEDIATE")
    with StockBook.open(book.folder, busy_timeout_ms=20) as impatient:
        monkeypatch.setattr(intake, "clear_incoming", lambda _: None)
        take_in = intake.take_in
        monkeypatch.setattr(
            intake, "take_in", lambda _, due, **options: take_in(impatient, due, **options)
        )
        found = watched(*looks(8), lambda: other.execute("ROLLBACK"), *looks(3))
    other.close()
    assert found.taken == ["LF1.jpg"]
    assert len(found.said) == 1
    assert "is in use by another program" in found.said[0]
    assert found.said[0].endswith("It is tried again.")


def test_where_there_is_nothing_to_watch(book, tmp_path):
    for folder, says in (
        (tmp_path / "nowhere", r"^There is no folder .*nowhere to watch\. Check its name"),
        (book.photos, r"is the stock book's own folder\. Watch the one that the photos come to"),
    ):
        with pytest.raises(WrongEntry, match=says):
            watch(book, folder, stop=Script([]), tell=print, after=print)


def test_a_folder_round_the_stock_book_is_watched_without_it(book, tmp_path, watched, sync):
    shutil.move(book.folder, sync / "stock book")
    with StockBook.open(sync / "stock book") as moved:
        some(sync, 1)
        script = Script(looks(8))
        report = watch(
            moved,
            sync,
            stop=script,
            tell=print,
            after=lambda _: None,
            pace=WatchPace(every_s=0.0, settled_s=0.0, given_up_s=0.0),
        )
    assert (report.taken, report.known, report.refused) == (1, 0, 0)


def started(book: StockBook, folder: Path, out: Path) -> subprocess.Popen[bytes]:
    """The real command in a process of its own."""
    program = "from photolog.cli import main; main()"
    with out.open("ab") as written:
        return subprocess.Popen(
            [sys.executable, "-c", program, "intake", "--watch", str(folder), "--no-measure",
             "--book", str(book.folder)],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=written,
            stderr=subprocess.STDOUT,
        )  # fmt: skip


def until(come: Callable[[], bool], process: subprocess.Popen[bytes], *, seconds: float) -> None:
    ends = time.monotonic() + seconds
    while not come():
        assert process.poll() is None, "the watch ended"
        assert time.monotonic() < ends, "it did not come about"
        time.sleep(0.1)


@pytest.mark.skipif(sys.platform == "win32", reason="sends signals as Unix has them")
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_the_command_killed_and_begun_again_and_ended_by_a_signal(book, sync, tmp_path, how):
    for number in range(3):
        some(sync, number)
    out = tmp_path / "out.txt"
    process = started(book, sync, out)
    try:
        until(lambda: len(names(book)) >= 1, process, seconds=60)
        process.kill()
        process.wait(20)
        some(sync, 3)
        process = started(book, sync, out)
        until(lambda: "LF3.jpg" in names(book), process, seconds=60)
        process.send_signal(how)
        assert process.wait(30) == 0
    finally:
        if process.poll() is None:
            process.kill()
            process.wait()
    assert sorted(names(book)) == ["LF0.jpg", "LF1.jpg", "LF2.jpg", "LF3.jpg"]
    said = out.read_text()
    assert said.count(f"Watching {sync}. Ctrl-C ends it.") == 2
    assert f"Watched {sync} for " in said.splitlines()[-1]
    assert "0 refused." in said.splitlines()[-1]
    assert not (book.photos / ".incoming").exists()
