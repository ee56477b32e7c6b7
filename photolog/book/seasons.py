"""One season's clumps beside another's: what was measured, what changed, what was left out."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from photolog.book import plants
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.happenings import happenings_in
from photolog.book.photo_sizes import (
    Doubt,
    PhotoRecord,
    PhotoSubject,
    SizeFigure,
    photos_showing,
)
from photolog.book.plant_seasons import Happening, season_of
from photolog.book.plants import PlantView
from photolog.book.stages import stage_of
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.comparing import SIZE_KINDS, Comparison, Shot, VarietyChange, compare_sizes
from photolog.terms import MatchState, Subject

__all__ = ["ClumpPhoto", "LeftOut", "SeasonComparison", "SeasonRow", "compare"]

LEAVING_OUT = frozenset({"outline unsure", "touches the edge of the picture"})
"""Flags with which a size is not compared, unless the grower has accepted it."""

SCALE_COMPONENTS = frozenset({"printing"})
"""What a measurement's components call the scale error of the card's printing."""

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


@dataclass(frozen=True, slots=True, kw_only=True)
class SeasonRow:
    """One variety at one clump stage: its change in size and in number."""

    variety: str
    stage: str | None
    size: VarietyChange | None
    number: VarietyChange | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeasonComparison:
    """Two seasons' clumps, by size (spread) and by number (tubers).

    ``photos`` are those used, of both seasons, oldest first; ``doubtful`` those of them that carry
    a flag.
    """

    first: int
    second: int
    rows: tuple[SeasonRow, ...]
    size: Comparison
    number: Comparison
    photos: tuple[ClumpPhoto, ...]
    doubtful: tuple[ClumpPhoto, ...]
    left_out: tuple[LeftOut, ...]


def compare(
    book: StockBook, *, first: int | None = None, second: int | None = None
) -> SeasonComparison:
    """Compare the clumps of two seasons; without saying which, the last two that were measured.

    A season is named by the year in which the plants were planted out. Raises ``Unknown`` where no
    clump was measured in a season asked for, or in two seasons at all; ``WrongEntry`` where both
    are the same.
    """
    with book.reading() as session:
        records = photos_showing(book, session, Subject.CLUMP)
        happened = happenings_in(session)
        known = {view.ref: view for view in plants.views(session, None)}
    used: list[ClumpPhoto] = []
    left_out: list[LeftOut] = []
    for record in records:
        sorted_out = _sort_out(record, known=known, happened=happened)
        if isinstance(sorted_out, ClumpPhoto):
            used.append(sorted_out)
        else:
            left_out.append(sorted_out)
    first, second = _which(first, second, used, left_out)
    ours = tuple(photo for photo in used if photo.season in (first, second))
    size = _by(used, "spread_mm", first, second)
    number = _by(used, "tubers", first, second)
    return SeasonComparison(
        first=first,
        second=second,
        rows=_side_by_side(size, number),
        size=size,
        number=number,
        photos=ours,
        doubtful=tuple(photo for photo in ours if photo.doubts),
        left_out=tuple(one for one in left_out if _concerns(one, ours, (first, second))),
    )


def _sort_out(
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


def _which(
    first: int | None,
    second: int | None,
    used: Sequence[ClumpPhoto],
    left_out: Sequence[LeftOut],
) -> tuple[int, int]:
    """The two seasons: as asked for, else the last two, else the one nearest to the one named."""
    seasons = sorted({photo.season for photo in used})
    listed = ", ".join(str(season) for season in seasons)
    but = _said_of(left_out)
    if not seasons and not left_out:
        msg = (
            "There is no photo of a clump in the stock book. Take in photos of clumps beside the "
            "bench card, match and measure them."
        )
        raise Unknown(msg)
    if not seasons:
        msg = f"No photo of a clump can be used yet.{but}"
        raise Unknown(msg)
    for asked in (first, second):
        if asked is not None and asked not in seasons:
            msg = f"No clump was measured in season {asked}. Measured are those of {listed}.{but}"
            raise Unknown(msg)
    if first is not None and first == second:
        msg = f"Season {first} can't be compared with itself. Measured are those of {listed}."
        raise WrongEntry(msg)
    if second is None:
        later = [season for season in seasons if first is None or season > first]
        second = (later[0] if first is not None else later[-1]) if later else None
    if first is None and second is not None:
        first = max((season for season in seasons if season < second), default=None)
    if first is None or second is None:
        only = " only" if len(seasons) == 1 else ""
        msg = f"Two seasons are needed. Clumps were measured in {listed}{only}.{but}"
        raise Unknown(msg)
    return first, second


def _said_of(left_out: Sequence[LeftOut], *, most: int = 3) -> str:
    """How many photos were left out, by reason, the commonest first; blank for none."""
    if not left_out:
        return ""
    counted = Counter(one.why for one in left_out).most_common()
    said = " ".join(f"{n} × {why}" for why, n in counted[:most])
    others = sum(n for _, n in counted[most:])
    return f" Left out: {said}{f' And {others} more.' if others else ''}"


def _by(used: Sequence[ClumpPhoto], name: str, first: int, second: int) -> Comparison:
    kind = SIZE_KINDS[name]
    shots = []
    for photo in used:
        measured = photo.record.measured
        figure = measured.sizes.get(name) if measured else None
        if measured is None or figure is None or figure.u is None or figure.value <= 0:
            continue
        own_u, scale_u = _apart(figure, lay=kind.lay_prior > 0)
        shots.append(
            Shot(
                plant=f"{photo.plant.kind} {photo.plant.id}",
                variety=photo.variety,
                season=photo.season,
                stage=photo.stage,
                taken_at=photo.record.taken_at or datetime.min,  # noqa: DTZ901 - all have a date
                value=figure.value,
                u=own_u,
                scale_u=scale_u,
                # A card whose bars nobody read may have been printed anew for each season.
                printing=measured.printing or f"not read, {measured.card_design}, {photo.season}",
            )
        )
    return compare_sizes(shots, kind=kind, first=first, second=second)


def _apart(figure: SizeFigure, *, lay: bool) -> tuple[float, float]:
    """A size's uncertainty in two: its own, and that of the printing's scale.

    Scatter from laying is taken out of it: comparing brings it in itself.
    """
    scale = math.hypot(*(figure.components.get(name, 0.0) for name in SCALE_COMPONENTS))
    out = scale**2 + (figure.components.get("lay", 0.0) ** 2 if lay else 0.0)
    return math.sqrt(max(0.0, (figure.u or 0.0) ** 2 - out)), scale


def _side_by_side(size: Comparison, number: Comparison) -> tuple[SeasonRow, ...]:
    sizes = {(row.variety, row.stage): row for row in size.rows}
    numbers = {(row.variety, row.stage): row for row in number.rows}
    keys = dict.fromkeys([*sizes, *numbers])
    return tuple(
        SeasonRow(variety=key[0], stage=key[1], size=sizes.get(key), number=numbers.get(key))
        for key in keys
    )


def _concerns(one: LeftOut, ours: Sequence[ClumpPhoto], seasons: tuple[int, int]) -> bool:
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
