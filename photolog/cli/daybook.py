"""The day book: what happened, to which plants, on which day."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, Day, book_folder, tag_list
from photolog.cli.errors import user_errors
from photolog.tables import table

if TYPE_CHECKING:
    from photolog.book.daybook import Entry

__all__ = ["day_book", "did", "strike_out"]


def _what_to(entry: Entry) -> str:
    from photolog.book.tags import printed

    if entry.garden_wide:
        return "the whole garden"
    named = [printed(number) for number in entry.tags] + list(entry.varieties)
    if len(named) > 4:
        return f"{named[0]} to {named[-1]}, {len(named)} in all"
    return ", ".join(named) or entry.place or f"{len(entry.stock)} without a tag"


def did(
    what: Annotated[
        str, typer.Argument(help="lifted, planted out, first bloom, lost …", show_default=False)
    ],
    on: Annotated[dt.date, Day("--on", "The day")],
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
    """Enter in the day book what happened, to many plants at once or to the whole garden.

    Example: photolog did lifted 12-19,23 --on 2026-11-08
    """
    from photolog.book import StockBook, daybook

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
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
        typer.echo(f"{entry.on}  {entry.kind}: {_what_to(entry)}  (entry {entry.id})")


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
        rows = [(str(e.id), f"{e.on}", f"{e.kind}", _what_to(e), e.note) for e in entries]
    if rows:
        typer.echo(table(("entry", "day", "what", "to", "note"), rows, right="r"))
    else:
        typer.echo("Nothing entered yet: photolog did lifted 12-19 --on today")


def strike_out(
    entry: Annotated[int, typer.Argument(help="The entry's number.", show_default=False)],
    book: BookFolder = None,
) -> None:
    """Strike out a wrong entry; it stays readable but no longer counts.

    Example: photolog strike-out 7
    """
    from photolog.book import StockBook, daybook

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        gone = daybook.strike_out(stock_book, entry)
        typer.echo(f"Struck out: {gone.on}  {gone.kind}: {_what_to(gone)}.")
