"""The waiting list, the grower's word on whose photos are, and taking it back."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import (
    BookFolder,
    Day,
    book_folder,
    day_or_none,
    number_list,
    tag_list,
)
from photolog.cli.errors import fail, user_errors
from photolog.cli.moved import moved_text
from photolog.spans import spans
from photolog.tables import lines_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from photolog.book.deciding import Decided, TakenBack
    from photolog.book.stockbook import StockBook

__all__ = ["decide", "undecide", "waiting"]

# Of so many photos, each is said with its reason.
_FEW = 3


def waiting(
    html: Annotated[Path | None, typer.Option(help="Write it as a page too.")] = None,
    book: BookFolder = None,
) -> None:
    """List the photos that need a decision, by outing.

    Example: photolog waiting --html waiting.html
    """
    from photolog.book import StockBook
    from photolog.book.waiting_runs import waiting_runs
    from photolog.reports.waiting_page import waiting_page
    from photolog.reports.waiting_text import waiting_text

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        runs = waiting_runs(stock_book)
        typer.echo(waiting_text(runs) if runs else "Nothing waits.")
        if html is not None:
            html.write_text(waiting_page(stock_book, runs), encoding="utf-8")
            typer.echo(f"\nWrote {html}.")


def decide(
    photos: Annotated[
        str,
        typer.Argument(
            help="The photo's number, or several: 12-18,20; a day: what waits of it.",
            show_default=False,
        ),
    ],
    tag: Annotated[
        str,
        typer.Argument(
            help="The tag of its plant; several, 41-48, one after the other; 41+42, all of them "
            "in each photo; 'box 3'; 'none'; 'proposed', as proposed; 'sure', what is sure of it.",
            show_default=False,
        ),
    ],
    besides: Annotated[
        str | None,
        typer.Option("--except", help="Photos among them to leave out.", show_default=False),
    ] = None,
    on: Annotated[
        dt.date | None, Day("--on", "The day they were taken, where the files have no date")
    ] = None,
    book: BookFolder = None,
) -> None:
    """Say whose photos they are; matching again never changes it.

    Example: photolog decide 12-18 31
    """
    from photolog.book import StockBook
    from photolog.book.waiting_runs import waiting_on

    day = day_or_none(photos)
    ids = [] if day is not None else number_list(photos, of="a photo")
    left_out = set(number_list(besides, of="a photo")) if besides else set()
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if day is not None:
            ids = list(waiting_on(stock_book, day))
        ids = [one for one in ids if one not in left_out]
        if not ids:
            sentence = (
                "No photo is left to decide: all of them are left out."
                if day is None
                else f"Nothing of {day} waits. photolog waiting lists what does."
            )
            raise fail(sentence)
        decided = _decide(stock_book, ids, tag, on=on)
    typer.echo(lines_of(f"{_photos(decided.photos)}: {decided.said}."))
    for copy, stands in decided.copies.items():
        instead = f"Photo {copy} is a copy of photo {stands}, which was decided in its stead."
        typer.echo(lines_of(instead))
    if decided.left:
        typer.echo(lines_of(f"Not sure enough, and still waiting: {_photos(decided.left)}."))
    if moved := moved_text(decided.moves):
        typer.echo(moved)


def undecide(
    photos: Annotated[
        str,
        typer.Argument(
            help="The photo's number, or several; none: all that was decided last.",
            show_default=False,
        ),
    ] = "",
    book: BookFolder = None,
) -> None:
    """Take back a decision: the last one whole, or that of some photos.

    Example: photolog undecide
    """
    from photolog.book import StockBook, matching

    ids = number_list(photos, of="a photo") if photos else None
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        back = matching.undo(stock_book, ids)
    typer.echo(_taken_back(back))
    if moved := moved_text(back.moves):
        typer.echo(moved)


def _decide(stock_book: StockBook, ids: Sequence[int], text: str, *, on: dt.date | None) -> Decided:
    from photolog.book import matching

    word = text.strip().lower()
    if word == "none":
        return matching.decide(stock_book, ids, None, on=on)
    if word in ("proposed", "sure"):
        return matching.decide_as_proposed(stock_book, ids, only_sure=word == "sure")
    together = [part.strip() for part in text.split("+")]
    if len(together) > 1 or word.startswith("box"):
        return matching.decide(stock_book, ids, together, on=on)
    tags = tag_list(text)
    if len(tags) == 1:
        return matching.decide(stock_book, ids, tags[0], on=on)
    return matching.decide_along(stock_book, ids, tags, on=on)


def _photos(ids: Sequence[int]) -> str:
    return f"Photo {ids[0]}" if len(ids) == 1 else f"Photos {spans(ids)}"


def _taken_back(back: TakenBack) -> str:
    """How the photos stand now; of many that wait, without the reason of each."""
    from photolog.book.waiting import MatchedPhoto

    waits = [one for one in back.stand if not isinstance(one, MatchedPhoto)]
    found: dict[int, list[MatchedPhoto]] = {}
    for one in back.stand:
        if isinstance(one, MatchedPhoto):
            found.setdefault(one.photo_id, []).append(one)
    by_end: dict[str, list[int]] = {}
    for photo_id, every in found.items():
        names = " and ".join(one.stock_name for one in every)
        again = f"{names}, as decided before." if every[0].by_hand else f"{names} again."
        why = "" if every[0].by_hand or len(found) > _FEW else f" {every[0].because}"
        by_end.setdefault(f": {again}{why}", []).append(photo_id)
    for one in waits:
        why = f" {one.because}" if len(waits) <= _FEW else ""
        by_end.setdefault(f" {{}} again.{why}", []).append(one.photo_id)
    seen = {one.photo_id for one in back.stand}
    if without := [one for one in back.photos if one not in seen]:
        by_end[": no plant, as decided before."] = without
    return "\n".join(
        lines_of(_photos(ids) + end.replace("{}", "waits" if len(ids) == 1 else "wait"))
        for end, ids in by_end.items()
    )
