"""What matching has to know, gathered from the tables in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from photolog.book.boxes import number_of as box_number
from photolog.book.cameras import clocks_of, corrected, offset_s, told_moment
from photolog.book.likeness_read import NOTHING_READ, likeness_read
from photolog.photos.facts import MatchSettings, PhotoFacts, Shows, boxes_in_view, tags_in_view
from photolog.photos.garden import BoxFact, DayFact, Garden, Holder, HolderFact, Holding
from photolog.photos.marks import shows_of_card
from photolog.records import (
    BatchRow,
    BoxRow,
    DayToldRow,
    EventRow,
    EventSubjectRow,
    PhotoRow,
    PhotoSubjectRow,
    PlantRow,
    TagHoldingRow,
    TagRow,
    VarietyRow,
)
from photolog.terms import EventKind, Subject

__all__ = ["garden_facts", "holder_of", "photo_facts", "tag_held"]

_BACKGROUND_SHARE = MatchSettings().background_share

_SHOWS: dict[Subject, Shows] = {
    Subject.BLOOM_FACE: "bloom",
    Subject.BLOOM_SIDE: "bloom",
    Subject.CLUMP: "clump",
}


def holder_of(plant_id: int | None, batch_id: int | None) -> Holder:
    """The plant or the batch that a row points at."""
    if plant_id is not None:
        return Holder("plant", plant_id)
    if batch_id is not None:
        return Holder("batch", batch_id)
    msg = "a row points at neither a plant nor a batch"
    raise ValueError(msg)


def photo_facts(session: Session, *where: ColumnElement[bool]) -> list[PhotoFacts]:
    """Photos as matching sees them, by their number: all, or those for which ``where`` holds."""
    clocks = clocks_of(session)
    decided = _decided(session)
    measured = likeness_read(session, *where)
    rows = session.execute(
        select(
            PhotoRow.id,
            PhotoRow.original_name,
            PhotoRow.taken_at,
            PhotoRow.taken_subsec,
            PhotoRow.taken_offset,
            PhotoRow.date_problem,
            PhotoRow.told_on,
            PhotoRow.camera_id,
            PhotoRow.width_px,
            PhotoRow.height_px,
            PhotoRow.marks,
            PhotoRow.subject,
            PhotoRow.subject_by_hand,
            PhotoRow.match_by_hand,
            DayToldRow.place,
            DayToldRow.told_at,
        )
        .outerjoin(DayToldRow, DayToldRow.photo_id == PhotoRow.id)
        .where(*where)
        .order_by(PhotoRow.id)
    ).all()
    put_back = _put_back(rows)
    photos = []
    for row in rows:
        marks: dict[str, Any] = row.marks or {}
        cards = marks.get("cards", [])
        tags = tags_in_view(row.marks)
        taken_at = told_moment(row.told_on)
        if row.taken_at is not None:
            taken_at = corrected(row.taken_at, clocks.get(row.camera_id, ()), row.original_name)
        by_card = shows_of_card(cards[0]["design"]) if cards else None
        shows = _SHOWS.get(row.subject) if row.subject_by_hand else by_card
        photos.append(
            PhotoFacts(
                photo_id=row.id,
                name=row.original_name,
                taken_at=taken_at,
                subsec=_within_second(row.taken_at, row.taken_subsec, row.place),
                put_back_s=put_back.get(row.id, 0),
                lot=round(row.told_at.timestamp()) if row.told_at and not row.taken_at else None,
                date_problem=row.date_problem,
                # A day that was told has no hour, so such a photo stands in no run.
                camera=row.camera_id if row.taken_at is not None else None,
                longest_px=max(row.width_px, row.height_px),
                shows=shows,
                has_card=bool(cards),
                has_word=bool(marks.get("words")),
                px_per_mm=cards[0]["px_per_mm"] if cards else None,
                tags=tags,
                likeness=int(marks["likeness"], 16) if "likeness" in marks else None,
                **(measured.get((row.id, shows), NOTHING_READ) if shows else NOTHING_READ),
                boxes=boxes_in_view(
                    row.marks,
                    least_px=_BACKGROUND_SHARE * max(row.width_px, row.height_px),
                ),
                is_group=row.subject_by_hand and row.subject is Subject.GROUP,
                decided=tuple(decided.get(row.id, ())) if row.match_by_hand else None,
            )
        )
    return photos


def garden_facts(session: Session) -> Garden:
    """Who held each tag from when to when, what plants and batches there are, the day book."""
    holdings = [
        Holding(
            tag=row.number,
            holder=holder_of(row.plant_id, row.batch_id),
            from_date=row.from_date,
            until_date=row.until_date,
        )
        for row in session.execute(
            select(
                TagRow.number,
                TagHoldingRow.plant_id,
                TagHoldingRow.batch_id,
                TagHoldingRow.from_date,
                TagHoldingRow.until_date,
            ).join(TagHoldingRow.tag)
        )
    ]
    return Garden(
        holdings=holdings,
        holders=_holders(session),
        events=_day_book(session),
        boxes={
            row.number: BoxFact(box_id=row.id, name=row.name)
            for row in session.execute(select(BoxRow.id, BoxRow.number, BoxRow.name))
        },
        box_entries=_box_entries(session),
    )


def tag_held(holder: Holder, at: datetime | None, garden: Garden) -> int | None:
    """The tag that a plant or batch held then, or holds now where there is no date."""
    held = garden.holdings_of_holder.get(holder, ())
    if at is None:
        return next((one.tag for one in held if one.until_date is None), None)
    return next((one.tag for one in held if one.on(at.date())), None)


def _put_back(rows: Iterable[Any]) -> dict[int, int]:
    """By how many seconds each photo's camera was put back later on its day, by its files' zones.

    Phones write their zone: where it changes on a day, clocks were put back (or the phone went
    west), and times before that come again.
    """
    ahead: dict[tuple[int, date], dict[int, int]] = {}
    for row in rows:
        if row.taken_offset and row.taken_at is not None and row.camera_id is not None:
            of_day = ahead.setdefault((row.camera_id, row.taken_at.date()), {})
            of_day[row.id] = offset_s(row.taken_offset)
    return {
        photo_id: seconds - min(of_day.values())
        for of_day in ahead.values()
        for photo_id, seconds in of_day.items()
        if seconds > min(of_day.values())
    }


def _within_second(taken_at: datetime | None, subsec: str | None, place: int | None) -> str:
    """What orders photos of one moment: decimals of the second, or the place among those told."""
    if taken_at is None and place is not None:
        return f"{place:06d}"
    return subsec or ""


def _box_entries(session: Session) -> frozenset[tuple[EventKind, date, int]]:
    rows = session.execute(
        select(EventRow.kind, EventRow.on_date, EventRow.place).where(
            EventRow.place.is_not(None), EventRow.struck_out_at.is_(None)
        )
    )
    found = ((row.kind, row.on_date, box_number(row.place or "")) for row in rows)
    return frozenset((kind, on, box) for kind, on, box in found if box is not None)


def _decided(session: Session) -> dict[int, list[Holder]]:
    rows = session.execute(
        select(PhotoSubjectRow.photo_id, PhotoSubjectRow.plant_id, PhotoSubjectRow.batch_id)
        .join(PhotoSubjectRow.photo)
        .where(PhotoRow.match_by_hand)
        .order_by(PhotoSubjectRow.id)
    )
    decided: dict[int, list[Holder]] = {}
    for row in rows:
        decided.setdefault(row.photo_id, []).append(holder_of(row.plant_id, row.batch_id))
    return decided


def _holders(session: Session) -> dict[Holder, HolderFact]:
    plants = session.execute(
        select(PlantRow.id, PlantRow.since, PlantRow.variety_id, VarietyRow.name).join(
            PlantRow.variety
        )
    )
    batches = session.execute(
        select(
            BatchRow.id,
            BatchRow.since,
            BatchRow.variety_id,
            BatchRow.kind,
            BatchRow.count.label("began_with"),
            VarietyRow.name,
        ).join(BatchRow.variety)
    )
    found = {
        Holder("plant", row.id): HolderFact(
            name=f"“{row.name}”", since=row.since, variety=row.variety_id
        )
        for row in plants
    }
    found.update(
        {
            Holder("batch", row.id): HolderFact(
                name=f"the batch of {row.began_with} {row.kind} of “{row.name}”",
                since=row.since,
                variety=row.variety_id,
            )
            for row in batches
        }
    )
    return found


def _day_book(session: Session) -> list[DayFact]:
    rows = session.execute(
        select(
            EventRow.kind,
            EventRow.on_date,
            EventRow.at_time,
            EventRow.count.label("n_of_batch"),
            EventRow.cause,
            EventRow.garden_wide,
            EventSubjectRow.plant_id,
            EventSubjectRow.batch_id,
        )
        .outerjoin(EventRow.subjects)
        .where(EventRow.struck_out_at.is_(None))
        # Within an entry, the order in which the grower named the plants.
        .order_by(EventRow.on_date, EventRow.id, EventSubjectRow.id)
    )
    return [
        DayFact(
            kind=row.kind,
            on=row.on_date,
            holder=None if row.garden_wide else holder_of(row.plant_id, row.batch_id),
            at=row.at_time,
            count=row.n_of_batch,
            cause=row.cause,
        )
        for row in rows
        # Entries about a variety as such (renamed, found to be the same as) match no photo.
        if row.garden_wide or row.plant_id is not None or row.batch_id is not None
    ]
