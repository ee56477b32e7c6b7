"""Photos: taking them in, whose they are, and what waits for a decision."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.progress import progress_line
from photolog.tables import lines_of

if TYPE_CHECKING:
    from photolog.book.intake import IntakeReport
    from photolog.book.matching import MatchReport
    from photolog.book.measuring import MeasureReport
    from photolog.book.stockbook import StockBook

__all__ = [
    "clock",
    "intake",
    "intake_summary",
    "match",
    "match_summary",
    "measure_summary",
]


def intake_summary(report: IntakeReport) -> str:
    """What was taken in, what was known already, what was refused and why."""
    lines = [
        f"{len(report.taken)} taken in, {len(report.known)} known already, "
        f"{len(report.refused)} refused."
    ]
    if put_back := sum(one.put_back for one in report.known):
        lines.append(f"  {put_back} known, but missing from the book's folder: put back.")
    lines += [
        lines_of(f"no date: {one.path.name}: {one.undated}", indent=2)
        for one in report.taken
        if one.undated
    ]
    lines += [
        lines_of(f"refused: {one.path.name}: {one.reason} {one.remedy}", indent=2)
        for one in report.refused
    ]
    return "\n".join(lines)


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


def _take_in(stock_book: StockBook, paths: list[Path], *, measure_them: bool) -> bool:
    from photolog.book import intake as book_intake
    from photolog.book import matching, measuring

    with progress_line("taking in") as progress:
        taken = book_intake.take_in(stock_book, paths, progress=progress)
    typer.echo(intake_summary(taken))
    typer.echo(match_summary(matching.match_all(stock_book)))
    if measure_them:
        with progress_line("measuring") as progress:
            measured = measuring.measure_all(stock_book, progress=progress)
        typer.echo(measure_summary(measured))
    _say_waiting(stock_book)
    _say_proposed(stock_book)
    return bool(taken.taken or taken.known)


def _say_waiting(stock_book: StockBook) -> None:
    from photolog.book.waiting_runs import waiting_runs
    from photolog.reports.waiting_text import waiting_text

    if runs := waiting_runs(stock_book):
        photos = sum(len(run.photos) for run in runs)
        typer.echo(f"\n{photos} need your decision (photolog decide PHOTO TAG):")
        typer.echo(waiting_text(runs))


def _say_proposed(stock_book: StockBook) -> None:
    from photolog.book import proposals

    if by_cards := proposals.proposed(stock_book):
        entries = "entry is" if len(by_cards) == 1 else "entries are"
        typer.echo(f"\n{len(by_cards)} {entries} proposed by word cards (photolog proposed).")


def intake(
    paths: Annotated[
        list[Path], typer.Argument(help="Photos, or folders of them.", show_default=False)
    ],
    measure: Annotated[bool, typer.Option(help="Measure what was matched.")] = True,
    book: BookFolder = None,
) -> None:
    """Take photos in: keep, match and measure them.

    Example: photolog intake /media/phone/DCIM
    """
    from photolog.book import StockBook

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        done = _take_in(stock_book, paths, measure_them=measure)
    if not done:
        raise typer.Exit(1)


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
        _say_proposed(stock_book)


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
