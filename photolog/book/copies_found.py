"""Looking for copies: each photo that was taken in is compared once with those there are."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from functools import lru_cache
from pathlib import PurePath

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.originals import original_path, thumbnail_of
from photolog.book.stockbook import StockBook
from photolog.book.workers import OnProgress, Pace
from photolog.photos.copies import (
    SAME_SECOND,
    UNDATED,
    Sameness,
    compared,
    sketch_of,
    sketch_vectors,
    turned_sketches,
)
from photolog.photos.decode import open_upright
from photolog.photos.kinds import PhotoError
from photolog.records import CopyRow, PhotoRow, SketchRow
from photolog.terms import CopyState

__all__ = ["look_for_copies"]

# An undated photo is compared with so many of those that look most like it.
_MOST_ALIKE = 8

# A dated photo is compared with the undated ones whose sketch agrees so well with its own.
_ALIKE = 0.9

# Sketches are written by so many, so that what is done stays done when it is cut off.
_AT_ONCE = 200

# Of several that a copy agrees with about as well, the better photo is taken.
_AS_WELL = 0.03

_PERHAPS_TWO = (
    " They may also be two shots from one place, one after the other: if so, say that they are "
    "apart."
)

_COUNTED = re.compile(r"(\D*)(\d{3,7})")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Known:
    """What is asked of a photo when it is compared."""

    id: int
    name: str
    sha256: str
    kind: str
    taken_at: datetime | None
    subsec: str
    camera: int | None
    width_px: int
    height_px: int
    n_bytes: int

    @property
    def worth(self) -> tuple[bool, bool, int, int, int]:
        """The greater, the rather it is the photo and the other one the copy."""
        return (
            self.taken_at is not None,
            self.camera is not None,
            self.width_px * self.height_px,
            self.n_bytes,
            -self.id,
        )


def look_for_copies(book: StockBook, *, progress: OnProgress | None = None) -> tuple[int, int]:
    """Compare the photos not yet compared; how many copies are proposed, how many are certain.

    Two photos with different dates are never taken for copies: they are two shots. Where the pixels
    are the same to the last, the copy is certain; all else is proposed. It can be stopped at any
    time: what is done stays done. A photo that can't be opened is left out until it can.
    """
    _sketch_the_rest(book, progress)
    with book.reading() as session:
        new = list(
            session.scalars(
                select(SketchRow.photo_id)
                .where(SketchRow.compared.is_(False))
                .order_by(SketchRow.photo_id)
            )
        )
        if not new:
            return 0, 0
        album = _Album(book, session)
    pace = Pace(len(new), progress)
    counts = {True: 0, False: 0}
    for photo_id in new:
        row = album.copy_of(photo_id)
        with book.writing() as session:
            session.get_one(SketchRow, photo_id).compared = True
            if row is not None:
                session.add(row)
                counts[row.certain] += 1
        pace.one_done(album.known[photo_id].name)
    return counts[False], counts[True]


def _sketch_the_rest(book: StockBook, progress: OnProgress | None) -> None:
    with book.reading() as session:
        rows = session.execute(
            select(PhotoRow.id, PhotoRow.original_name)
            .outerjoin(SketchRow, SketchRow.photo_id == PhotoRow.id)
            .where(SketchRow.photo_id.is_(None))
            .order_by(PhotoRow.id)
        ).all()
    pace = Pace(len(rows), progress if len(rows) > _AT_ONCE else None)
    for at in range(0, len(rows), _AT_ONCE):
        sketches = []
        for photo_id, name in rows[at : at + _AT_ONCE]:
            small = _small(book, photo_id)
            if small is not None:
                sketches.append(SketchRow(photo_id=photo_id, pixels=sketch_of(small)))
            pace.one_done(name)
        with book.writing() as session:
            session.add_all(sketches)


def _small(book: StockBook, photo_id: int) -> NDArray[np.uint8] | None:
    """A photo's small picture; None where its original is missing or broken."""
    try:
        return open_upright(thumbnail_of(book, photo_id))
    except (PhotoError, OSError):
        return None


class _Album:
    """All photos with their sketches, and which pairs of them have been spoken of."""

    def __init__(self, book: StockBook, session: Session) -> None:
        self.book = book
        rows = session.execute(
            select(
                PhotoRow.id,
                PhotoRow.original_name,
                PhotoRow.sha256,
                PhotoRow.file_kind,
                PhotoRow.taken_at,
                PhotoRow.taken_subsec,
                PhotoRow.camera_id,
                PhotoRow.width_px,
                PhotoRow.height_px,
                PhotoRow.n_bytes,
                SketchRow.pixels,
            )
            .join(SketchRow, SketchRow.photo_id == PhotoRow.id)
            .order_by(PhotoRow.id)
        ).all()
        self.known = {
            row.id: _Known(
                id=row.id,
                name=row.original_name,
                sha256=row.sha256,
                kind=row.file_kind,
                taken_at=row.taken_at,
                subsec=row.taken_subsec or "",
                camera=row.camera_id,
                width_px=row.width_px,
                height_px=row.height_px,
                n_bytes=row.n_bytes,
            )
            for row in rows
        }
        self.ids = np.array([row.id for row in rows], np.int64)
        self.sketches = np.stack([np.frombuffer(row.pixels, np.uint8) for row in rows])
        self.vectors = sketch_vectors(self.sketches)
        self.row_of = {row.id: at for at, row in enumerate(rows)}
        self.at: dict[datetime, list[int]] = {}
        for one in self.known.values():
            if one.taken_at is not None:
                self.at.setdefault(one.taken_at, []).append(one.id)
        self.undated = np.array([one.id for one in self.known.values() if one.taken_at is None])
        spoken = session.execute(select(CopyRow.photo_id, CopyRow.of_photo_id, CopyRow.state)).all()
        self.spoken = {frozenset((row.photo_id, row.of_photo_id)) for row in spoken}
        # A copy's copy is a copy of the photo itself.
        self.copies = {row.photo_id for row in spoken if row.state == CopyState.COPY}
        self.perhaps = {row.photo_id for row in spoken if row.state == CopyState.PROPOSED}
        self.small = lru_cache(maxsize=64)(lambda photo_id: _small(book, photo_id))

    def copy_of(self, photo_id: int) -> CopyRow | None:
        """The photo paired with the one that it is most surely a picture of; None: with none."""
        ours = self.small(photo_id)
        found: list[tuple[float, _Known, Sameness]] = []
        for other in self._candidates(photo_id):
            theirs = self.small(other)
            if ours is None or theirs is None:
                continue
            same = compared(ours, theirs, at_most=self._may_differ(photo_id, other))
            if same is not None:
                found.append((same.differs, self.known[other], same))
        if not found:
            return None
        least = min(differs for differs, _, _ in found)
        _, other_one, same = max(
            (one for one in found if one[0] <= least + _AS_WELL),
            key=lambda one: (one[1].id not in self.perhaps, *one[1].worth),
        )
        kept, copy = sorted((self.known[photo_id], other_one), key=lambda one: one.worth)[::-1]
        self.spoken.add(frozenset((kept.id, copy.id)))
        if copy.id in self.perhaps:
            return None
        certain = self._same_pixels(kept, copy, same)
        (self.copies if certain else self.perhaps).add(copy.id)
        return CopyRow(
            photo_id=copy.id,
            of_photo_id=kept.id,
            certain=certain,
            because=_because(copy, kept, same, certain=certain),
        )

    def _may_differ(self, one: int, other: int) -> float:
        dated = self.known[one].taken_at is not None and self.known[other].taken_at is not None
        return SAME_SECOND if dated else UNDATED

    def _candidates(self, photo_id: int) -> Iterable[int]:
        ours = self.known[photo_id]
        if ours.taken_at is not None:
            of_that_second = self.at[ours.taken_at]
            near = self._alike(ours, self.undated)
            likely = [*of_that_second, *(other for other, alike in near if alike >= _ALIKE)]
        else:
            likely = [other for other, _ in self._alike(ours, self.ids)[: _MOST_ALIKE + 1]]
        for other in dict.fromkeys(likely):
            if other == photo_id or other in self.copies:
                continue
            if frozenset((photo_id, other)) in self.spoken or _two_shots(ours, self.known[other]):
                continue
            yield other

    def _alike(self, ours: _Known, ids: NDArray[np.int64]) -> list[tuple[int, float]]:
        """These photos with how alike their sketches are to ours, the most alike first."""
        vectors = self.vectors
        if ids is not self.ids:
            vectors = vectors[[self.row_of[int(one)] for one in ids]]
        # However it was turned: the one way that is most alike counts.
        own = sketch_vectors(turned_sketches(self.sketches[self.row_of[ours.id]]))
        alike = np.max(vectors @ own.T, axis=1)
        order = np.argsort(-alike, kind="stable")
        return [(int(ids[at]), float(alike[at])) for at in order]

    def _same_pixels(self, one: _Known, other: _Known, same: Sameness) -> bool:
        sizes = {(one.width_px, one.height_px), (other.width_px, other.height_px)}
        if len(sizes) > 1 or same.how != "whole" or same.differs > 0.0:
            return False
        try:
            pixels = [
                open_upright(original_path(self.book, photo.sha256, photo.kind))
                for photo in (one, other)
            ]
        except (PhotoError, OSError):
            return False
        return bool(np.array_equal(pixels[0], pixels[1]))


def _two_shots(one: _Known, other: _Known) -> bool:
    """Whether dates or the camera's counting say that these are two photos, not one edited."""
    if one.taken_at is None or other.taken_at is None:
        return False
    if one.taken_at != other.taken_at:
        return True
    if one.subsec and other.subsec and one.subsec != other.subsec:
        return True
    if {one.width_px, one.height_px} != {other.width_px, other.height_px}:
        return False
    counted = [_COUNTED.fullmatch(PurePath(photo.name).stem) for photo in (one, other)]
    return None not in counted and one.name != other.name


def _because(copy: _Known, kept: _Known, same: Sameness, *, certain: bool) -> str:
    """In words, what speaks for it."""
    if certain:
        return "Its pixels are the same to the last."
    said = ["The same picture"]
    if same.how == "crop" and same.shown < 0.97:
        said.append(f"cropped to {100 * same.shown:.0f} % of it")
    turned = round(abs(same.turned_deg))
    if turned:
        said.append(f"turned by {turned}°")
    sizes = [(one.width_px, one.height_px) for one in (copy, kept)]
    if sizes[0] != sizes[1]:
        said.append(
            f"{sizes[0][0]} × {sizes[0][1]} pixels instead of {sizes[1][0]} × {sizes[1][1]}"
        )
    if kept.taken_at is None:
        said.append("both without a date")
    elif copy.taken_at is None:
        said.append("without its date")
    else:
        said.append("taken in the same second")
    because = ", ".join(said) + "."
    if sizes[0] == sizes[1] and same.how == "whole":
        # Neither was made smaller or cropped, so that nothing says which one was made of the other.
        because += _PERHAPS_TWO
    return because
