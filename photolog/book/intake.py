"""Taking photos in: originals kept whole under their hash, on disk before the book says so."""

from __future__ import annotations

import errno
import stat
from collections.abc import Callable, Iterable, Iterator
from contextlib import closing
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import takewhile
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.cameras import find_or_add
from photolog.book.errors import BookFull, BookReadOnly
from photolog.book.incoming import (
    SourceFailed,
    clear_incoming,
    copy_synced,
    name_by_hash,
    place_for_copy,
)
from photolog.book.intake_report import IntakeReport, Known, Refused, TakenIn
from photolog.book.originals import original_path, thumbnail_path
from photolog.book.other_files import known_file, remember, remember_name, take_over
from photolog.book.reading import (
    PhotoRead,
    ReadJob,
    Unreadable,
    made_by,
    read_marks_of,
    read_photo,
)
from photolog.book.stockbook import StockBook
from photolog.book.workers import Lost, OnProgress, Pace, run_in_workers
from photolog.photos.exif import Taken
from photolog.photos.folders import find_photos
from photolog.photos.hashes import file_sha256
from photolog.photos.kinds import Kind, PhotoError, sniff
from photolog.records import PhotoRow

__all__ = ["IntakeReport", "Known", "Refused", "TakenIn", "take_in"]

_FULL = (errno.ENOSPC, errno.EDQUOT)


@dataclass(slots=True)
class _Tally:
    taken: list[TakenIn] = field(default_factory=list)
    known: list[Known] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Incoming(ReadJob):
    """A copy on its way in: ``path`` is the copy, ``source`` the grower's file."""

    source: Path
    sha256: str
    n_bytes: int
    modified_at: datetime
    kind: Kind


def take_in(
    book: StockBook,
    paths: Iterable[Path | str],
    *,
    workers: int = 2,
    progress: OnProgress | None = None,
    now: datetime | None = None,
    stop: Callable[[], bool] | None = None,
) -> IntakeReport:
    """Take photos and folders of photos into the stock book.

    Each original is copied, the copy synced to disk and named by its SHA-256, and only then is its
    row committed, so that whatever the book lists is there; the grower's own files are only read.
    Killed at any instant the book is sound, and running it again goes on where it stopped. Bad
    files are set aside with their reason and the rest goes on.

    Parameters
    ----------
    paths : files and folders
        Folders are gone through with all that is in them, except hidden files.
    workers : int
        Processes that decode and search for marks; 0: in this one.
    progress : callable
        Told after each file.
    now : aware datetime
        What is later than this is a date in the future; the computer's clock when None.
    stop : callable
        Asked before each file; once it says yes, no other one is begun.

    Raises ``BookError`` (full disk, no right to write, locked book), what was taken in before
    stays taken in; that of a full disk says how many photos that are.
    """
    found = find_photos(paths, leave_out=book.folder)
    tally = _Tally(
        refused=[
            Refused(path=path, reason=error.reason, remedy=error.remedy)
            for path, error in found.refused
        ]
    )
    pace = Pace(len(found.files), progress)
    try:
        clear_incoming(book)
        _search_again(book)
        files = found.files if stop is None else takewhile(lambda _: not stop(), found.files)
        incoming = _incoming(book, files, tally, pace, now)
        with closing(run_in_workers(read_photo, incoming, workers=workers)) as outcomes:
            for job, outcome in outcomes:
                _finish(book, job, outcome, tally)
                pace.one_done(job.source.name)
    except (BookFull, OSError) as error:
        if isinstance(error, BookFull) or error.errno in _FULL:
            raise BookFull(book.folder, so_far=_so_far(tally, pace)) from error
        if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
            raise BookReadOnly(book.photos) from error
        raise
    finally:
        clear_incoming(book)
    return IntakeReport(
        taken=tuple(tally.taken),
        known=tuple(tally.known),
        refused=tuple(tally.refused),
        passed_over=found.passed_over,
        seconds=pace.seconds,
    )


def _so_far(tally: _Tally, pace: Pace) -> str:
    return (
        f"Taken in so far, and safe: {len(tally.taken)} of {pace.total} photos; still to do: "
        f"{pace.total - pace.done}. Make room and give the same command again: it goes on there."
    )


def _incoming(
    book: StockBook, files: Iterable[Path], tally: _Tally, pace: Pace, now: datetime | None
) -> Iterator[_Incoming]:
    """A synced copy of each file that is not known yet; the others are dealt with here."""
    for number, source in enumerate(files):
        outcome = _copied_in(book, source, number, now)
        if isinstance(outcome, _Incoming):
            yield outcome
            continue
        if isinstance(outcome, Known):
            tally.known.append(outcome)
        else:
            tally.refused.append(outcome)
        pace.one_done(source.name)


def _copied_in(
    book: StockBook, source: Path, number: int, now: datetime | None
) -> _Incoming | Known | Refused:
    try:
        status = source.stat()
        if not stat.S_ISREG(status.st_mode):
            raise PhotoError(reason="This is no file.", remedy="Name a photo.")
        kind = sniff(source)
        looked_up = file_sha256(source)
        known = known_file(book, looked_up)
    except PhotoError as error:
        return Refused(path=source, reason=error.reason, remedy=error.remedy)
    except OSError as error:
        return _unreadable(source, error.strerror or str(error))
    if known is not None and known.original.exists():
        remember_name(book, known.photo_id, source, looked_up, kind)
        return Known(photo_id=known.photo_id, path=source, only_metadata=known.only_metadata)
    copy = place_for_copy(book, number)
    try:
        sha256, n_bytes = copy_synced(source, copy)
    except SourceFailed as failed:
        return _unreadable(source, failed.why)
    # Hashed again: the file may have changed since it was looked up.
    if known is not None and known.original.stem == sha256:
        name_by_hash(copy, known.original)
        remember_name(book, known.photo_id, source, sha256, kind)
        return Known(photo_id=known.photo_id, path=source, only_metadata=False, put_back=True)
    return _Incoming(
        path=copy,
        thumbnail=thumbnail_path(book, sha256),
        now=now,
        source=source,
        sha256=sha256,
        n_bytes=n_bytes,
        modified_at=datetime.fromtimestamp(status.st_mtime, tz=UTC),
        kind=kind,
    )


def _unreadable(source: Path, why: str) -> Refused:
    return Refused(
        path=source,
        reason=f"The file can't be read ({why}).",
        remedy="Check the card or disk that it is on, and copy it again.",
    )


def _finish(
    book: StockBook,
    job: _Incoming,
    outcome: PhotoRead | Unreadable | Lost,
    tally: _Tally,
) -> None:
    """Give a copy its name and its row, or put it away."""
    if isinstance(outcome, PhotoRead):
        _keep(book, job, outcome, tally)
        return
    job.path.unlink(missing_ok=True)
    if isinstance(outcome, Lost):
        remedy = "Open it in another program; if it looks right there, save it again as JPEG."
        tally.refused.append(Refused(path=job.source, reason=outcome.because, remedy=remedy))
    elif outcome.full:
        raise BookFull(book.folder)
    else:
        tally.refused.append(Refused(path=job.source, reason=outcome.reason, remedy=outcome.remedy))


def _keep(book: StockBook, job: _Incoming, read: PhotoRead, tally: _Tally) -> None:
    with book.writing() as session:
        found = session.scalars(
            select(PhotoRow)
            .where(
                (PhotoRow.sha256 == job.sha256) | (PhotoRow.content_sha256 == read.content_sha256)
            )
            .order_by(PhotoRow.sha256 != job.sha256, PhotoRow.id)
            .limit(1)
        ).first()
        if found is not None:
            tally.known.append(_merge(book, session, found, job, read))
            return
        name_by_hash(job.path, original_path(book, job.sha256, read.kind))
        row = _row(session, job, read)
        session.add(row)
        session.flush()
        photo_id = row.id
    tally.taken.append(TakenIn(photo_id=photo_id, path=job.source, undated=read.taken.problem))


def _merge(
    book: StockBook, session: Session, photo: PhotoRow, job: _Incoming, read: PhotoRead
) -> Known:
    """One photo for two files of one picture; the second is kept only for what it alone says."""
    same_file = photo.sha256 == job.sha256
    taken_over, against = ("", "") if same_file else take_over(session, photo, read.taken)
    if taken_over:
        name_by_hash(job.path, original_path(book, job.sha256, read.kind))
    job.path.unlink(missing_ok=True)
    if not same_file:
        job.thumbnail.unlink(missing_ok=True)
    remember(
        session,
        photo.id,
        sha256=job.sha256,
        name=job.source.name,
        kind=read.kind,
        taken_over=taken_over,
    )
    return Known(
        photo_id=photo.id,
        path=job.source,
        only_metadata=not same_file,
        taken_over=taken_over,
        against=against,
    )


def _search_again(book: StockBook) -> None:
    """Search those photos for marks that could not be searched when they were taken in."""
    with book.reading() as session:
        rows = session.execute(
            select(PhotoRow.id, PhotoRow.sha256, PhotoRow.file_kind).where(PhotoRow.marks.is_(None))
        ).all()
    for photo_id, sha256, file_kind in rows:
        read = read_marks_of(original_path(book, sha256, file_kind))
        if read is None:
            continue
        with book.writing() as session:
            row = session.get_one(PhotoRow, photo_id)
            row.marks, row.marks_read_by = read.marks, made_by()
            if not row.subject_by_hand:
                row.subject = read.subject


def _row(session: Session, job: _Incoming, read: PhotoRead) -> PhotoRow:
    taken = read.taken
    return PhotoRow(
        sha256=job.sha256,
        content_sha256=read.content_sha256,
        original_name=job.source.name,
        file_kind=read.kind,
        n_bytes=job.n_bytes,
        width_px=read.width_px,
        height_px=read.height_px,
        taken_at=taken.taken_at,
        taken_offset=taken.offset,
        taken_subsec=taken.subsec,
        date_problem=taken.problem,
        file_modified_at=job.modified_at,
        camera_id=_camera_id(session, taken, job.source.name),
        focal35_mm=taken.focal35_mm,
        exif_width_px=taken.exif_size[0] if taken.exif_size else None,
        exif_height_px=taken.exif_size[1] if taken.exif_size else None,
        digital_zoom=taken.digital_zoom,
        taken_in_at=datetime.now(UTC),
        marks=read.marks,
        marks_read_by=made_by() if read.marks is not None else None,
        subject=read.subject,
    )


def _camera_id(session: Session, taken: Taken, name: str) -> int | None:
    """The camera as the file names it, entered when it is new; None when the file names none."""
    if not (taken.make or taken.model):
        return None
    return find_or_add(
        session,
        make=taken.make or "",
        model=taken.model or "",
        serial=taken.serial or "",
        name=name,
    )
