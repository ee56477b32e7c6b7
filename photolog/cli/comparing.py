"""Seasons beside each other, and a plant's history."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, Day, book_folder
from photolog.cli.errors import user_errors

if TYPE_CHECKING:
    from photolog.book.history import PlantHistory

__all__ = ["history", "seasons"]


def seasons(
    first: Annotated[
        int | None, typer.Argument(help="The earlier season, by its planting year.")
    ] = None,
    second: Annotated[int | None, typer.Argument(help="The later season.")] = None,
    html: Annotated[Path | None, typer.Option(help="Write it as a page too.")] = None,
    book: BookFolder = None,
) -> None:
    """Set one season's clumps beside another's, by variety.

    Example: photolog seasons 2024 2025 --html seasons.html
    """
    from photolog.book import StockBook
    from photolog.book import seasons as book_seasons
    from photolog.reports.seasons_page import seasons_page
    from photolog.reports.seasons_text import seasons_text

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        compared = book_seasons.compare(stock_book, first=first, second=second)
        typer.echo(seasons_text(compared))
        if html is not None:
            html.write_text(seasons_page(compared), encoding="utf-8")
            typer.echo(f"\nWrote {html}.")


def history(
    tag: Annotated[str, typer.Argument(help="The tag's number.", show_default=False)],
    on: Annotated[
        dt.date | None, Day("--on", "A day on which the plant wore it; otherwise the last")
    ] = None,
    html: Annotated[Path | None, typer.Option(help="Write it as a page too.")] = None,
    book: BookFolder = None,
) -> None:
    """Show a plant's dated photos, sizes and day book.

    Example: photolog history 12 --html plant-12.html
    """
    from photolog.book import StockBook
    from photolog.book import history as book_history
    from photolog.reports.history_page import history_page
    from photolog.reports.history_text import history_text

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        told: PlantHistory = book_history.of_tag(stock_book, tag, on=on)
        typer.echo(history_text(told))
        if html is not None:
            html.write_text(history_page(told), encoding="utf-8")
            typer.echo(f"\nWrote {html}.")
