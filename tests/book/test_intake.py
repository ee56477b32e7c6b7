"""Taking photos in: kept whole, seen before, refused and why."""

import errno
import hashlib
import io
import json
import os
import shutil
import sqlite3
import stat
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from PIL import Image
from sqlalchemy import select, text

from photolog.book import StockBook, intake, reading
from photolog.book.errors import BookFull, BookLocked, BookReadOnly
from photolog.book.intake import take_in
from photolog.book.originals import original_of, original_path, thumbnail_of
from photolog.cli.taking_in import intake_summary
from photolog.photos.hashes import file_sha256
from photolog.records import CameraRow, PhotoFileRow, PhotoRow
from photolog.terms import Subject
from tests.book.photographed import clump_picture, photo, plain_picture, tag_picture
from tests.photos.written import (
    KINDS,
    OFFSET_ORIGINAL,
    SUBSEC_ORIGINAL,
    exif,
    picture,
    png_claiming,
    write,
)

NOW = datetime(2026, 7, 1, tzinfo=UTC)
AT = datetime(2026, 5, 16, 14, 3, 22)


def rows_of(book: StockBook) -> list[PhotoRow]:
    with book.reading() as session:
        return list(session.scalars(select(PhotoRow).order_by(PhotoRow.id)))


def take(book: StockBook, *paths: Path | str, **options: object):
    return take_in(book, paths, workers=0, now=NOW, **options)


def test_what_is_kept_of_a_photo(book, tmp_path):
    source = photo(tmp_path, clump_picture(11), AT, name="LF350112")
    before = source.read_bytes()
    report = take(book, source)
    assert [one.path for one in report.taken] == [source]
    (row,) = rows_of(book)
    assert row.sha256 == hashlib.sha256(before).hexdigest()
    assert (row.original_name, row.file_kind, row.n_bytes) == ("LF350112.jpg", "jpeg", len(before))
    assert (row.width_px, row.height_px) == (1200, 900)
    assert row.taken_at == AT
    assert row.focal35_mm == 35.0
    assert row.subject is Subject.CLUMP
    assert row.marks["cards"][0]["design"] == "bench-1"
    assert [tag["number"] for tag in row.marks["tags"]] == [11]
    assert row.marks["tags"][0]["pegged"]
    original = original_of(book, row.id)
    assert original == book.photos / row.sha256[:2] / f"{row.sha256}.jpg"
    assert original.read_bytes() == before == source.read_bytes()
    assert not original.stat().st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH)
    with Image.open(thumbnail_of(book, row.id)) as small:
        assert small.size == (480, 360)


def test_a_thumbnail_thrown_away_is_made_again(book, tmp_path):
    report = take(book, photo(tmp_path, plain_picture(), AT, name="a"))
    thumbnail = thumbnail_of(book, report.taken[0].photo_id)
    thumbnail.unlink()
    assert thumbnail_of(book, report.taken[0].photo_id).exists()


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_taken_in(book, tmp_path, kind):
    source = photo(tmp_path, plain_picture(), AT, name="a", kind=kind)
    assert len(take(book, source).taken) == 1
    (row,) = rows_of(book)
    assert (row.file_kind, row.taken_at) == (kind, AT)
    assert original_of(book, row.id).read_bytes() == source.read_bytes()


@pytest.mark.parametrize("kind", KINDS)
def test_seen_before_also_when_only_the_metadata_changed(book, tmp_path, kind):
    first = write(tmp_path, kind, name="first", block=exif())
    same = tmp_path / f"same{first.suffix}"
    same.write_bytes(first.read_bytes())
    retitled = write(tmp_path, kind, name="retitled", block=exif(root={0x010E: "my best"}))
    assert len(take(book, first).taken) == 1
    report = take(book, first, same, retitled)
    assert not report.taken
    assert [(one.path.stem, one.only_metadata) for one in report.known] == [
        ("first", False),
        ("same", False),
        ("retitled", True),
    ]
    assert len(rows_of(book)) == 1
    assert len(list(book.photos.rglob("*.*"))) == 1


def test_an_original_that_went_missing_is_put_back(book, tmp_path):
    lost = write(tmp_path, name="lost", image=picture(seed=1), block=exif())
    kept = write(tmp_path, name="kept", image=picture(seed=2), block=exif())
    (photo_id,) = (one.photo_id for one in take(book, lost, kept).taken if one.path == lost)
    original = original_of(book, photo_id)
    # Its whole folder, as when the photos were copied to another disk in part.
    shutil.rmtree(original.parent)
    report = take(book, lost, kept)
    assert (len(report.taken), len(report.refused)) == (0, 0)
    assert [(one.path, one.put_back) for one in report.known] == [(lost, True), (kept, False)]
    assert original.read_bytes() == lost.read_bytes()
    assert not original.stat().st_mode & (stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH)
    assert intake_summary(report).splitlines() == [
        "0 taken in, 2 known already, 0 refused.",
        "  1 known, but missing from the book's folder: put back.",
    ]
    again = take(book, lost)
    assert not again.known[0].put_back
    assert intake_summary(again) == "0 taken in, 1 known already, 0 refused."


def test_the_same_photo_twice_in_one_go(book, tmp_path):
    first = write(tmp_path, name="first", block=exif())
    same = tmp_path / "same.jpg"
    same.write_bytes(first.read_bytes())
    report = take_in(book, [first, same], workers=2, now=NOW)
    assert (len(report.taken), len(report.known), len(report.refused)) == (1, 1, 0)


def test_folders_are_gone_through(book, tmp_path):
    source = tmp_path / "card"
    (source / "DCIM" / "100LF").mkdir(parents=True)
    (source / ".trash").mkdir()
    for number, folder in enumerate(("DCIM/100LF", "DCIM", ".", ".trash")):
        write(source / folder, name=f"LF{number}", image=picture(seed=number), block=exif())
    write(source, name=".hidden", image=picture(seed=9), block=exif())
    (source / "truth.csv").write_text("file,tag\n")
    (source / "DCIM" / "back").symlink_to(source)
    named_wrong = write(source, "png", name="scan", image=picture(seed=5))
    named_wrong.rename(source / "scan.bin")
    report = take(book, source)
    assert [one.path.name for one in report.taken] == ["LF2.jpg", "scan.bin", "LF1.jpg", "LF0.jpg"]
    assert report.passed_over == 1
    assert not report.refused


def test_the_stock_book_itself_is_not_taken_in(book, tmp_path):
    write(tmp_path, name="a", block=exif())
    assert len(take(book, tmp_path).taken) == 1
    assert len(take(book, tmp_path).known) == 1


def test_bad_files_are_set_aside_and_the_rest_goes_on(book, tmp_path):
    good = write(tmp_path, name="good", image=picture(640, 480), block=exif())
    (tmp_path / "a-empty.jpg").write_bytes(b"")
    (tmp_path / "b-cut.jpg").write_bytes(good.read_bytes()[:3000])
    (tmp_path / "c-text.jpg").write_text("Dear Imke")
    (tmp_path / "d-zeros.jpg").write_bytes(bytes(5000))
    (tmp_path / "f-huge.png").write_bytes(png_claiming(25_000, 20_000))
    named_png = write(tmp_path, "png", name="e-named", image=picture(seed=8))
    named_png.rename(tmp_path / "e-named.jpg")
    report = take(book, tmp_path, tmp_path / "missing.jpg", tmp_path / "no folder")
    assert sorted(one.path.name for one in report.taken) == ["e-named.jpg", "good.jpg"]
    assert {one.path.name: one.reason for one in report.refused} == {
        "missing.jpg": "There is no such file or folder.",
        "no folder": "There is no such file or folder.",
        "a-empty.jpg": "The file is empty.",
        "b-cut.jpg": "The photo is damaged or cut short.",
        "c-text.jpg": "The file is named like a JPEG photo but holds text.",
        "f-huge.png": "The picture has 500 megapixels; at most 100 are taken.",
        "d-zeros.jpg": "The file holds nothing but zeros, as after a failed copy.",
    }
    assert all(one.remedy for one in report.refused)
    assert not (book.photos / ".incoming").exists()


def test_a_named_file_that_is_no_photo_is_refused(book, tmp_path):
    (tmp_path / "truth.csv").write_text("file,tag\n")
    report = take(book, tmp_path / "truth.csv")
    assert report.refused[0].reason == "The file is no photo: it holds text."


@pytest.mark.parametrize(
    ("original", "says"),
    [
        (None, "The camera wrote no date into the file."),
        ("0000:00:00 00:00:00", "all zeros"),
        ("2025:02:30 10:00:00", "impossible"),
        ("2031:01:01 10:00:00", "in the future"),
    ],
)
def test_a_photo_without_a_date_is_kept_and_said(book, tmp_path, original, says):
    source = write(tmp_path, block=exif(original=original))
    os.utime(source, (1_700_000_000, 1_700_000_000))
    report = take(book, source)
    assert says in report.taken[0].undated
    (row,) = rows_of(book)
    assert row.taken_at is None
    assert says in row.date_problem


def test_a_fault_in_searching_for_marks_does_not_cost_the_photo(book, tmp_path, monkeypatch):
    def fails(_: object) -> None:
        msg = "no such dictionary"
        raise NameError(msg)

    source = photo(tmp_path, clump_picture(11), AT, name="a")
    with monkeypatch.context() as broken:
        broken.setattr(reading, "read_marks", fails)
        assert len(take(book, source).taken) == 1
    (row,) = rows_of(book)
    assert (row.marks, row.marks_read_by, row.subject) == (None, None, Subject.UNKNOWN)
    # The next intake, whatever it takes in, searches again.
    assert len(take(book, source).known) == 1
    (row,) = rows_of(book)
    assert [tag["number"] for tag in row.marks["tags"]] == [11]
    assert row.subject is Subject.CLUMP


def test_cameras_are_told_apart(book, tmp_path):
    for number, camera in enumerate(("Field 35", "Pocket 28", "Field 35")):
        photo(tmp_path, plain_picture(number), AT, name=f"LF{number}", camera=camera)
    photo(tmp_path, plain_picture(7), None, name="LF7")
    take(book, tmp_path)
    with book.reading() as session:
        assert sorted(session.scalars(select(CameraRow.model))) == ["Field 35", "Pocket 28"]
    assert [row.camera_id for row in rows_of(book)] == [1, 2, 1, None]


def test_what_a_photo_is_of(book, tmp_path):
    photo(tmp_path, tag_picture(12), AT, name="a")
    photo(tmp_path, plain_picture(), AT, name="b")
    photo(tmp_path, clump_picture(None), AT, name="c")
    take(book, tmp_path)
    assert [row.subject for row in rows_of(book)] == [
        Subject.TAGS,
        Subject.UNKNOWN,
        Subject.CLUMP,
    ]


def test_progress_is_told_for_every_file(book, tmp_path):
    for number in range(3):
        write(tmp_path, name=f"LF{number}", image=picture(seed=number), block=exif())
    (tmp_path / "x.jpg").write_bytes(b"")
    told = []
    take(book, tmp_path, progress=told.append)
    assert [one.done for one in told] == [1, 2, 3, 4]
    assert {one.total for one in told} == {4}
    assert told[-1].seconds_left == 0.0


def full_after(calls_left: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the disk be full after so many more files and folders were synced."""
    synced, calls = os.fsync, []

    def fills_up(handle: int) -> None:
        calls.append(handle)
        if len(calls) > calls_left:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        synced(handle)

    monkeypatch.setattr(os, "fsync", fills_up)


def test_a_full_disk_says_how_far_it_came_and_loses_nothing(book, tmp_path, monkeypatch):
    for number in range(4):
        write(tmp_path, name=f"LF{number}", image=picture(seed=number), block=exif())
    take(book, tmp_path / "LF0.jpg")
    # A photo costs three: the copy, its folder, and the folder of folders.
    full_after(3, monkeypatch)
    with pytest.raises(
        BookFull,
        match=r"^The disk that holds .* is full\. Taken in so far, and safe: 1 of 4 photos; "
        r"still to do: 2\. Make room and give the same command again: it goes on there\.$",
    ):
        take(book, tmp_path)
    monkeypatch.undo()
    assert len(rows_of(book)) == 2
    assert not (book.photos / ".incoming").exists()
    report = take(book, tmp_path)
    assert [one.path.name for one in report.taken] == ["LF2.jpg", "LF3.jpg"]


def test_a_disk_full_for_the_book_file_says_how_far_it_came_too(book, tmp_path, monkeypatch):
    for number in range(2):
        write(tmp_path, name=f"LF{number}", image=picture(seed=number), block=exif())
    keep = intake._row

    def grows_no_further(session, job, read):
        if job.source.name == "LF1.jpg":
            # SQLite itself refuses, as on a full disk: the file may have no page more.
            session.execute(text("PRAGMA max_page_count = 1"))
            session.execute(text("CREATE TABLE more AS SELECT randomblob(1000000)"))
        return keep(session, job, read)

    monkeypatch.setattr(intake, "_row", grows_no_further)
    with pytest.raises(BookFull, match=r"full\. Taken in so far, and safe: 1 of 2 .* do: 1\."):
        take(book, tmp_path)
    assert [row.original_name for row in rows_of(book)] == ["LF0.jpg"]


class FailsHalfWay(io.BytesIO):
    """A file whose beginning is read, and then no more."""

    def __init__(self, data: bytes, error: OSError) -> None:
        super().__init__(data)
        self.error = error

    def read(self, size: int | None = -1) -> bytes:
        if self.tell() > 0:
            raise self.error
        return super().read(min(size or 0, 100))


@pytest.mark.parametrize("number", [errno.EIO, errno.EACCES, errno.ENOENT])
def test_a_source_that_fails_while_it_is_copied_is_set_aside(book, tmp_path, monkeypatch, number):
    for name in range(3):
        write(tmp_path, name=f"LF{name}", image=picture(seed=name), block=exif())
    fails, hashed = tmp_path / "LF1.jpg", []
    opens = Path.open

    def opened(path: Path, *args: object, **options: object):
        # Hashed it is whole; the card comes loose when it is read again to be copied.
        if path != fails or path not in hashed or "rb" not in args:
            return opens(path, *args, **options)
        error = OSError(number, os.strerror(number))
        if number == errno.ENOENT:
            raise error
        return FailsHalfWay(b"x" * 300, error)

    def hash_before(path: Path) -> str:
        digest = file_sha256(path)
        hashed.append(path)
        return digest

    monkeypatch.setattr(intake, "file_sha256", hash_before)
    monkeypatch.setattr(Path, "open", opened)
    report = take(book, tmp_path)
    assert [one.path.name for one in report.taken] == ["LF0.jpg", "LF2.jpg"]
    assert [(one.path.name, one.reason) for one in report.refused] == [
        ("LF1.jpg", f"The file can't be read ({os.strerror(number)}).")
    ]
    assert report.refused[0].remedy.startswith("Check the card or disk")
    assert len([path for path in book.photos.rglob("*") if path.is_file()]) == 2


def test_a_folder_that_may_not_be_written(book, tmp_path, monkeypatch):
    def refuse(*_: object) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    source = write(tmp_path, block=exif())
    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(BookReadOnly, match="can't be written to"):
        take(book, source)


def test_a_locked_book_is_said_and_taking_in_goes_on_afterwards(book, tmp_path):
    sources = tmp_path / "card"
    sources.mkdir()
    write(sources, block=exif())
    other = sqlite3.connect(book.file, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with (
        StockBook.open(book.folder, busy_timeout_ms=50) as impatient,
        pytest.raises(BookLocked, match="is in use by another program"),
    ):
        take(impatient, sources)
    other.execute("ROLLBACK")
    other.close()
    assert not (book.photos / ".incoming").exists()
    assert len(take(book, sources).taken) == 1


@pytest.mark.skipif(sys.platform == "win32", reason="kills its own processes by fork")
def test_killed_at_any_instant_the_book_is_sound_and_goes_on(tmp_path):
    """Every moment at which intake touches a file is tried as its last one, in a real process."""
    program = Path(__file__).with_name("killed_intake.py")
    run = subprocess.run(
        [sys.executable, str(program), str(tmp_path)],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONPATH": "."},
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    told = json.loads(run.stdout)
    assert told["moments"] >= 30
    assert told["of one picture"] >= 30
    assert told["faults"] == []


def files_of(book: StockBook) -> list[tuple[str, str, bool]]:
    with book.reading() as session:
        rows = session.scalars(select(PhotoFileRow).order_by(PhotoFileRow.id))
        return [(row.name, row.taken_over, row.kept) for row in rows]


def test_both_names_of_one_file_are_remembered_once(book, tmp_path):
    first = write(tmp_path, name="LF350112", block=exif())
    other = tmp_path / "IMG-20260516-0003.jpg"
    other.write_bytes(first.read_bytes())
    for _ in range(2):
        take(book, first, other)
    assert files_of(book) == [("IMG-20260516-0003.jpg", "", False)]
    assert [row.original_name for row in rows_of(book)] == ["LF350112.jpg"]


def test_a_date_that_only_the_other_copy_has_is_taken_over_and_said(book, tmp_path):
    bare = write(tmp_path, name="sent")
    dated = write(
        tmp_path,
        name="LF350112",
        block=exif(details={OFFSET_ORIGINAL: "+12:00", SUBSEC_ORIGINAL: "417"}),
    )
    take(book, bare)
    report = take(book, dated)
    said = "its date 2025-05-17 14:03:22, its time zone +12:00, its camera Field 35, its lens"
    assert [(one.only_metadata, one.taken_over) for one in report.known] == [(True, said)]
    assert intake_summary(report).splitlines()[1] == (
        "  LF350112.jpg is photo 1 in another file. Taken over from it: its date"
    )
    (row,) = rows_of(book)
    assert (row.taken_at, row.taken_offset, row.taken_subsec, row.date_problem) == (
        datetime(2025, 5, 17, 14, 3, 22),
        "+12:00",
        "417",
        None,
    )
    with book.reading() as session:
        assert session.scalars(select(CameraRow.model)).all() == ["Field 35"]
    assert (row.camera_id, row.focal35_mm) == (1, 35.0)
    # What says so is kept beside the original, and known when it comes again.
    assert files_of(book) == [("LF350112.jpg", said, True)]
    kept = original_path(book, file_sha256(dated), "jpeg")
    assert kept.read_bytes() == dated.read_bytes()
    again = take(book, dated)
    assert [(one.only_metadata, one.taken_over) for one in again.known] == [(True, "")]


def test_a_zone_that_only_the_other_copy_has_is_taken_over(book, tmp_path):
    plain = write(tmp_path, name="plain", block=exif())
    zoned = write(tmp_path, name="zoned", block=exif(details={OFFSET_ORIGINAL: "+12:00"}))
    take(book, plain)
    assert [one.taken_over for one in take(book, zoned).known] == ["its time zone +12:00"]
    assert rows_of(book)[0].taken_offset == "+12:00"


def test_of_two_dates_the_first_stands_and_it_is_said(book, tmp_path):
    first = write(tmp_path, name="first", block=exif())
    redated = write(tmp_path, name="redated", block=exif(original="2024:01:01 10:00:00"))
    take(book, first)
    report = take(book, redated)
    assert [(one.taken_over, one.against) for one in report.known] == [
        ("", "it says 2024-01-01 10:00:00, the photo keeps 2025-05-17 14:03:22")
    ]
    assert "redated.jpg is photo 1 in another file; it says" in intake_summary(report)
    assert rows_of(book)[0].taken_at == datetime(2025, 5, 17, 14, 3, 22)
    assert files_of(book) == [("redated.jpg", "", False)]
