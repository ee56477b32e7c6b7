"""The history of what a tag hangs on: its seasons, dated photos with sizes, and day book."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, time

from photolog.book import batches, daybook, plants, tags
from photolog.book.batches import BatchView
from photolog.book.bloom_depths import DepthRatio, depth_ratios
from photolog.book.daybook import Entry
from photolog.book.happenings import happenings
from photolog.book.photo_sizes import PhotoRecord, photos_of
from photolog.book.plant_seasons import Happening, Season, season_of
from photolog.book.plants import PlantView
from photolog.book.stages import stage_of
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.book.tags import Holding
from photolog.terms import EventKind, Subject

__all__ = ["DayBookLine", "HistoryPhoto", "PlantHistory", "of_tag"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HistoryPhoto:
    """One photo of it: the season and stage it belongs to, and why it is this plant's.

    ``with_others`` counts the other plants and batches that the photo belongs to as well; it then
    has no size here, since what was measured is no single one's.
    """

    record: PhotoRecord
    season: int | None
    stage: str | None
    because: str
    by_hand: bool
    with_others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DayBookLine:
    """One entry of the day book about it, or about the whole garden while it was there.

    ``details`` are what else was entered, each a few words: the count, the cause, the note.
    """

    on: date
    at: time | None
    what: EventKind
    garden_wide: bool
    details: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlantHistory:
    """All that the stock book knows of the plant or batch that a tag hangs on.

    ``tag`` is as printed. ``count`` and ``left`` are of a batch, None for a plant. ``parent`` says
    what it came from, ``ended`` how and when it ended; None where there is nothing to say. ``held``
    are all its tags, oldest first. ``ratios`` are the depth of its blooms over their diameter, on
    each day on which both were measured.
    """

    tag: str
    kind: str
    variety: str
    form: str | None
    since: date
    came_from: str
    parent: str | None
    note: str
    count: int | None
    left: int | None
    ended: tuple[str, date] | None
    held: tuple[Holding, ...]
    seasons: tuple[Season, ...]
    photos: tuple[HistoryPhoto, ...]
    ratios: tuple[DepthRatio, ...]
    day_book: tuple[DayBookLine, ...]


def of_tag(book: StockBook, tag: str | int, *, on: date | None = None) -> PlantHistory:
    """The history of what held a tag on a day; without a day, what holds it now or held it last.

    Raises ``WrongTag`` where it is no tag, ``Unknown`` where it hung on nothing that day.
    """
    held = _held(book, tag, on=on)
    ref = held.stock
    with book.reading() as session:
        records = photos_of(book, session, ref)
    happened = happenings(book, [ref])[ref]
    view = plants.get(book, ref) if ref.kind == "plant" else batches.get(book, ref)
    entries = [
        entry
        for entry in daybook.entries(book, stock=[ref])
        if not entry.garden_wide or _was_there(view, entry.on)
    ]
    return PlantHistory(
        tag=held.printed,
        kind=f"batch of {view.kind}" if isinstance(view, BatchView) else "plant",
        variety=view.variety,
        form=view.form,
        since=view.since,
        came_from=str(view.came_from),
        parent=_called(book, view.parent, on=view.since),
        note=view.note,
        count=view.count if isinstance(view, BatchView) else None,
        left=view.left if isinstance(view, BatchView) else None,
        ended=_end_of(view),
        held=view.tags,
        seasons=view.seasons,
        photos=tuple(_photo(record, ref, happened) for record in records),
        ratios=depth_ratios(records).get(ref, ()),
        day_book=tuple(_line(entry) for entry in entries),
    )


def _held(book: StockBook, tag: str | int, *, on: date | None) -> Holding:
    if on is not None:
        return tags.resolve(book, tag, on=on)
    held = tags.holdings(book, tag)
    # The last that is not over is what holds it now; else the last is what held it last.
    standing = [one for one in held if one.until is None]
    if standing or held:
        return (standing or list(held))[-1]
    return tags.resolve(book, tag, on=date.max)


def _photo(record: PhotoRecord, ref: StockRef, happened: Sequence[Happening]) -> HistoryPhoto:
    ours = next(subject for subject in record.subjects if subject.stock == ref)
    season = None
    if record.taken_at is not None:
        is_clump = record.shows is Subject.CLUMP
        season = season_of(happened, record.taken_at.date(), clump=is_clump)
    stage = stage_of(ours.stage, record.shows, happened, record.taken_at)
    shared = len(record.subjects) > 1
    return HistoryPhoto(
        record=replace(record, measured=None) if shared else record,
        season=season,
        stage=None if stage is None else str(stage),
        because=ours.because,
        by_hand=ours.by_hand,
        with_others=len(record.subjects) - 1,
    )


def _line(entry: Entry) -> DayBookLine:
    details = []
    if entry.count is not None:
        details.append(f"{entry.count} of them")
    if entry.cause is not None:
        details.append(str(entry.cause))
    if entry.weight_g is not None:
        details.append(f"{entry.weight_g:g} g")
    if entry.other_variety is not None:
        details.append(entry.other_variety)
    if entry.place is not None:
        details.append(entry.place)
    if entry.note:
        details.append(entry.note)
    return DayBookLine(
        on=entry.on,
        at=entry.at,
        what=entry.kind,
        garden_wide=entry.garden_wide,
        details=tuple(details),
    )


def _was_there(view: PlantView | BatchView, day: date) -> bool:
    end = None if isinstance(view, BatchView) else view.ended_on
    return view.since <= day and (end is None or day <= end)


def _end_of(view: PlantView | BatchView) -> tuple[str, date] | None:
    if isinstance(view, BatchView) or view.ended_on is None or view.ended_by is None:
        return None
    return str(view.ended_by), view.ended_on


def _called(book: StockBook, ref: StockRef | None, *, on: date) -> str | None:
    """What a parent is called: its variety, and the tag that it had that day."""
    if ref is None:
        return None
    view = plants.get(book, ref) if ref.kind == "plant" else batches.get(book, ref)
    tagged = [one.printed for one in view.tags if one.holds_on(on)]
    return f"{view.variety}, tag {tagged[-1]}" if tagged else view.variety
