"""Two cameras of one model without serial numbers: noticed by their counting, told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.cameras import labels_of, view_of
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.stockbook import StockBook
from photolog.photos.counting_lines import counting_lines
from photolog.photos.counting_rounds import Numbered
from photolog.photos.file_numbers import file_number
from photolog.records import CameraRow, ClockCorrectionRow, ClockProposalRow, PhotoRow

__all__ = ["CameraLines", "Line", "ToldApart", "lines_side_by_side", "put_together", "tell_apart"]


_DATED = (
    select(PhotoRow.camera_id, PhotoRow.id, PhotoRow.original_name, PhotoRow.taken_at)
    .join(PhotoRow.camera)
    .where(PhotoRow.taken_at.is_not(None))
    .order_by(PhotoRow.taken_at, PhotoRow.id)
)


class _Dated(NamedTuple):
    id: int
    name: str
    taken_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """Photos that were counted on one after the other: the first by its clock, and the last."""

    photo_ids: tuple[int, ...]
    first_name: str
    last_name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraLines:
    """A camera whose files are counted in several lines side by side, as by several cameras."""

    camera: str
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ToldApart:
    """A camera told from another of its model, or put together with it; how many photos moved."""

    camera: str
    other: str
    photos: int


def lines_side_by_side(book: StockBook) -> tuple[CameraLines, ...]:
    """The cameras that may be several of one model, by their counting."""
    with book.reading() as session:
        labels = labels_of(session)
        rows = session.execute(_DATED.where(CameraRow.serial == "")).all()
        by_camera: dict[int, list[_Dated]] = {}
        for row in rows:
            by_camera.setdefault(row.camera_id, []).append(_dated(row))
        lines = {camera_id: _lines(photos) for camera_id, photos in by_camera.items()}
        return tuple(
            CameraLines(camera=labels[camera_id], lines=tuple(some))
            for camera_id, some in sorted(lines.items())
            if some
        )


def tell_apart(book: StockBook, photo_id: int, name: str) -> ToldApart:
    """Let a photo, and all that were counted in its line, be of another camera of that model.

    ``name`` is the grower's own for it. Later photos go to the camera whose counting they go on
    with; corrections of the clock hold for both until they are put right for one. Raises
    ``Unknown`` for the photo, ``WrongEntry`` where the counting tells no two cameras.
    """
    name = name.strip()
    with book.writing() as session:
        photo = _photo(session, photo_id)
        camera = photo.camera
        if camera is None:
            msg = f"Photo {photo_id} does not say with which camera it was taken."
            raise WrongEntry(msg)
        rows = session.execute(_DATED.where(CameraRow.id == camera.id, CameraRow.serial == ""))
        lines = _lines([_dated(row) for row in rows])
        own = next((line for line in lines if photo_id in line.photo_ids), None)
        label = view_of(camera).label
        if own is None:
            msg = (
                f"The photos of {label} are counted in one line, as by one camera, so nothing "
                "says which of them are of another one."
            )
            raise WrongEntry(msg)
        if not name or name == camera.part:
            msg = "Give the other camera a name of its own, as whose it is."
            raise WrongEntry(msg)
        other = session.scalar(
            select(CameraRow).where(
                CameraRow.make == camera.make,
                CameraRow.model == camera.model,
                CameraRow.serial == camera.serial,
                CameraRow.part == name,
            )
        )
        if other is None:
            other = CameraRow(make=camera.make, model=camera.model, serial=camera.serial, part=name)
            other.corrections = [_copied(one) for one in camera.corrections]
            session.add(other)
            session.flush()
        _move(session, own.photo_ids, other.id)
        _forget_proposals(session, [camera.id, other.id])
        return ToldApart(camera=view_of(other).label, other=label, photos=len(own.photo_ids))


def put_together(book: StockBook, photo_id: int) -> ToldApart:
    """Take back that the camera of a photo is another one of its model.

    Its own corrections go with it. Raises ``Unknown`` for the photo, ``WrongEntry`` where its
    camera was not told from another.
    """
    with book.writing() as session:
        camera = _photo(session, photo_id).camera
        if camera is None or not camera.part:
            msg = f"The camera of photo {photo_id} was not told from another one of its model."
            raise WrongEntry(msg)
        first = session.scalars(
            select(CameraRow)
            .where(
                CameraRow.make == camera.make,
                CameraRow.model == camera.model,
                CameraRow.serial == camera.serial,
                CameraRow.id != camera.id,
            )
            .order_by(CameraRow.id)
        ).first()
        if first is None:
            msg = f"There is no other camera of that model than that of photo {photo_id}."
            raise WrongEntry(msg)
        ids = session.scalars(select(PhotoRow.id).where(PhotoRow.camera_id == camera.id)).all()
        _move(session, ids, first.id)
        _forget_proposals(session, [camera.id, first.id])
        label = view_of(camera).label
        session.flush()
        session.delete(camera)
        return ToldApart(camera=label, other=view_of(first).label, photos=len(ids))


def _photo(session: Session, photo_id: int) -> PhotoRow:
    photo = session.get(PhotoRow, photo_id)
    if photo is None:
        msg = f"There is no photo {photo_id} in the stock book."
        raise Unknown(msg)
    return photo


def _dated(row: Any) -> _Dated:
    return _Dated(row.id, row.original_name, row.taken_at)


def _lines(photos: Sequence[_Dated]) -> list[Line]:
    """The lines side by side in which one camera's files are counted; none where there is one."""
    by_prefix: dict[str, list[tuple[Numbered, _Dated]]] = {}
    for photo in photos:
        number = file_number(photo.name)
        if number is not None:
            numbered = (number, photo.taken_at)
            by_prefix.setdefault(number.counted_as, []).append((numbered, photo))
    found: list[Line] = []
    for some in by_prefix.values():
        lines = counting_lines([numbered for numbered, _ in some])
        for nth in range(max(lines) + 1) if max(lines) > 0 else ():
            own = [photo for (_, photo), line in zip(some, lines, strict=True) if line == nth]
            found.append(
                Line(
                    photo_ids=tuple(photo.id for photo in own),
                    first_name=own[0].name,
                    last_name=own[-1].name,
                )
            )
    return found


def _copied(row: ClockCorrectionRow) -> ClockCorrectionRow:
    return ClockCorrectionRow(
        from_moment=row.from_moment,
        until_moment=row.until_moment,
        counted_as=row.counted_as,
        first_number=row.first_number,
        last_number=row.last_number,
        add_seconds=row.add_seconds,
        note=row.note,
    )


def _move(session: Session, photo_ids: Sequence[int], camera_id: int) -> None:
    for row in session.scalars(select(PhotoRow).where(PhotoRow.id.in_(photo_ids))):
        row.camera_id = camera_id


def _forget_proposals(session: Session, camera_ids: Sequence[int]) -> None:
    """What was proposed, or turned down, of both cameras as one says nothing of each."""
    for row in session.scalars(
        select(ClockProposalRow).where(ClockProposalRow.camera_id.in_(camera_ids))
    ):
        session.delete(row)
    session.flush()
