"""Printings: what a ruler read on a card's two 100 mm bars, and which reading a photo gets."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, date, datetime

from sqlalchemy import select

from measure.card.designs import DESIGNS
from measure.results import Printing
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, nearest_names
from photolog.book.stockbook import StockBook
from photolog.records import PrintingRow

__all__ = ["RULER_U_PERCENT", "PrintingView", "applying", "enter", "every"]

RULER_U_PERCENT = 0.15
"""Standard uncertainty of a scale after two readings of a 100 mm bar to half a millimetre.

Half a millimetre of reading step on each bar is a rectangular spread: 0.5 / sqrt(12) = 0.14 mm in
100 mm (JCGM 100 4.3.7); the ruler itself adds little beside it.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class PrintingView:
    """One ruler reading of one printing; it holds for photos taken from ``in_use_since`` on."""

    id: int
    design: str
    read_on: date
    in_use_since: date
    across_mm: float
    along_mm: float
    note: str

    def for_measuring(self) -> Printing:
        """The reading as ``measure`` takes it."""
        return Printing(across_mm=self.across_mm, along_mm=self.along_mm, u_percent=RULER_U_PERCENT)


def enter(
    book: StockBook,
    design: str,
    *,
    across_mm: float,
    along_mm: float,
    on: date,
    in_use_since: date | None = None,
    note: str = "",
) -> PrintingView:
    """Enter what a ruler read on the two bars of a printed card.

    ``in_use_since`` is the day from which this printing was used, unless said the day of reading;
    a card that was in use before anybody read it is dated back with it. Readings are kept, never
    overwritten: a later one takes its place. Raises ``Unknown`` for a design, ``WrongEntry`` for a
    reading that can't be of a 100 mm bar.
    """
    names = [one.name for one in DESIGNS]
    if design not in names:
        msg = (
            f"There is no scale card {design!r}.{did_you_mean(nearest_names(design, names))} "
            f"The cards are {', '.join(names)}; the name is printed on the card."
        )
        raise Unknown(msg)
    for bar, read in (("across", across_mm), ("along", along_mm)):
        if not math.isfinite(read) or not 80 <= read <= 120:
            msg = (
                f"The bar {bar} is drawn 100 mm long, so {read:g} mm can't be right. "
                "Read it in millimetres, to the half."
            )
            raise WrongEntry(msg)
    since = on if in_use_since is None else in_use_since
    if since > on:
        msg = f"A card read on {on} can't be in use only since {since}."
        raise WrongEntry(msg)
    with book.writing() as session:
        row = PrintingRow(
            design=design,
            read_on=on,
            in_use_since=since,
            across_mm=across_mm,
            along_mm=along_mm,
            note=note,
            entered_at=datetime.now(UTC),
        )
        session.add(row)
        session.flush()
        return _view(row)


def applying(readings: tuple[PrintingView, ...], design: str, *, on: date) -> PrintingView | None:
    """The reading that holds for a photo: the newest in use on its day; None: none was read.

    Of two in use since the same day, the one read later, then the one entered later.
    """
    fitting = [one for one in readings if one.design == design and one.in_use_since <= on]
    return max(fitting, key=lambda one: (one.in_use_since, one.read_on, one.id), default=None)


def every(book: StockBook) -> tuple[PrintingView, ...]:
    """All readings, by design and the day since which each holds."""
    with book.reading() as session:
        rows = session.scalars(
            select(PrintingRow).order_by(
                PrintingRow.design, PrintingRow.in_use_since, PrintingRow.id
            )
        )
        return tuple(_view(row) for row in rows)


def _view(row: PrintingRow) -> PrintingView:
    return PrintingView(
        id=row.id,
        design=row.design,
        read_on=row.read_on,
        in_use_since=row.in_use_since,
        across_mm=row.across_mm,
        along_mm=row.along_mm,
        note=row.note,
    )
