"""The day book: what happened, to which plants, on which day."""

from __future__ import annotations

import datetime as dt
from itertools import zip_longest
from textwrap import wrap
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, Today, book_folder, tag_list
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing
from photolog.tables import table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from photolog.book.daybook import Entry

__all__ = ["day_book", "did", "strike_out"]

_LINE = 80
# No wider than this, so that 20 at least are left for the note.
_WIDEST_WHAT, _WIDEST_TO = 18, 22


def _what_to(entry: Entry) -> str:
    from photolog.book.tags import printed

    if entry.garden_wide:
        return "the whole garden"
    named = [printed(number) for number in entry.tags] + list(entry.varieties)
    if len(named) > 4:
        return f"{named[0]} to {named[-1]}, {len(named)} in all"
    return ", ".join(named) or entry.place or f"{len(entry.stock)} without a tag"


def _what(entry: Entry) -> str:
    """What happened, with how many, why, how heavy, or the same as what."""
    count = "" if entry.count is None else f" {entry.count}"
    same_as = "" if entry.other_variety is None else f" {entry.other_variety}"
    details = [] if entry.cause is None else [f"{entry.cause}"]
    if entry.weight_g is not None:
        details.append(f"{entry.weight_g:g} g")
    return ", ".join([f"{entry.kind}{count}{same_as}", *details])


def _lines(entries: Sequence[Entry]) -> list[tuple[str, ...]]:
    """The entries as lines of a table that is 80 wide at most, long ones on several lines."""
    cells = [(str(e.id), f"{e.on}", _what(e), _what_to(e), e.note) for e in entries]
    widest = [max(len(row[i]) for row in cells) for i in range(4)]
    what, to = min(widest[2], _WIDEST_WHAT), min(max(widest[3], 2), _WIDEST_TO)
    note = _LINE - max(widest[0], len("entry")) - widest[1] - max(what, 4) - to - 4 * len("  ")
    return [
        lines
        for row in cells
        for lines in zip_longest(
            row[:1],
            row[1:2],
            wrap(row[2], what),
            wrap(row[3], to),
            wrap(row[4], note),
            fillvalue="",
        )
    ]


def did(
    what: Annotated[
        str, typer.Argument(help="lifted, planted out, first bloom, lost …", show_default=False)
    ],
    on: Annotated[dt.date, Today("--on", "The day")],
    tags: Annotated[
        str | None,
        typer.Argument(help="The tags, 12-19,23; none for the whole garden.", show_default=False),
    ] = None,
    count: Annotated[int | None, typer.Option(help="How many of a batch; else all of it.")] = None,
    cause: Annotated[
        str | None, typer.Option(help="Why lost: dried out, rotted, frosted, eaten …")
    ] = None,
    note: Annotated[str, typer.Option(help="A note.")] = "",
    book: BookFolder = None,
) -> None:
    """Enter what happened, to many plants or the whole garden.

    Example: photolog did lifted 12-19,23 --on 2026-11-08
    """
    from photolog.book import daybook

    with changing(book) as stock_book:
        entry = daybook.enter(
            stock_book,
            what,
            on=on,
            tags=tag_list(tags) if tags else (),
            garden_wide=tags is None,
            count=count,
            cause=cause,
            note=note,
        )
        typer.echo(f"{entry.on}  {_what(entry)}: {_what_to(entry)}  (entry {entry.id})")


def day_book(
    tag: Annotated[str | None, typer.Argument(help="Only of this tag.", show_default=False)] = None,
    book: BookFolder = None,
) -> None:
    """Read the day book.

    Example: photolog day-book 12
    """
    from photolog.book import StockBook, daybook

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        entries = daybook.entries(stock_book, tag=tag)
        if entries:
            head = ("entry", "day", "what", "to", "note")
            typer.echo(table(head, _lines(entries), right="r"))
        else:
            typer.echo("Nothing entered yet: photolog did lifted 12-19 --on today")


def strike_out(
    entry: Annotated[int, typer.Argument(help="The entry's number.", show_default=False)],
    book: BookFolder = None,
) -> None:
    """Strike out a wrong entry of the day book.

    Example: photolog strike-out 7
    """
    from photolog.book import daybook
    from photolog.terms import EventKind

    with changing(book) as stock_book:
        gone = daybook.strike_out(stock_book, entry)
        typer.echo(f"Struck out: {gone.on}  {_what(gone)}: {_what_to(gone)}.")
        if gone.kind is EventKind.DIVIDED:
            typer.echo("The pieces that it made are out of the stock book as well.")
