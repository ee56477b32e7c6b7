"""Cameras' clocks: listed, put right, and corrections that photos propose."""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, Day, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing
from photolog.spans import numbers_in

__all__ = [
    "camera_apart",
    "clock",
    "clock_confirm",
    "clock_read",
    "clock_refuse",
    "clock_undo",
]

_HOUR = re.compile(r"(\d{1,2})[:.](\d{2})(?:[:.](\d{2}))?")


def _hour(text: str) -> dt.time:
    """What a clock read, as typed: ``14:05`` or ``14:05:30``."""
    found = _HOUR.fullmatch(text.strip())
    try:
        if found is not None:
            return dt.time(int(found[1]), int(found[2]), int(found[3] or 0))
    except ValueError:
        pass
    msg = f"{text!r} is no time of day: write it as 14:05, or 14:05:30"
    raise typer.BadParameter(msg)


def _moment(text: str) -> dt.datetime:
    """A moment on a camera's clock, as typed: a day, or a day and an hour."""
    try:
        found = dt.datetime.fromisoformat(text.strip())
    except ValueError:
        found = None
    if found is None or found.tzinfo is not None:
        msg = f"{text!r} is no moment: write it as 2026-04-05, or '2026-04-05 03:00'"
        raise typer.BadParameter(msg)
    return found


def _on_its_clock(help_text: str) -> object:
    """An option that is a moment on a camera's own clock."""
    return typer.Option(parser=_moment, metavar="MOMENT", help=help_text, show_default=False)


def _numbers(text: str) -> list[int]:
    try:
        return numbers_in(text, of="a clock proposal")
    except ValueError as wrong:
        raise typer.BadParameter(str(wrong)) from wrong


Several = Annotated[str, typer.Argument(help="Their numbers: 3, 3-5, or 3,5.", show_default=False)]


def clock(
    camera: Annotated[
        str | None,
        typer.Argument(help="The camera's name; none lists them.", show_default=False),
    ] = None,
    slow_minutes: Annotated[
        float | None,
        typer.Option(
            help="How many minutes its clock is slow; negative when it is fast.",
            show_default=False,
        ),
    ] = None,
    since: Annotated[
        dt.datetime | None,
        _on_its_clock("From which moment on its own clock; else always."),
    ] = None,
    until: Annotated[
        dt.datetime | None,
        _on_its_clock("Up to which moment on its own clock; else until the next."),
    ] = None,
    book: BookFolder = None,
) -> None:
    """List the cameras and what is proposed of their clocks, or put one right.

    Example: photolog clock 'Pocket 28' --slow-minutes -60
    """
    from photolog.book import (
        StockBook,
        cameras,
        clock_proposals,
        clocks,
        fallen_clocks,
        telling_apart,
    )
    from photolog.reports.clock_text import clocks_text, learnt_text

    if camera is None:
        if slow_minutes is not None:
            msg = "say which camera's clock, by its name"
            raise typer.BadParameter(msg)
        with user_errors(), StockBook.open(book_folder(book)) as stock_book:
            said = clocks_text(
                cameras.every(stock_book),
                clock_proposals.proposed(stock_book),
                fallen_clocks.fallen_clocks(stock_book),
                telling_apart.lines_side_by_side(stock_book),
            )
        typer.echo(said)
        return
    if slow_minutes is None:
        msg = "say by how much with --slow-minutes"
        raise typer.BadParameter(msg)
    if not math.isfinite(slow_minutes):
        msg = f"a clock is slow by a number of minutes, not {slow_minutes}"
        raise typer.BadParameter(msg)
    with changing(book) as stock_book:
        learnt = clocks.set_clock(
            stock_book,
            camera,
            add_seconds=round(60 * slow_minutes),
            since=since,
            until=until,
            note="by hand",
        )
        typer.echo(learnt_text(learnt))


def clock_read(
    photo: Annotated[
        int, typer.Argument(help="The number of a photo of a clock.", show_default=False)
    ],
    read: Annotated[
        dt.time | None,
        typer.Argument(
            parser=_hour, metavar="TIME", help="What the clock read: 14:05.", show_default=False
        ),
    ] = None,
    on: Annotated[dt.date | None, Day("--on", "The day, where the camera's is wrong")] = None,
    entry: Annotated[
        int | None,
        typer.Option(help="The entry of the day book that it shows.", show_default=False),
    ] = None,
    since: Annotated[
        dt.datetime | None,
        _on_its_clock("From which moment on the camera's clock; else as fits."),
    ] = None,
    book: BookFolder = None,
) -> None:
    """Put a camera's clock right by one photo whose true time you know.

    A photo of a clock or of a phone's screen, or one that shows what an entry of the day book
    says. It holds for all photos of that camera; for those of a clock that fell back, where it did.

    Example: photolog clock-read 17 14:05
    """
    from photolog.book import clocks
    from photolog.reports.clock_text import learnt_text

    if read is None and on is None and entry is None:
        msg = "say what the clock read, as in: photolog clock-read 17 14:05"
        raise typer.BadParameter(msg)
    if entry is not None and (on is not None or since is not None):
        msg = "an entry says the day by itself: leave out --on and --since"
        raise typer.BadParameter(msg)
    with changing(book) as stock_book:
        learnt = (
            clocks.learn_from_entry(stock_book, photo, entry, at=read)
            if entry is not None
            else clocks.learn_clock(stock_book, photo, at=read, on=on, since=since)
        )
        typer.echo(learnt_text(learnt))


def clock_confirm(numbers: Several, book: BookFolder = None) -> None:
    """Put clocks right as the photos of other cameras propose.

    Example: photolog clock-confirm 3
    """
    from photolog.book import clock_proposals
    from photolog.reports.clock_text import learnt_text

    wanted = _numbers(numbers)
    with changing(book) as stock_book:
        for learnt in clock_proposals.confirm(stock_book, wanted):
            typer.echo(learnt_text(learnt))


def clock_refuse(numbers: Several, book: BookFolder = None) -> None:
    """Turn down what is proposed of clocks; it is not proposed again.

    Example: photolog clock-refuse 3
    """
    from photolog.book import StockBook, clock_proposals
    from photolog.reports.clock_text import amount_text

    wanted = _numbers(numbers)
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        gone = clock_proposals.refuse(stock_book, wanted)
    for one in gone:
        typer.echo(f"Turned down: {one.camera}, {amount_text(one.add_seconds)}.")


def clock_undo(
    number: Annotated[
        int, typer.Argument(help="The correction's number in the list.", show_default=False)
    ],
    book: BookFolder = None,
) -> None:
    """Take back a correction of a clock.

    Example: photolog clock-undo 2
    """
    from photolog.book import clocks
    from photolog.reports.clock_text import taken_back_text

    with changing(book) as stock_book:
        typer.echo(taken_back_text(clocks.take_back(stock_book, number)))


def camera_apart(
    photo: Annotated[
        int, typer.Argument(help="The number of a photo of the other camera.", show_default=False)
    ],
    name: Annotated[
        str | None, typer.Argument(help="Your name for that camera.", show_default=False)
    ] = None,
    back: Annotated[bool, typer.Option("--back", help="It is the same camera after all.")] = False,
    book: BookFolder = None,
) -> None:
    """Tell two cameras of one model apart, by a photo of one of them.

    All photos that were counted in one line with it are of that camera, and those that come later
    and go on with it.

    Example: photolog camera-apart 17 'Imke'
    """
    from photolog.book import telling_apart

    if back == (name is not None):
        msg = "give the other camera a name, or take that back with --back"
        raise typer.BadParameter(msg)
    with changing(book) as stock_book:
        if name is None:
            told = telling_apart.put_together(stock_book, photo)
            typer.echo(f"{told.camera} is {told.other} again: {told.photos} photos.")
        else:
            told = telling_apart.tell_apart(stock_book, photo, name)
            typer.echo(f"{told.camera}: {told.photos} photos, no longer of {told.other}.")
