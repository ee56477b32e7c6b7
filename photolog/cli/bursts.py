"""Bursts: photos that count as one occasion, and the grower's word on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder, number_list
from photolog.cli.errors import user_errors
from photolog.spans import spans
from photolog.tables import lines_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from photolog.book.bursts import BurstView

__all__ = ["bursts"]


def _line(burst: BurstView) -> str:
    photos = burst.photos
    day = f"{photos[0].taken_at:%Y-%m-%d %H:%M:%S}" if photos[0].taken_at else "no date"
    numbers = spans(photo.photo_id for photo in photos)
    said = ", as you said" if burst.by_hand else ""
    if len(photos) == 1:
        return lines_of(f"{day}  photo {numbers} {photos[0].name} stands alone{said}", indent=2)
    lapse = ""
    if photos[0].taken_at and photos[-1].taken_at:
        seconds = (photos[-1].taken_at - photos[0].taken_at).total_seconds()
        lapse = f" within {max(seconds, 1):.0f} s" if seconds < 120 else ""
    return lines_of(f"{day}  photos {numbers}: {len(photos)} shots{lapse}{said}", indent=2)


def _list(found: Sequence[BurstView]) -> str:
    return "\n".join(_line(burst) for burst in found)


def bursts(
    together: Annotated[
        str | None,
        typer.Option(help="These photos are one burst: 15-17.", show_default=False),
    ] = None,
    apart: Annotated[
        str | None,
        typer.Option(help="Each of these is an occasion of its own.", show_default=False),
    ] = None,
    back: Annotated[
        str | None,
        typer.Option(help="Take back what was said of the bursts of these.", show_default=False),
    ] = None,
    book: BookFolder = None,
) -> None:
    """List bursts: photos of one thing within seconds, which count once.

    Example: photolog bursts --apart 17
    """
    from photolog.book import StockBook
    from photolog.book import bursts as book_bursts

    said = ((together, book_bursts.together), (apart, book_bursts.apart), (back, book_bursts.undo))
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        for numbers, do in said:
            if numbers is not None:
                typer.echo(_list(do(stock_book, number_list(numbers, of="a photo"))))
        if together is apart is back is None:
            found = book_bursts.every(stock_book)
            typer.echo(_list(found) if found else "There are no bursts.")
