"""Matching photos again, and saying how all of them stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

from photolog.cli.entries import BookFolder, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.progress import progress_line
from photolog.cli.said_after import say_clocks, say_proposed
from photolog.tables import lines_of

if TYPE_CHECKING:
    from photolog.book.matching import MatchReport
    from photolog.book.measuring import MeasureReport

__all__ = [
    "match",
    "match_summary",
    "measure_summary",
]


def match_summary(report: MatchReport) -> str:
    """How many found their plant, by which reason, and how many wait."""
    by = ", ".join(f"{n} by {reason}" for reason, n in report.by_reason.items() if n)
    return f"{report.matched} matched{f' ({by})' if by else ''}, {report.waiting} waiting."


def measure_summary(report: MeasureReport) -> str:
    """How many were measured, and why the others were not."""
    lines = [f"{report.measured} measured, {len(report.refused)} could not be."]
    lines += [
        lines_of(f"{one.name}: {one.reason} {one.remedy}", indent=2) for one in report.refused
    ]
    return "\n".join(lines)


def match(book: BookFolder = None) -> None:
    """Match again what was not decided by hand, and measure.

    Example: photolog match
    """
    from photolog.book import StockBook, matching, measuring

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        typer.echo(match_summary(matching.match_all(stock_book)))
        with progress_line("measuring") as progress:
            measured = measuring.measure_all(stock_book, progress=progress)
        typer.echo(measure_summary(measured))
        if measured.waiting:
            # What was measured may tell whose they are.
            typer.echo(match_summary(matching.match_all(stock_book)))
        say_proposed(stock_book)
        say_clocks(stock_book)
