"""Taking photos in, and watching a folder for them."""

from __future__ import annotations

import datetime as dt
import signal
from contextlib import contextmanager
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.photos import match_summary, measure_summary
from photolog.cli.progress import progress_line
from photolog.cli.said_after import say_clocks, say_copies, say_proposed, say_undated, say_waiting
from photolog.tables import lines_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from photolog.book.intake_report import IntakeReport, Known
    from photolog.book.stockbook import StockBook

__all__ = ["intake", "intake_summary"]

_FEW = 3


def intake_summary(report: IntakeReport) -> str:
    """What was taken in, what was known already and what that brought, what was refused and why."""
    lines = [
        f"{len(report.taken)} taken in, {len(report.known)} known already, "
        f"{len(report.refused)} refused."
    ]
    if put_back := sum(one.put_back for one in report.known):
        lines.append(f"  {put_back} known, but missing from the book's folder: put back.")
    lines += [line for one in report.known for line in _brought(one)]
    lines += _undated(report)
    lines += [
        lines_of(f"refused: {one.path.name}: {one.reason} {one.remedy}", indent=2)
        for one in report.refused
    ]
    return "\n".join(lines)


def _undated(report: IntakeReport) -> Iterator[str]:
    """A line for each photo without a date; one for many that lack it for the same reason."""
    by_reason: dict[str, list[str]] = {}
    for one in report.taken:
        if one.undated:
            by_reason.setdefault(one.undated, []).append(one.path.name)
    for reason, names in by_reason.items():
        if len(names) <= _FEW:
            yield from (lines_of(f"no date: {name}: {reason}", indent=2) for name in names)
        else:
            said = f"no date: {len(names)} photos, {names[0]} to {names[-1]}: {reason}"
            yield lines_of(said, indent=2)


def _brought(one: Known) -> Iterator[str]:
    is_photo = f"{one.path.name} is photo {one.photo_id} in another file"
    if one.taken_over:
        yield lines_of(f"{is_photo}. Taken over from it: {one.taken_over}.", indent=2)
    if one.against:
        yield lines_of(f"{is_photo}; {one.against}.", indent=2)


def _take_in(stock_book: StockBook, paths: list[Path], *, measure_them: bool) -> bool:
    from photolog.book import intake as book_intake

    with progress_line("taking in") as progress:
        taken = book_intake.take_in(stock_book, paths, progress=progress)
    typer.echo(intake_summary(taken))
    _go_on(stock_book, measure_them=measure_them)
    say_waiting(stock_book)
    say_undated(stock_book)
    say_proposed(stock_book)
    say_clocks(stock_book)
    say_copies(stock_book)
    return bool(taken.taken or taken.known)


def _go_on(
    stock_book: StockBook, *, measure_them: bool, stop: Callable[[], bool] | None = None
) -> None:
    """What follows on taking in: look for copies, match, measure."""
    from photolog.book import copies, matching, measuring

    with progress_line("comparing") as progress:
        found = copies.look(stock_book, progress=progress)
    for one in found.certain:
        same = f"{one.name} is photo {one.of_photo_id} {one.of_name} in another file."
        typer.echo(lines_of(f"{same} {one.because}", indent=2))
    typer.echo(match_summary(matching.match_all(stock_book)))
    if measure_them:
        with progress_line("measuring") as progress:
            measured = measuring.measure_all(stock_book, progress=progress, stop=stop)
        typer.echo(measure_summary(measured))
        if measured.waiting:
            # What was measured may tell whose they are.
            typer.echo(match_summary(matching.match_all(stock_book)))


def _watch(stock_book: StockBook, folder: Path, *, measure_them: bool) -> None:
    """Take in what comes to a folder, until Ctrl-C or the end of the session."""
    from photolog.book import matching, watching

    watching.check_folder(stock_book, folder)
    stop = Event()

    def tell(sentence: str) -> None:
        typer.echo(f"{dt.datetime.now():%H:%M:%S}  {sentence}")  # noqa: DTZ005 - the wall clock

    def after(lot: IntakeReport) -> None:
        if lot.taken or lot.refused or any(one.taken_over or one.put_back for one in lot.known):
            tell(intake_summary(lot))
        if lot.taken or any(one.taken_over for one in lot.known):
            _go_on(stock_book, measure_them=measure_them, stop=stop.is_set)
            if n_waiting := len(matching.waiting(stock_book)):
                typer.echo(f"{n_waiting} need your decision (photolog waiting).")
            say_undated(stock_book, among={one.photo_id for one in lot.taken if one.undated})

    with _stopped_by_signals(stop):
        tell(f"Watching {folder}. Ctrl-C ends it.")
        # What an earlier watch had no time for.
        _go_on(stock_book, measure_them=measure_them, stop=stop.is_set)
        say_undated(stock_book)
        report = watching.watch(stock_book, folder, stop=stop, tell=tell, after=after)
    lapse = f"{report.seconds:.0f} s"
    if report.seconds > 120:
        lapse = f"{report.seconds / 60:.0f} min"
    ended = (
        f"Watched {folder} for {lapse}: {report.taken} taken in, {report.known} known already, "
        f"{report.refused} refused."
    )
    if report.unfinished:
        ended += f" Not yet whole, for the next time: {report.unfinished}."
    tell(ended)


@contextmanager
def _stopped_by_signals(stop: Event) -> Iterator[None]:
    """Ctrl-C, or being told to end, sets ``stop``; a second one ends the program at once."""

    def asked(_number: int, _frame: object) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()

    numbers = [signal.SIGINT, signal.SIGTERM]
    before = {number: signal.signal(number, asked) for number in numbers}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def intake(
    paths: Annotated[
        list[Path] | None, typer.Argument(help="Photos, or folders of them.", show_default=False)
    ] = None,
    watch: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Go on taking in what a phone's sync puts there, until Ctrl-C.",
            show_default=False,
        ),
    ] = None,
    measure: Annotated[bool, typer.Option(help="Measure what was matched.")] = True,
    book: BookFolder = None,
) -> None:
    """Take photos in: keep, match and measure them.

    Example: photolog intake /media/phone/DCIM
    """
    from photolog.book import StockBook

    if (watch is None) == (not paths):
        msg = "name photos or folders of them, or one folder to go on with, by --watch"
        raise typer.BadParameter(msg)
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if watch is not None:
            _watch(stock_book, watch, measure_them=measure)
            return
        done = _take_in(stock_book, paths or [], measure_them=measure)
    if not done:
        raise typer.Exit(1)
