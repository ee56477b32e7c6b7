"""Which photos of clumps can be compared between seasons, and why the others can't."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from photolog.book.photo_sizes import Doubt, PhotoRecord, PhotoSubject
from photolog.book.plant_seasons import Happening, season_of
from photolog.book.plants import PlantView
from photolog.book.stages import stage_of
from photolog.book.stock import StockRef
from photolog.terms import MatchState, Subject

__all__ = ["LEAVING_OUT", "ClumpPhoto", "LeftOut", "concerns", "counted", "sort_out"]

LEAVING_OUT = frozenset({"outline unsure", "touches the edge of the picture"})
"""Flags with which a size is not compared, unless the grower has accepted it."""

# A waiting photo has no plant and so no season; it is listed when it was taken about when the
# photos that were used were.
_ABOUT = timedelta(days=60)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClumpPhoto:
    """A measured photo of a clump, and whose, in which season and at which stage it is."""

    record: PhotoRecord
    plant: StockRef
    variety: str
    tag: str | None
    season: int
    stage: str | None

    @property
    def doubts(self) -> tuple[Doubt, ...]:
        """What makes it doubtful, though it is used."""
        return self.record.measured.doubts if self.record.measured else ()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A photo of a clump that is not in the comparison, why, and what can be done.

    ``season`` and ``variety`` are None where nobody knows them; ``day_told`` as of ``PhotoRecord``.
    """

    photo_id: int
    name: str
    taken_at: datetime | None
    day_told: bool
    tag: str | None
    variety: str | None
    season: int | None
    why: str
    remedy: str


def sort_out(
    record: PhotoRecord,
    *,
    known: Mapping[StockRef, PlantView],
    happened: Mapping[StockRef, Sequence[Happening]],
) -> ClumpPhoto | LeftOut:
    """A photo that can be compared, or why it can't."""
    subject = record.subjects[0] if len(record.subjects) == 1 else None
    plant = known.get(subject.stock) if subject is not None else None
    day = record.taken_at.date() if record.taken_at else None
    happenings = happened.get(plant.ref, ()) if plant is not None else ()
    season = season_of(happenings, day, clump=True) if day is not None else None
    tag = _tag_on(plant, day)
    obstacle = next(_obstacles(record, plant, season), None)
    if obstacle is None and plant and subject and day and record.taken_at and season is not None:
        return ClumpPhoto(
            record=record,
            plant=plant.ref,
            variety=plant.variety,
            tag=tag,
            season=season,
            stage=_stage(subject, record, happenings),
        )
    why, remedy = obstacle or ("Its plant or its season is not known.", "Match it by hand.")
    return LeftOut(
        photo_id=record.id,
        name=record.name,
        taken_at=record.taken_at,
        day_told=record.day_told,
        tag=tag,
        variety=plant.variety if plant else None,
        season=season,
        why=why,
        remedy=remedy,
    )


def _stage(
    subject: PhotoSubject, record: PhotoRecord, happenings: Sequence[Happening]
) -> str | None:
    stage = stage_of(subject.stage, Subject.CLUMP, happenings, record.taken_at)
    return None if stage is None else str(stage)


def _obstacles(
    record: PhotoRecord, plant: PlantView | None, season: int | None
) -> Iterator[tuple[str, str]]:
    """What keeps a photo out of the comparison, and the remedy: what to see to first, first."""
    if record.state is MatchState.WAITING:
        yield record.waiting_because or "It is not matched to a plant yet.", "Say whose it is."
    elif plant is None:
        yield (
            "It belongs to several plants or to a batch, so it is no single plant's clump."
            if record.subjects
            else "It belongs to no plant.",
            "Match it by hand to one plant.",
        )
    yield from _doubts_too_great(record)
    if record.taken_at is None:
        yield "The file gives no date, so its season is not known.", "Enter its day."
    elif season is None:
        yield (
            "The day book does not say that this plant was planted out before.",
            "Enter when it was planted out.",
        )


def _doubts_too_great(record: PhotoRecord) -> Iterator[tuple[str, str]]:
    measured = record.measured
    if measured is None:
        yield "It has not been measured yet.", "Measure it."
        return
    if measured.refused:
        yield measured.reason or "It could not be measured.", measured.remedy or ""
    if measured.turned_down:
        yield "You turned its measurement down.", "Measure it again, or accept it."
    spread = measured.sizes.get("spread_mm")
    if spread is None or measured.measured_of != "clump":
        yield "It was not measured as a clump.", "Say that it shows a clump and measure it again."
    elif spread.u is None:
        yield "How sure its size is could not be told.", "Take it again."
    if not measured.accepted:
        for doubt in measured.doubts:
            if doubt.flag in LEAVING_OUT:
                yield doubt.sentence, f"{doubt.remedy} If its size is right, accept it."


def _tag_on(plant: PlantView | None, day: date | None) -> str | None:
    if plant is None or not plant.tags:
        return None
    held = [one for one in plant.tags if day is not None and one.holds_on(day)]
    return (held or list(plant.tags))[-1].printed


def counted(left_out: Sequence[LeftOut], *, most: int = 3) -> str:
    """How many photos were left out, by reason, the commonest first; blank for none."""
    if not left_out:
        return ""
    reasons = Counter(one.why for one in left_out).most_common()
    said = " ".join(f"{n} × {why}" for why, n in reasons[:most])
    others = sum(n for _, n in reasons[most:])
    return f" Left out: {said}{f' And {others} more.' if others else ''}"


def concerns(one: LeftOut, ours: Sequence[ClumpPhoto], seasons: tuple[int, int]) -> bool:
    """Whether a photo left out belongs to these seasons, or may."""
    if one.season is not None:
        return one.season in seasons
    if one.taken_at is None:
        return True
    return any(
        abs(one.taken_at - photo.record.taken_at) <= _ABOUT
        for photo in ours
        if photo.record.taken_at is not None
    )
