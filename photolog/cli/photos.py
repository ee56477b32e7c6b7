"""Photos: whose they are, and when their cameras' clocks say that they were taken."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.progress import progress_line
from photolog.cli.said_after import say_proposed
from photolog.tables import lines_of

if TYPE_CHECKING:
    from photolog.book.matching import MatchReport
    from photolog.book.measuring import MeasureReport

__all__ = [
    "clock",
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
        say_proposed(stock_book)


def clock(
    camera: Annotated[
        str | None,
        typer.Argument(help="The camera's name; none lists them.", show_default=False),
    ] = None,
    slow_minutes: Annotated[
        float | None,
        typer.Option(help="How many minutes its clock is slow; negative when it is fast."),
    ] = None,
    since: Annotated[
        dt.datetime | None, typer.Option(help="From which moment on its own clock; else always.")
    ] = None,
    book: BookFolder = None,
) -> None:
    """List the cameras, or put right the clock of one.

    Example: photolog clock 'Pocket 28' --slow-minutes -60
    """
    from photolog.book import StockBook, cameras, matching

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if camera is not None:
            if slow_minutes is None:
                msg = "say by how much with --slow-minutes"
                raise typer.BadParameter(msg)
            cameras.set_clock(stock_book, camera, add_seconds=round(60 * slow_minutes), since=since)
            typer.echo(match_summary(matching.match_all(stock_book)))
        for one in cameras.every(stock_book):
            typer.echo(one.label)
            for right in one.corrections:
                typer.echo(f"    from {right.since}: {right.add_seconds / 60:+g} minutes")
