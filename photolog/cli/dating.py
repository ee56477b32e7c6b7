"""Photos whose files have no date: listed by what came together, and their day told at once."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, Day, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing
from photolog.spans import numbers_in

__all__ = ["dated"]


def dated(
    photos: Annotated[
        str,
        typer.Argument(
            help="Their numbers: 12-40, or 12,15,20-24; none lists those without a date.",
            show_default=False,
        ),
    ] = "",
    on: Annotated[dt.date | None, Day("--on", "The day on which they were taken")] = None,
    back: Annotated[
        bool, typer.Option("--back", help="Take back a day told; without numbers, the last one.")
    ] = False,
    book: BookFolder = None,
) -> None:
    """Say on which day photos without a date were taken, many at once.

    As after a messaging program took their dates off. Their hour stays unknown, their order is
    that of their names.

    Example: photolog dated 12-40 --on 2026-05-16
    """
    from photolog.book import StockBook, told_days
    from photolog.reports.undated_text import told_text, undated_text, untold_text

    try:
        wanted = numbers_in(photos, of="a photo") if photos else None
    except ValueError as wrong:
        raise typer.BadParameter(str(wrong)) from wrong
    if back:
        if on is not None:
            msg = "--back takes a day back: leave out --on"
            raise typer.BadParameter(msg)
        with changing(book) as stock_book:
            typer.echo(untold_text(told_days.untell_day(stock_book, wanted)))
        return
    if wanted is None and on is None:
        with user_errors(), StockBook.open(book_folder(book)) as stock_book:
            lots = told_days.undated(stock_book)
        typer.echo(undated_text(lots) if lots else "Every photo has a date, or was told its day.")
        return
    if wanted is None or on is None:
        msg = "say which photos and on which day: photolog dated 12-40 --on 2026-05-16"
        raise typer.BadParameter(msg)
    with changing(book) as stock_book:
        typer.echo(told_text(told_days.tell_day(stock_book, wanted, on=on)))
