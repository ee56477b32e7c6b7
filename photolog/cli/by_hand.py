"""Sizes by the grower's hand, beside what the program measured."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from photolog.cli.entries import BookFolder, Day, book_folder
from photolog.cli.errors import fail, user_errors
from photolog.tables import lines_of

if TYPE_CHECKING:
    from photolog.book.by_hand import ByHand

__all__ = ["by_hand"]


def _tape(flag: str, what: str) -> Any:
    return typer.Option(flag, help=f"{what}, in mm.", show_default=False)


def by_hand(
    photo: Annotated[int, typer.Argument(help="The photo's number.", show_default=False)],
    widest_mm: Annotated[float | None, _tape("--widest-mm", "A tape across the bloom")] = None,
    ring_mm: Annotated[
        float | None, _tape("--ring-mm", "The smallest ring that the bloom passes")
    ] = None,
    depth_mm: Annotated[
        float | None, _tape("--depth-mm", "The bloom's depth, of a side view")
    ] = None,
    spread_mm: Annotated[float | None, _tape("--spread-mm", "A tape along the clump")] = None,
    on: Annotated[
        dt.date | None, Day("--on", "The day of tape or ring, if not the photo's")
    ] = None,
    callipers: Annotated[
        tuple[str, str] | None,
        typer.Option(
            metavar="X,Y X,Y",
            help="Two places on the photo, in pixels from its top left: the ends of the widest, "
            "of a side view's depth, of a clump's spread.",
            show_default=False,
        ),
    ] = None,
    outline: Annotated[
        Path | None,
        typer.Option(help="A JSON file with your outline: [[x, y], …] in pixels, in order."),
    ] = None,
    outline_to: Annotated[
        Path | None, typer.Option(help="Write the outline there is to a file, to correct it.")
    ] = None,
    back: Annotated[bool, typer.Option("--back", help="Take back what was entered.")] = False,
    book: BookFolder = None,
) -> None:
    """Enter a size of your own: by tape, ring, callipers or outline. It counts from then on.

    Example: photolog by-hand 17 --widest-mm 98
    """
    from photolog.book import StockBook
    from photolog.book import by_hand as hand

    read = {
        name: value
        for name, value in (
            ("widest_mm", widest_mm),
            ("ring_mm", ring_mm),
            ("depth_mm", depth_mm),
            ("spread_mm", spread_mm),
        )
        if value is not None
    }
    ways = (bool(read), callipers is not None, outline is not None, outline_to is not None, back)
    if sum(ways) != 1:
        sentence = (
            "Say one of: a tape or ring reading, --callipers, --outline, --outline-to, --back."
        )
        raise fail(sentence)
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if outline_to is not None:
            points = hand.outline_of(stock_book, photo)
            outline_to.write_text(json.dumps(points) + "\n", encoding="utf-8")
            typer.echo(f"{len(points)} points written to {outline_to}.")
            return
        if back:
            now = hand.take_back(stock_book, photo)
        elif callipers is not None:
            now = hand.set_callipers(stock_book, photo, [_place(end) for end in callipers])
        elif outline is not None:
            now = hand.draw_outline(stock_book, photo, _points(outline))
        else:
            now = hand.read_off(stock_book, photo, read, on=on)
    typer.echo(lines_of(_said(now)))


def _said(now: ByHand) -> str:
    """What counts now, and what the program measured."""
    photo = f"Photo {now.photo_id} ({now.name})"
    measured = now.measured
    if measured is None or measured.turned_down:
        return f"{photo}: no size counts."
    if measured.refused:
        return f"{photo}: not measured: {measured.reason}"
    from photolog.reports.wording import size_texts

    sizes = ", ".join(size_texts(measured.sizes, measured.sizes))
    if not measured.by_hand:
        return f"{photo}: photolog's own size counts: {sizes}."
    beside = ", ".join(size_texts(measured.beside, measured.sizes))
    own = f" photolog measured {beside}." if beside else ""
    return f"{photo}, {measured.how_made}: {sizes}.{own}"


def _place(typed: str) -> list[float]:
    try:
        x, y = typed.split(",")
        return [float(x), float(y)]
    except ValueError:
        msg = f"{typed!r} is no place on the photo: write x,y in pixels, such as 812,455."
        raise fail(msg) from None


def _points(path: Path) -> Any:
    try:
        return json.loads(path.read_text(encoding="utf-8"))
    except ValueError:
        msg = f"{path} is no JSON file of places: [[x, y], …] in pixels."
        raise fail(msg) from None
