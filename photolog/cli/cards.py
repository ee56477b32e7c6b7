"""Scale cards, tags and word cards to print, and what a ruler read on a printing."""

from __future__ import annotations

import datetime as dt
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, Day, Today, book_folder, nearest_book, tag_list
from photolog.cli.errors import user_errors

__all__ = ["card", "ruler", "tags", "word_cards"]


class Kind(StrEnum):
    """The three cards."""

    POCKET = "pocket"
    BLOOM = "bloom"
    BENCH = "bench"


class Size(StrEnum):
    """What the tags are for: tied to plants, or stuck in batches and beds."""

    TIED = "tied"
    STAKE = "stake"


def card(
    kind: Annotated[
        Kind,
        typer.Argument(help="pocket (small blooms), bloom, or bench (clumps).", show_default=False),
    ],
    out: Annotated[
        Path | None,
        typer.Option(help="The file to write; otherwise KIND-card.pdf.", show_default=False),
    ] = None,
) -> None:
    """Make a scale card to print.

    Example: photolog card bench --out bench.pdf
    """
    from photolog.book.prints import card_to_print

    path = out or Path(f"{kind.value}-card.pdf")
    with user_errors():
        printed = card_to_print(kind.value)
        path.write_bytes(printed.pdf)
    typer.echo(
        f"Wrote {path}\n"
        "Print it at full size (100 %) on matt paper and stick it to something rigid.\n"
        "Then lay a ruler on its two 100 mm bars and enter what it reads, for example:\n"
        f"  photolog ruler {printed.design} --across 99.5 --along 99.8"
    )


def tags(
    numbers: Annotated[
        str, typer.Argument(help="Which tags: 12, 12-19, or 12,15,20-24.", show_default=False)
    ],
    size: Annotated[
        Size, typer.Option(help="tied to plants, or stakes for batches and beds.")
    ] = Size.TIED,
    out: Annotated[Path, typer.Option(help="The file to write.")] = Path("tags.pdf"),
    book: BookFolder = None,
) -> None:
    """Make plant tags to print, with the variety's name if known.

    Example: photolog tags 1-24 --out tags.pdf
    """
    from photolog.book import StockBook
    from photolog.book.prints import tags_to_print

    wanted = tag_list(numbers)
    folder = nearest_book(book)
    with user_errors():
        if folder is None:
            pdf = tags_to_print(wanted, size=size.value)
        else:
            today = dt.date.today()  # noqa: DTZ011 - the grower's own day is meant
            with StockBook.open(folder) as stock_book:
                pdf = tags_to_print(wanted, size=size.value, book=stock_book, on=today)
        out.write_bytes(pdf)
    typer.echo(f"Wrote {out}: {len(wanted)} tag{'s' if len(wanted) != 1 else ''}.")


def word_cards(
    words: Annotated[
        str,
        typer.Argument(help="Which: 'lifted,rotted,label lost'; all if none.", show_default=False),
    ] = "",
    out: Annotated[Path, typer.Option(help="The file to write.")] = Path("word-cards.pdf"),
) -> None:
    """Make word cards to print: photographed with a tag, they enter what happened.

    Example: photolog word-cards 'lifted,rotted,eaten,label lost'
    """
    from photolog.book.prints import word_cards_to_print

    with user_errors():
        count, pdf = word_cards_to_print(words)
        out.write_bytes(pdf)
    typer.echo(f"Wrote {out}: {count} word card{'s' if count != 1 else ''}.")


def ruler(
    design: Annotated[
        str, typer.Argument(help="The card's name as printed on it: bench-1.", show_default=False)
    ],
    on: Annotated[dt.date, Today("--on", "The day of the reading")],
    across: Annotated[float, typer.Option(help="The ruler's reading of the bar across, in mm.")],
    along: Annotated[float, typer.Option(help="The ruler's reading of the bar along, in mm.")],
    since: Annotated[
        dt.date | None, Day("--since", "The day this printing came into use, if earlier")
    ] = None,
    book: BookFolder = None,
) -> None:
    """Enter what a ruler reads on a printed card's two bars.

    Example: photolog ruler bench-1 --across 99.5 --along 99.8
    """
    from photolog.book import StockBook, printings

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        kept = printings.enter(
            stock_book, design, across_mm=across, along_mm=along, on=on, in_use_since=since
        )
    typer.echo(
        f"{kept.design}, in use since {kept.in_use_since}: "
        f"{kept.across_mm:g} mm across, {kept.along_mm:g} mm along."
    )
