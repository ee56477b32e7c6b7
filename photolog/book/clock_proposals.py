"""Corrections that photos propose for cameras' clocks, and the grower's word on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.cameras import BEGINNING, ClockCorrection, labels_of
from photolog.book.clocks_read import clocks_read
from photolog.book.corrections_kept import Learnt, keep_correction
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.stockbook import StockBook
from photolog.photos.clock_proposals import ProposedClock, proposed_clocks
from photolog.photos.file_numbers import CountedSpan
from photolog.records import CameraRow, ClockProposalRow
from photolog.terms import ClockReason, ProposalState

__all__ = ["ClockProposal", "confirm", "proposed", "refuse"]

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


def proposed(book: StockBook) -> tuple[ClockProposal, ...]:
    """What the photos propose now of the cameras' clocks; nothing of it holds until confirmed.

    One that was found before keeps its number, and what was turned down is not proposed again.
    """
    with book.writing() as session:
        found = _found(session)
        labels = labels_of(session)
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
        labels = labels_of(session)
        return tuple(_view(row, labels) for row in rows)


def _found(session: Session) -> list[ProposedClock]:
    clocks = clocks_read(session)
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
    if one.either:
        said += f" It may as well be the clock of {others} that is wrong: compare one with a clock."
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
