"""One season's clumps beside another's: what was measured, what changed, what was left out."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from photolog.book import growing, plants
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.growing import HowGrown
from photolog.book.happenings import happenings_in
from photolog.book.photo_sizes import SizeFigure, photos_showing
from photolog.book.season_photos import ClumpPhoto, LeftOut, concerns, counted, sort_out
from photolog.book.stock import StockRef
from photolog.book.stockbook import StockBook
from photolog.comparing import SIZE_KINDS, Comparison, Shot, VarietyChange, compare_sizes
from photolog.terms import Subject

__all__ = ["ClumpPhoto", "LeftOut", "SeasonComparison", "SeasonRow", "compare"]

SCALE_COMPONENTS = frozenset({"printing"})
"""What a measurement's components call the scale error of the card's printing."""


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
    a flag. ``unlike`` says, a sentence each, what was not grown alike in the two seasons.
    """

    first: int
    second: int
    rows: tuple[SeasonRow, ...]
    size: Comparison
    number: Comparison
    photos: tuple[ClumpPhoto, ...]
    doubtful: tuple[ClumpPhoto, ...]
    left_out: tuple[LeftOut, ...]
    unlike: tuple[str, ...]


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
        sorted_out = sort_out(record, known=known, happened=happened)
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
        left_out=tuple(one for one in left_out if concerns(one, ours, (first, second))),
        unlike=_unlike(ours, growing.every(book), first, second),
    )


def _which(
    first: int | None,
    second: int | None,
    used: Sequence[ClumpPhoto],
    left_out: Sequence[LeftOut],
) -> tuple[int, int]:
    """The two seasons: as asked for, else the last two, else the one nearest to the one named."""
    seasons = sorted({photo.season for photo in used})
    listed = ", ".join(str(season) for season in seasons)
    but = counted(left_out)
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


def _by(used: Sequence[ClumpPhoto], name: str, first: int, second: int) -> Comparison:
    kind = SIZE_KINDS[name]
    shots = []
    for photo in used:
        measured = photo.record.measured
        figure = measured.sizes.get(name) if measured else None
        if measured is None or figure is None or figure.u is None or figure.value <= 0:
            continue
        own_u, scale_u = _apart(figure)
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
                burst=str(photo.record.burst),
                set_apart=photo.record.set_apart,
            )
        )
    return compare_sizes(shots, kind=kind, first=first, second=second)


def _apart(figure: SizeFigure) -> tuple[float, float]:
    """A size's uncertainty in two: its own, and that of the printing's scale.

    Scatter from laying is in neither: a photo's size leaves it out, and comparing brings it in.
    """
    scale = math.hypot(*(figure.components.get(name, 0.0) for name in SCALE_COMPONENTS))
    return math.sqrt(max(0.0, (figure.u or 0.0) ** 2 - scale**2)), scale


def _side_by_side(size: Comparison, number: Comparison) -> tuple[SeasonRow, ...]:
    sizes = {(row.variety, row.stage): row for row in size.rows}
    numbers = {(row.variety, row.stage): row for row in number.rows}
    keys = dict.fromkeys([*sizes, *numbers])
    return tuple(
        SeasonRow(variety=key[0], stage=key[1], size=sizes.get(key), number=numbers.get(key))
        for key in keys
    )


def _unlike(
    ours: Sequence[ClumpPhoto],
    grown: Mapping[tuple[StockRef, int], HowGrown],
    first: int,
    second: int,
) -> tuple[str, ...]:
    """Varieties that were grown from other things in the two seasons, where that is known."""
    found: dict[tuple[str, str], list[str]] = {}
    for variety in dict.fromkeys(photo.variety for photo in ours):
        froms = {}
        for season in (first, second):
            plants_then = {p.plant for p in ours if p.variety == variety and p.season == season}
            known = {grown.get((plant, season), HowGrown()).grown_from for plant in plants_then}
            froms[season] = " or ".join(sorted(str(one) for one in known if one is not None))
        if all(froms.values()) and froms[first] != froms[second]:
            found.setdefault((froms[first], froms[second]), []).append(variety)
    return tuple(
        f"Grown from {one} in season {first}, from {other} in {second}: {', '.join(varieties)}."
        for (one, other), varieties in found.items()
    )
