"""What a grower types: days, lists of tags, and where the stock book is."""

from __future__ import annotations

import datetime as dt
import os
import re
from pathlib import Path
from typing import Annotated

import typer

from photolog.cli.errors import fail
from photolog.spans import numbers_in

__all__ = [
    "BookFolder",
    "Day",
    "Today",
    "book_folder",
    "day_or_none",
    "nearest_book",
    "number_list",
    "tag_list",
]

BookFolder = Annotated[
    Path | None,
    typer.Option(
        "--book",
        help="The stock book's folder; without it the one you stand in, or PHOTOLOG_BOOK.",
        show_default=False,
    ),
]


def _day(text: str) -> dt.date:
    text = text.strip().lower()
    today = dt.date.today()  # noqa: DTZ011 - the grower's own day is meant
    if text == "today":
        return today
    if text == "yesterday":
        return today - dt.timedelta(days=1)
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        msg = f"{text!r} is no day: write it as 2026-11-08, or today, or yesterday"
        raise typer.BadParameter(msg) from None


def Day(flag: str, what: str) -> object:  # noqa: N802 - read as a type in the commands
    """An option that takes a day as typed: 2026-11-08, today or yesterday; it may be left out."""
    return typer.Option(flag, parser=_day, metavar="DAY", help=f"{what}, as 2026-11-08.")


def Today(flag: str, what: str) -> object:  # noqa: N802 - read as a type in the commands
    """An option that takes a day as typed, and is today when it is left out."""
    return typer.Option(
        flag,
        parser=_day,
        metavar="DAY",
        help=f"{what}, as 2026-11-08; today when left out.",
        default_factory=lambda: "today",
        show_default=False,
    )


_A_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
_ONE = re.compile(r"\d{1,4}(?:-?[A-Za-z])?")
_SPAN = re.compile(r"(\d{1,4})-(\d{1,4})")


def tag_list(text: str) -> list[str]:
    """Tags as typed: ``12-19,23`` or ``0023-K``; a span is spelt out, a check letter kept."""
    tags: list[str] = []
    for part in re.split(r"[,\s]+", text.strip()):
        if span := _SPAN.fullmatch(part):
            first, last = int(span[1]), int(span[2])
            if first > last:
                msg = f"{part!r} runs backwards: write the smaller number first"
                raise typer.BadParameter(msg)
            tags += [str(number) for number in range(first, last + 1)]
        elif _ONE.fullmatch(part):
            tags.append(part)
        else:
            msg = f"{part!r} is no tag: write 12, 12-19, or 12,15,20-24"
            raise typer.BadParameter(msg)
    return tags


def day_or_none(text: str) -> dt.date | None:
    """A day as typed, where it is one: 2026-11-08, today or yesterday."""
    typed = text.strip().lower()
    if typed not in ("today", "yesterday") and not _A_DAY.fullmatch(typed):
        return None
    return _day(typed)


def number_list(text: str, *, of: str) -> list[int]:
    """Numbers as typed, ``3-9,12``, ``of`` what they are: "a photo"."""
    try:
        return numbers_in(text, of=of)
    except ValueError as wrong:
        raise typer.BadParameter(str(wrong)) from None


def nearest_book(typed: Path | None) -> Path | None:
    """The folder typed, else PHOTOLOG_BOOK, else this one or the nearest above that is a book."""
    if typed is not None:
        return typed
    if set_by_hand := os.environ.get("PHOTOLOG_BOOK"):
        return Path(set_by_hand)
    here = Path.cwd()
    return next((f for f in (here, *here.parents) if (f / "book.sqlite3").is_file()), None)


def book_folder(typed: Path | None) -> Path:
    """The stock book's folder; where there is none, the sentence that says how to name it."""
    folder = nearest_book(typed)
    if folder is None:
        sentence = (
            "there is no stock book in this folder: go into one, name it with --book, "
            "or make one with `photolog start DIR`"
        )
        raise fail(sentence)
    return folder
