"""How a plant was grown in a season: what the grower told, filled up from the day book."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from photolog.book.errors import Unknown, WrongEntry
from photolog.book.happenings import happenings_in
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.plant_seasons import TURNS, Happening, season_on, seasons_of
from photolog.book.stock import StockRef, columns_of, ref_of
from photolog.book.stockbook import StockBook
from photolog.book.tags import Holding, holdings_in, parse, printed
from photolog.records import BatchRow, HowGrownRow, PlantRow
from photolog.terms import CameFrom, EventKind, GrownFrom

__all__ = ["HowGrown", "every", "of", "tell", "wearer_in_season"]

_DISBUDDING = (EventKind.DISBUDDED, EventKind.BUD_SECURED)


_TELLING = TURNS | {*_DISBUDDING, EventKind.STOPPED}

_FIRST_SEASON = {
    CameFrom.BOUGHT: GrownFrom.BOUGHT,
    CameFrom.DIVISION: GrownFrom.DIVISION,
    CameFrom.CUTTING: GrownFrom.CUTTING,
    CameFrom.SEED: GrownFrom.SEED,
    CameFrom.POT_TUBER: GrownFrom.POT_TUBER,
    CameFrom.STAYED: GrownFrom.STAYED,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class HowGrown:
    """How one plant or batch was grown in one season; None: nobody said.

    ``disbudded`` is never False by silence: a day book without disbudding says nothing.
    """

    disbudded: bool | None = None
    stopped_on: date | None = None
    stems: int | None = None
    grown_from: GrownFrom | None = None


def wearer_in_season(book: StockBook, tag: str | int, *, season: int) -> Holding:
    """What wore a tag and was grown in a season; the later one where two did.

    Raises ``Unknown`` where nothing that ever wore it was.
    """
    number = parse(tag)
    with book.reading() as session:
        held = holdings_in(session, number)
        happened = happenings_in(session, {one.stock for one in held}, kinds=TURNS)
    for one in sorted(held, key=lambda one: one.since, reverse=True):
        if any(grown.year == season for grown in seasons_of(happened.get(one.stock, ()))):
            return one
    msg = f"Nothing that wore tag {printed(number)} was planted out in {season}."
    raise Unknown(msg)


def tell(
    book: StockBook,
    stock: StockRef,
    *,
    season: int,
    disbudded: bool | None = None,
    stopped_on: date | None = None,
    stems: int | None = None,
    grown_from: GrownFrom | str | None = None,
) -> HowGrown:
    """Say how a plant or batch was grown in a season; what is left out stays as it was.

    Raises ``WrongEntry`` for stems below 1, ``Unknown`` where it had no such season.
    """
    if stems is not None and stems < 1:
        msg = f"A plant carries at least 1 stem, got {stems}."
        raise WrongEntry(msg)
    with book.writing() as session:
        happened = happenings_in(session, [stock], kinds=TURNS).get(stock)
        years = [] if happened is None else [one.year for one in seasons_of(happened)]
        if season not in years:
            has = ", ".join(map(str, years)) or "none yet: enter when it was planted out"
            msg = f"It has no season {season}. Its seasons are: {has}."
            raise Unknown(msg)
        columns = columns_of(stock)
        row = session.scalar(
            select(HowGrownRow).where(
                HowGrownRow.plant_id.is_(None)
                if columns["plant_id"] is None
                else HowGrownRow.plant_id == columns["plant_id"],
                HowGrownRow.batch_id.is_(None)
                if columns["batch_id"] is None
                else HowGrownRow.batch_id == columns["batch_id"],
                HowGrownRow.season == season,
            )
        )
        if row is None:
            row = HowGrownRow(**columns, season=season)
            session.add(row)
        if disbudded is not None:
            row.disbudded = disbudded
        if stopped_on is not None:
            row.stopped_on = stopped_on
        if stems is not None:
            row.stems = stems
        if grown_from is not None:
            row.grown_from = _grown_from_named(grown_from)
        session.flush()
        return _all(session, [stock]).get((stock, season), HowGrown())


def of(book: StockBook, stock: StockRef, *, season: int) -> HowGrown:
    """How a plant or batch was grown in a season, as far as it is known."""
    with book.reading() as session:
        return _all(session, [stock]).get((stock, season), HowGrown())


def every(book: StockBook) -> dict[tuple[StockRef, int], HowGrown]:
    """How everything was grown, by plant or batch and season: a fixed number of queries."""
    with book.reading() as session:
        return _all(session)


def _grown_from_named(word: GrownFrom | str) -> GrownFrom:
    wanted = fold(word)
    for one in GrownFrom:
        if wanted in (fold(one.value), fold(one.value).removeprefix("a ")):
            return one
    words = [one.value for one in GrownFrom]
    msg = (
        f"A plant can't be grown from {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"It is one of: {', '.join(words)}."
    )
    raise Unknown(msg)


def _all(
    session: Session, stock: Collection[StockRef] | None = None
) -> dict[tuple[StockRef, int], HowGrown]:
    came_from: dict[StockRef, CameFrom] = {}
    for id_, word in session.execute(select(PlantRow.id, PlantRow.came_from)):
        came_from[StockRef("plant", id_)] = word
    for id_, word in session.execute(select(BatchRow.id, BatchRow.came_from)):
        came_from[StockRef("batch", id_)] = word
    grown: dict[tuple[StockRef, int], HowGrown] = {}
    for ref, happened in happenings_in(session, stock, kinds=_TELLING).items():
        # Only its first season is grown from what it came as.
        grown_from = _FIRST_SEASON[came_from[ref]]
        for year, known in _from_day_book(happened, grown_from=grown_from).items():
            grown[ref, year] = known
    for row in session.scalars(select(HowGrownRow)):
        key = (ref_of(row.plant_id, row.batch_id), row.season)
        if stock is not None and key[0] not in stock:
            continue
        known = grown.get(key, HowGrown())
        grown[key] = HowGrown(
            disbudded=known.disbudded if row.disbudded is None else row.disbudded,
            stopped_on=row.stopped_on or known.stopped_on,
            stems=row.stems,
            grown_from=row.grown_from or known.grown_from,
        )
    return grown


def _from_day_book(
    happened: tuple[Happening, ...], *, grown_from: GrownFrom
) -> dict[int, HowGrown]:
    seasons = seasons_of(happened)
    grown = {
        season.year: HowGrown(grown_from=grown_from if index == 0 else GrownFrom.CLUMP)
        for index, season in enumerate(seasons)
    }
    for one in happened:
        year = season_on(seasons, one.on)
        if one.part or year is None:
            continue
        if one.kind in _DISBUDDING:
            grown[year] = replace(grown[year], disbudded=True)
        elif one.kind is EventKind.STAYED:
            grown[year] = replace(grown[year], grown_from=GrownFrom.STAYED)
        elif one.kind is EventKind.STOPPED and grown[year].stopped_on is None:
            grown[year] = replace(grown[year], stopped_on=one.on)
    return grown
