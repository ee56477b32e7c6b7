"""What moved when photos were matched anew, in a few lines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from photolog.cli.entries import book_folder
from photolog.cli.errors import user_errors
from photolog.spans import spans
from photolog.tables import lines_of

if TYPE_CHECKING:
    from photolog.book.moves import Belongs, Move, Moves
    from photolog.book.stockbook import StockBook

__all__ = ["belongs_text", "changing", "moved_text"]

_MOST_LINES = 12


@contextmanager
def changing(typed: Path | None) -> Iterator[StockBook]:
    """Open the stock book for something that matching rests on; then match anew, say what moved."""
    from photolog.book import StockBook, matching

    with user_errors(), StockBook.open(book_folder(typed)) as stock_book:
        yield stock_book
        if moved := moved_text(matching.match_anew(stock_book)):
            typer.echo(moved)


def moved_text(moves: Moves) -> str:
    """How many photos no longer wait, moved, or wait again, and where to; '' where none did.

    A line for each plant, with the photos' numbers; at most a dozen, the others counted.
    """
    parts = []
    for some, one, many in (
        (moves.found, "1 photo no longer waits:", "{} photos no longer wait:"),
        (moves.moved, "1 photo moved:", "{} photos moved:"),
        (moves.waiting, "1 photo waits again:", "{} photos wait again:"),
    ):
        if some:
            parts.append(one if len(some) == 1 else many.format(len(some)))
            parts += _lines(some)
    return "\n".join(parts)


def belongs_text(every: Sequence[Belongs]) -> str:
    """What a photo belongs to: ``tag 0012 “Wherry Lamp”``; no plant where that is nothing."""
    return " and ".join(_belongs(one) for one in every) or "no plant"


def _belongs(one: Belongs) -> str:
    if one.box is not None:
        return one.name
    return f"tag {one.tag:04d} {one.name}" if one.tag else one.name


def _lines(some: Sequence[Move]) -> list[str]:
    by_way: dict[str, list[int]] = {}
    for one in some:
        if one.how == "found":
            way = belongs_text(one.now)
        elif one.how == "moved":
            way = f"{belongs_text(one.was)} → {belongs_text(one.now)}"
        else:
            way = f"was {belongs_text(one.was)}"
        by_way.setdefault(way, []).append(one.photo_id)
    lines = [
        lines_of(f"{way}: photo{'' if len(ids) == 1 else 's'} {spans(ids)}", indent=4)
        for way, ids in by_way.items()
    ]
    if len(lines) > _MOST_LINES:
        others = len(lines) - _MOST_LINES + 1
        lines = [*lines[: _MOST_LINES - 1], f"    and {others} plants more"]
    return lines
