"""Keeping what matching found: only what differs from what is kept is written, and said."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import NamedTuple

from sqlalchemy import delete, insert, select, update
from sqlalchemy.orm import Session

from photolog.book.garden_facts import tag_held
from photolog.book.moves import Belongs, Move, Moves
from photolog.book.stock import StockRef, columns_of, ref_of
from photolog.photos.facts import BoxFound, Candidate, Match, PhotoFacts
from photolog.photos.garden import Garden, Holder
from photolog.records import BoxRow, CandidateRow, PhotoBoxRow, PhotoRow, PhotoSubjectRow
from photolog.records.photos import candidates_where
from photolog.terms import MatchState

__all__ = ["keep_matches"]

# SQLite takes some 32,000 values in one statement.
_MOST_AT_ONCE = 5_000


class _Said(NamedTuple):
    """One match or candidate as its row keeps it."""

    stock: StockRef
    reason: str
    because: str
    probability: float

    @classmethod
    def by_candidate(cls, one: Candidate) -> _Said:
        return cls(
            StockRef(one.holder.kind, one.holder.id), one.reason, one.because, one.probability
        )


class _Photo(NamedTuple):
    """How a photo stands in the tables."""

    name: str
    state: MatchState
    because: str | None


class _Kept(NamedTuple):
    """What the tables have for photos that were not decided by hand."""

    photos: dict[int, _Photo]
    subjects: dict[int, dict[StockRef, tuple[int, _Said, bool]]]
    candidates: dict[int, list[_Said]]
    boxes: dict[int, list[BoxFound]]


def keep_matches(
    session: Session,
    matches: Mapping[int, Match],
    photos: Sequence[PhotoFacts],
    garden: Garden,
) -> Moves:
    """Write the matches of the photos that were not decided by hand; what moved by it.

    Photos that were not matched (copies of another) stay as they are. A row that stays keeps what
    was told of it (the stage). The tables are read in four queries,
    and written only where something differs, so that matching anew without a change writes nothing.
    """
    # What this transaction has in hand is written first, and read again after.
    session.flush()
    kept = _kept(session)
    facts = {photo.photo_id: photo for photo in photos}
    moves: list[Move] = []
    changed: list[dict[str, object]] = []
    gone: list[int] = []
    added: list[dict[str, object]] = []
    altered: list[dict[str, object]] = []
    offered_anew: dict[int, list[_Said]] = {}
    boxed_anew: dict[int, tuple[BoxFound, ...]] = {}
    for photo_id, stands in kept.photos.items():
        match = matches.get(photo_id)
        if match is None:
            continue
        found = [_Said.by_candidate(one) for one in match.belongs_to]
        state = MatchState.MATCHED if found or match.box_alone else MatchState.WAITING
        had = kept.subjects.get(photo_id, {})
        had_boxes = kept.boxes.get(photo_id, [])
        if stands.state != state or stands.because != match.waiting_because:
            changed.append(
                {"id": photo_id, "match_state": state, "waiting_because": match.waiting_because}
            )
        wanted = {one.stock: one for one in found}
        gone += [row_id for stock, (row_id, _, _) in had.items() if stock not in wanted]
        for stock, said in wanted.items():
            values = {
                "reason": said.reason,
                "because": said.because,
                "probability": said.probability,
                "by_hand": False,
                "matched_at": datetime.now(UTC),
            }
            if stock not in had:
                added.append({"photo_id": photo_id, **columns_of(stock), **values})
            elif had[stock][1] != said or had[stock][2]:
                altered.append({"id": had[stock][0], **values})
        offered = sorted(
            (_Said.by_candidate(one) for one in match.candidates),
            key=lambda one: -one.probability,
        )
        if kept.candidates.get(photo_id, []) != offered:
            offered_anew[photo_id] = offered
        if had_boxes != list(match.boxes):
            boxed_anew[photo_id] = match.boxes
        before = (stands.state, list(had), [one.box_id for one in had_boxes])
        after = (state, list(wanted), [one.box_id for one in match.boxes])
        if before != after:
            at = facts[photo_id].taken_at
            moves.append(
                Move(
                    photo_id=photo_id,
                    photo=stands.name,
                    was=_belongs(had, [one.number for one in had_boxes], at, garden),
                    now=_belongs(wanted, [one.number for one in match.boxes], at, garden),
                    waits=state is MatchState.WAITING,
                    waited=stands.state is MatchState.WAITING,
                )
            )
    _write(session, changed, gone, added, altered)
    _write_candidates(session, offered_anew)
    _write_boxes(session, boxed_anew)
    if changed or gone or added or altered or offered_anew:
        for row in list(session.identity_map.values()):
            if isinstance(row, PhotoRow | PhotoSubjectRow | CandidateRow):
                session.expire(row)
    return Moves(moves=tuple(moves))


def _belongs(
    stock: Mapping[StockRef, object],
    boxes: Sequence[int],
    at: datetime | None,
    garden: Garden,
) -> tuple[Belongs, ...]:
    found = []
    for one in stock:
        holder = Holder(one.kind, one.id)
        tag = tag_held(holder, at, garden)
        found.append(Belongs(stock=one, tag=tag, name=garden.named(holder)))
    found += [
        Belongs(stock=None, tag=None, name=garden.box_named(number), box=number) for number in boxes
    ]
    return tuple(found)


def _kept(session: Session) -> _Kept:
    mine = PhotoRow.match_by_hand.is_(False)
    photos = {
        row.id: _Photo(row.original_name, row.match_state, row.waiting_because)
        for row in session.execute(
            select(
                PhotoRow.id,
                PhotoRow.original_name,
                PhotoRow.match_state,
                PhotoRow.waiting_because,
            )
            .where(mine)
            .order_by(PhotoRow.id)
        )
    }
    subjects: dict[int, dict[StockRef, tuple[int, _Said, bool]]] = {}
    for row in session.execute(
        select(
            PhotoSubjectRow.id,
            PhotoSubjectRow.photo_id,
            PhotoSubjectRow.plant_id,
            PhotoSubjectRow.batch_id,
            PhotoSubjectRow.reason,
            PhotoSubjectRow.because,
            PhotoSubjectRow.probability,
            PhotoSubjectRow.by_hand,
        )
        .join(PhotoRow, PhotoRow.id == PhotoSubjectRow.photo_id)
        .where(mine)
        .order_by(PhotoSubjectRow.id)
    ):
        said = _Said(ref_of(row.plant_id, row.batch_id), row.reason, row.because, row.probability)
        subjects.setdefault(row.photo_id, {})[said.stock] = (row.id, said, row.by_hand)
    candidates: dict[int, list[_Said]] = {}
    for offered in session.execute(candidates_where(mine)):
        said = _Said(
            ref_of(offered.plant_id, offered.batch_id),
            offered.reason,
            offered.because,
            offered.probability,
        )
        candidates.setdefault(offered.photo_id, []).append(said)
    boxes: dict[int, list[BoxFound]] = {}
    for boxed in session.execute(
        select(
            PhotoBoxRow.photo_id,
            PhotoBoxRow.box_id,
            BoxRow.number,
            PhotoBoxRow.because,
            PhotoBoxRow.probability,
        )
        .join(BoxRow, BoxRow.id == PhotoBoxRow.box_id)
        .join(PhotoRow, PhotoRow.id == PhotoBoxRow.photo_id)
        .where(mine)
        .order_by(PhotoBoxRow.id)
    ):
        boxes.setdefault(boxed.photo_id, []).append(
            BoxFound(
                box_id=boxed.box_id,
                number=boxed.number,
                because=boxed.because,
                probability=boxed.probability,
            )
        )
    return _Kept(photos, subjects, candidates, boxes)


def _write(
    session: Session,
    changed: Sequence[dict[str, object]],
    gone: Sequence[int],
    added: Sequence[dict[str, object]],
    altered: Sequence[dict[str, object]],
) -> None:
    if changed:
        session.execute(update(PhotoRow), changed)
    for some in _in_parts(gone):
        session.execute(delete(PhotoSubjectRow).where(PhotoSubjectRow.id.in_(some)))
    if altered:
        session.execute(update(PhotoSubjectRow), altered)
    if added:
        session.execute(insert(PhotoSubjectRow), added)


def _write_candidates(session: Session, offered: Mapping[int, Sequence[_Said]]) -> None:
    for some in _in_parts(list(offered)):
        session.execute(delete(CandidateRow).where(CandidateRow.photo_id.in_(some)))
    rows = [
        {
            "photo_id": photo_id,
            **columns_of(one.stock),
            "reason": one.reason,
            "because": one.because,
            "probability": one.probability,
        }
        for photo_id, every in offered.items()
        for one in every
    ]
    if rows:
        session.execute(insert(CandidateRow), rows)


def _write_boxes(session: Session, boxed: Mapping[int, Sequence[BoxFound]]) -> None:
    for some in _in_parts(list(boxed)):
        session.execute(delete(PhotoBoxRow).where(PhotoBoxRow.photo_id.in_(some)))
    rows = [
        {
            "photo_id": photo_id,
            "box_id": one.box_id,
            "reason": "tag",
            "because": one.because,
            "probability": one.probability,
            "by_hand": False,
            "matched_at": datetime.now(UTC),
        }
        for photo_id, every in boxed.items()
        for one in every
    ]
    if rows:
        session.execute(insert(PhotoBoxRow), rows)


def _in_parts(ids: Sequence[int]) -> list[Sequence[int]]:
    return [ids[at : at + _MOST_AT_ONCE] for at in range(0, len(ids), _MOST_AT_ONCE)]
