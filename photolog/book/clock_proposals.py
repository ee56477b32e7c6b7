"""Corrections that photos propose for cameras' clocks, and the grower's word on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from photolog.book.cameras import (
    BEGINNING,
    ClockCorrection,
    clocks_of,
    correction_of,
    offset_s,
    view_of,
)
from photolog.book.clocks import Learnt, keep_correction
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.garden_facts import photo_facts
from photolog.book.stockbook import StockBook
from photolog.photos.clock_proposals import ProposedClock, proposed_clocks
from photolog.photos.clock_shots import Shot, own_tag
from photolog.photos.dates_doubted import DoubtedBlock, doubted_blocks
from photolog.photos.file_numbers import CountedSpan
from photolog.records import CameraRow, ClockProposalRow, PhotoRow
from photolog.terms import ClockReason, ProposalState

__all__ = ["ClockProposal", "FallenClock", "confirm", "fallen_clocks", "proposed", "refuse"]

# What differs by no more is the same proposal, found again with more or fewer photos (judgement).
_SAME_S = 120
_END = datetime(9999, 1, 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClockProposal:
    """A correction that is proposed: for which photos of a camera, how much, and what says so.

    ``add_seconds`` is to be added to what the clock said, all told.
    """

    id: int
    camera: str
    kind: ClockReason
    since: datetime | None
    until: datetime | None
    span: CountedSpan | None
    add_seconds: int
    because: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FallenClock:
    """Photos that were counted while their camera's clock had fallen back to its first day.

    ``earliest`` and ``latest`` are the days between which they were taken, by their numbers; None
    where no photo before or after them bounds it. ``proposed`` is the number of the proposal.
    """

    camera: str
    photo_ids: tuple[int, ...]
    first_name: str
    last_name: str
    said: datetime
    earliest: datetime | None
    latest: datetime | None


class _Clocks(NamedTuple):
    shots: list[Shot]
    doubted: list[DoubtedBlock]
    corrections: Mapping[int, tuple[ClockCorrection, ...]]


def proposed(book: StockBook) -> tuple[ClockProposal, ...]:
    """What the photos propose now of the cameras' clocks; nothing of it holds until confirmed.

    One that was found before keeps its number, and what was turned down is not proposed again.
    """
    with book.writing() as session:
        found = _found(session)
        labels = _labels(session)
        rows = session.scalars(select(ClockProposalRow).order_by(ClockProposalRow.id)).all()
        refused = [one for one in rows if one.state is ProposalState.TURNED_DOWN]
        open_rows = [one for one in rows if one.state is ProposalState.PROPOSED]
        for one in found:
            if any(_alike(one, row) for row in refused):
                continue
            row = next((row for row in open_rows if _alike(one, row)), None)
            if row is None:
                row = ClockProposalRow(camera_id=one.camera)
                session.add(row)
            else:
                open_rows.remove(row)
            _write(row, one, labels)
        for row in open_rows:
            session.delete(row)
        session.flush()
        return tuple(
            _view(row, labels)
            for row in session.scalars(
                select(ClockProposalRow)
                .where(ClockProposalRow.state == ProposalState.PROPOSED)
                .order_by(ClockProposalRow.id)
            )
        )


def confirm(book: StockBook, ids: Sequence[int]) -> tuple[Learnt, ...]:
    """Let corrections hold that are proposed, by their numbers.

    Raises ``Unknown`` for a number, ``WrongEntry`` for one that was decided already; none is
    entered then.
    """
    with book.writing() as session:
        done = []
        for row in _rows(session, ids):
            camera = session.get_one(CameraRow, row.camera_id)
            learnt = keep_correction(
                session,
                camera,
                add_seconds=row.add_seconds,
                since=row.from_moment,
                until=row.until_moment,
                span=_span(row),
                note=f"confirmed: {row.kind}",
            )
            row.state, row.decided_at = ProposalState.CONFIRMED, datetime.now(UTC)
            row.correction_id = learnt.correction.id
            done.append(learnt)
        return tuple(done)


def refuse(book: StockBook, ids: Sequence[int]) -> tuple[ClockProposal, ...]:
    """Turn proposals down; they are not made again. Raises as ``confirm``."""
    with book.writing() as session:
        rows = _rows(session, ids)
        for row in rows:
            row.state, row.decided_at = ProposalState.TURNED_DOWN, datetime.now(UTC)
        session.flush()
        labels = _labels(session)
        return tuple(_view(row, labels) for row in rows)


def fallen_clocks(book: StockBook) -> tuple[FallenClock, ...]:
    """The stretches of counting whose clock had fallen back, and is not put right yet."""
    with book.reading() as session:
        labels = _labels(session)
        return tuple(
            FallenClock(
                camera=labels[block.photos[0].camera or 0],
                photo_ids=tuple(photo.photo_id for photo in block.photos),
                first_name=block.photos[0].name,
                last_name=block.photos[-1].name,
                said=block.photos[0].taken_at or BEGINNING,
                earliest=block.dates[0].earliest,
                latest=block.dates[-1].latest,
            )
            for block in doubted_blocks(photo_facts(session))
        )


def _found(session: Session) -> list[ProposedClock]:
    clocks = _clocks(session)
    added_s = {one.id: one.add_seconds for some in clocks.corrections.values() for one in some}
    # What other cameras proposed makes a clock no surer than those are.
    confirmed = set(session.scalars(select(ClockProposalRow.correction_id)))
    learnt = [
        camera
        for camera, some in clocks.corrections.items()
        if any(one.span is None and one.id not in confirmed for one in some)
    ]
    found = proposed_clocks(clocks.shots, clocks.doubted, learnt=learnt, added_s=added_s)
    by_id = {one.id: one for some in clocks.corrections.values() for one in some}
    return [_within(one, by_id.get(one.correction or 0)) for one in found]


def _within(one: ProposedClock, holds: ClockCorrection | None) -> ProposedClock:
    """The same for no other photos than those for which a correction holds that it puts right."""
    if holds is None or one.span is not None:
        return one
    until = min((end for end in (one.until, holds.until) if end is not None), default=None)
    return replace(
        one, since=max(one.since or BEGINNING, holds.since), until=until, span=holds.span
    )


def _clocks(session: Session) -> _Clocks:
    photos = [one for one in photo_facts(session) if one.camera is not None]
    corrections = clocks_of(session)
    said = {
        row.id: row
        for row in session.execute(
            select(PhotoRow.id, PhotoRow.taken_at, PhotoRow.taken_offset).where(
                PhotoRow.taken_at.is_not(None)
            )
        )
    }
    shots = []
    for photo in photos:
        if photo.taken_at is None or photo.camera is None:
            continue
        row = said[photo.photo_id]
        holds = correction_of(row.taken_at, corrections.get(photo.camera, ()), photo.name)
        shots.append(
            Shot(
                photo_id=photo.photo_id,
                name=photo.name,
                camera=photo.camera,
                clock=row.taken_at,
                at=photo.taken_at,
                correction=None if holds is None else holds.id,
                zone_s=offset_s(row.taken_offset) if row.taken_offset else None,
                tag=own_tag(photo),
            )
        )
    return _Clocks(shots, doubted_blocks(photos), corrections)


def _alike(one: ProposedClock, row: ClockProposalRow) -> bool:
    """Whether a proposal is the one that a row has, for some of the same photos."""
    since, until = one.since or BEGINNING, one.until or _END
    row_until = row.until_moment or _END
    return (
        one.camera == row.camera_id
        and abs(one.add_s - row.add_seconds) <= _SAME_S
        and one.span == _span(row)
        and since < row_until
        and row.from_moment < until
    )


def _write(row: ClockProposalRow, one: ProposedClock, labels: Mapping[int, str]) -> None:
    row.kind, row.add_seconds = one.kind, one.add_s
    row.from_moment, row.until_moment = one.since or BEGINNING, one.until
    row.counted_as = one.span.counted_as if one.span is not None else None
    row.first_number = one.span.first if one.span is not None else None
    row.last_number = one.span.last if one.span is not None else None
    row.because = _because(one, labels)


def _because(one: ProposedClock, labels: Mapping[int, str]) -> str:
    """The evidence in a sentence: how many tags, with which camera, how sure."""
    found = one.found
    others = " and ".join(labels[camera] for camera in found.cameras)
    days = "on one day" if found.n_days == 1 else f"on {found.n_days} days"
    half_s = (found.high_s - found.low_s) / 2
    sure = "to within half a minute" if half_s <= 30 else f"to within {half_s / 60:.0f} minutes"
    said = (
        f"{found.n_agree} of {found.n_tags} tags that {others} photographed {days} too say so, "
        f"{sure}."
    )
    if found.n_days == 1 and one.kind is not ClockReason.FIRST_DAY:
        said += " One day alone may be chance: were you both in the garden together?"
    return said


def _rows(session: Session, ids: Sequence[int]) -> list[ClockProposalRow]:
    found = []
    for number in dict.fromkeys(ids):
        row = session.get(ClockProposalRow, number)
        if row is None:
            msg = f"There is no clock proposal {number}. photolog clock lists them."
            raise Unknown(msg)
        if row.state is not ProposalState.PROPOSED:
            msg = f"Clock proposal {number} was {row.state} already."
            raise WrongEntry(msg)
        found.append(row)
    return found


def _labels(session: Session) -> dict[int, str]:
    rows = session.scalars(select(CameraRow).options(selectinload(CameraRow.corrections)))
    return {row.id: view_of(row).label for row in rows}


def _span(row: ClockProposalRow) -> CountedSpan | None:
    if row.counted_as is None or row.first_number is None or row.last_number is None:
        return None
    return CountedSpan(counted_as=row.counted_as, first=row.first_number, last=row.last_number)


def _view(row: ClockProposalRow, labels: Mapping[int, str]) -> ClockProposal:
    return ClockProposal(
        id=row.id,
        camera=labels[row.camera_id],
        kind=row.kind,
        since=None if row.from_moment == BEGINNING else row.from_moment,
        until=row.until_moment,
        span=_span(row),
        add_seconds=row.add_seconds,
        because=row.because,
    )
