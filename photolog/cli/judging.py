"""The grower's word on a measurement."""

from __future__ import annotations

from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder
from photolog.cli.errors import user_errors

__all__ = ["accept", "turn_down"]

Photo = Annotated[int, typer.Argument(help="The photo's number.", show_default=False)]


def accept(
    photo: Photo,
    back: Annotated[bool, typer.Option("--back", help="Take back what was said of it.")] = False,
    book: BookFolder = None,
) -> None:
    """Accept a photo's size, so that it counts though doubtful.

    Example: photolog accept 17
    """
    from photolog.book import StockBook, judging

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if back:
            judged = judging.take_back(stock_book, photo)
            typer.echo(f"Photo {photo} ({judged.name}): its newest size counts, with its flags.")
        else:
            judged = judging.accept(stock_book, photo)
            typer.echo(f"Photo {photo} ({judged.name}): the {judged.measured_of}'s size counts.")


def turn_down(photo: Photo, book: BookFolder = None) -> None:
    """Turn a photo's size down: it no longer counts. ``photolog accept --back`` takes it back.

    Example: photolog turn-down 17
    """
    from photolog.book import StockBook, judging

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        judged = judging.turn_down(stock_book, photo)
    typer.echo(f"Photo {photo} ({judged.name}): its size no longer counts.")
