"""Boxes of the winter store, and their tags to print."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, Today, book_folder, nearest_book, number_list
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing
from photolog.tables import table

if TYPE_CHECKING:
    from photolog.book.boxes import BoxHistory

__all__ = ["box", "box_tags", "boxes"]


def box(
    number: Annotated[int, typer.Argument(help="The number on its tag.", show_default=False)],
    since: Annotated[dt.date, Today("--since", "Since when you have it")],
    name: Annotated[str, typer.Option(help="What you call it.")] = "",
    note: Annotated[str, typer.Option(help="A note.")] = "",
    book: BookFolder = None,
) -> None:
    """Enter a box of the store, by the number on its tag.

    Example: photolog box 3 --name 'blue crate'
    """
    from photolog.book import boxes as book_boxes

    with changing(book) as stock_book:
        kept = book_boxes.add(stock_book, number, since=since, name=name, note=note)
        called = f" ({kept.name})" if kept.name else ""
        typer.echo(f"Box {kept.number}{called}, since {kept.since}.")


def boxes(
    number: Annotated[
        int | None, typer.Argument(help="Only this one, with its photos.", show_default=False)
    ] = None,
    book: BookFolder = None,
) -> None:
    """List the boxes of the store, or the photos and entries of one.

    Example: photolog boxes 3
    """
    from photolog.book import StockBook
    from photolog.book import boxes as book_boxes

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if number is not None:
            typer.echo(_history(book_boxes.get(stock_book, number)))
            return
        every = book_boxes.every(stock_book)
    rows = [(f"box {b.number}", b.name, f"{b.since}", f"{b.photos}", b.note) for b in every]
    if rows:
        typer.echo(table(("box", "called", "since", "photos", "note"), rows, right="lllr"))
    else:
        typer.echo("No box is entered yet: photolog box 1 --name 'blue crate'")


def _history(told: BoxHistory) -> str:
    called = f" ({told.box.name})" if told.box.name else ""
    lines = [f"Box {told.box.number}{called}, since {told.box.since}"]
    lines += [f"  {on}  {what}" for on, what in told.entries]
    for photo in told.photos:
        taken = f"{photo.taken_at:%Y-%m-%d %H:%M}" if photo.taken_at else "no date"
        lines.append(f"  {taken}  photo {photo.photo_id}  {photo.name}")
    return "\n".join(lines)


def box_tags(
    numbers: Annotated[
        str, typer.Argument(help="Which boxes: 3, 1-12, or 3,5,7-9.", show_default=False)
    ],
    out: Annotated[Path, typer.Option(help="The file to write.")] = Path("box-tags.pdf"),
    book: BookFolder = None,
) -> None:
    """Make tags for boxes to print; a photo with one belongs to that box.

    Example: photolog box-tags 1-12 --out box-tags.pdf
    """
    from photolog.book import StockBook
    from photolog.book.prints import box_tags_to_print

    wanted = number_list(numbers, of="a box")
    folder = nearest_book(book)
    with user_errors():
        if folder is None:
            pdf = box_tags_to_print(wanted)
        else:
            with StockBook.open(folder) as stock_book:
                pdf = box_tags_to_print(wanted, book=stock_book)
        out.write_bytes(pdf)
    typer.echo(f"Wrote {out}: {len(wanted)} box tag{'s' if len(wanted) != 1 else ''}.")
