"""What is told later: a new name, how a plant was grown, a photo's stage, a tag's next wearer."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, Day, Today, book_folder
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing

__all__ = ["grown", "hand_on", "rename", "shows", "stage"]

Tag = Annotated[str, typer.Argument(help="The tag's number, such as 12 or 0012-K.")]


def rename(
    name: Annotated[str, typer.Argument(help="Its name now, or its raiser's number.")],
    to: Annotated[str, typer.Option(help="The new name.")],
    on: Annotated[dt.date, Today("--on", "From which day")],
    book: BookFolder = None,
) -> None:
    """Name a seedling, or rename a variety, from a day on.

    Example: photolog rename T24-07 --to 'Merrow Kestrel' --on 2026-09-01
    """
    from photolog.book import StockBook, varieties

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        kept = varieties.rename(stock_book, name, to=to, on=on)
    typer.echo(f"{name} is {kept.name} from {on} on.")


def grown(
    tag: Tag,
    season: Annotated[int, typer.Option(help="The season, by its planting year.")],
    disbudded: Annotated[
        bool | None, typer.Option("--disbudded/--not-disbudded", help="Disbudded, or not.")
    ] = None,
    stopped: Annotated[dt.date | None, Day("--stopped", "The day it was stopped")] = None,
    stems: Annotated[int | None, typer.Option(help="How many stems it carried.")] = None,
    grown_from: Annotated[
        str | None, typer.Option("--from", help="a division, a cutting, a pot tuber, seed …")
    ] = None,
    book: BookFolder = None,
) -> None:
    """Say how a plant was grown in a season.

    Example: photolog grown 31 --season 2025 --disbudded --stems 6
    """
    from photolog.book import StockBook, growing

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        held = growing.wearer_in_season(stock_book, tag, season=season)
        told = growing.tell(
            stock_book,
            held.stock,
            season=season,
            disbudded=disbudded,
            stopped_on=stopped,
            stems=stems,
            grown_from=grown_from,
        )
    said = [
        "" if told.disbudded is None else "disbudded" if told.disbudded else "not disbudded",
        f"stopped {told.stopped_on}" if told.stopped_on else "",
        f"{told.stems} stems" if told.stems else "",
        str(told.grown_from or ""),
    ]
    typer.echo(
        f"{held.variety}, season {season}: {', '.join(filter(None, said)) or 'nothing told'}."
    )


def stage(
    photo: Annotated[int, typer.Argument(help="The photo's number.", show_default=False)],
    at: Annotated[
        str, typer.Argument(help="opening, at its best, as lifted, washed …", show_default=False)
    ],
    book: BookFolder = None,
) -> None:
    """Say at which stage a photo's bloom or clump was.

    Example: photolog stage 17 washed
    """
    from photolog.book import StockBook, stages

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        told = stages.tell(stock_book, photo, at)
    typer.echo(f"Photo {photo}: {told}.")


def shows(
    photo: Annotated[int, typer.Argument(help="The photo's number.", show_default=False)],
    what: Annotated[
        str,
        typer.Argument(help="bloom face, bloom side, clump, seeds …", show_default=False),
    ],
    held: Annotated[
        str | None,
        typer.Option(help="The card: level with the bloom, behind it, or on the bench."),
    ] = None,
    book: BookFolder = None,
) -> None:
    """Say what a photo shows; the next measuring goes by it.

    Example: photolog shows 17 'bloom side'
    """
    from photolog.book import showing

    with changing(book) as stock_book:
        told = showing.tell(stock_book, photo, what, held=held)
        card = f", the card {told.held}" if told.held else ""
        typer.echo(f"Photo {photo} ({told.name}): {told.shows}{card}.")


def hand_on(
    tag: Tag,
    to: Annotated[str, typer.Option(help="Another tag that its next wearer has.")],
    on: Annotated[dt.date, Today("--on", "From which day")],
    book: BookFolder = None,
) -> None:
    """Put a tag on another plant or batch from a day on.

    Example: photolog hand-on 16 --to 212 --on 2026-11-07
    """
    from photolog.book import tags

    with changing(book) as stock_book:
        next_wearer = tags.resolve(stock_book, to, on=on)
        held = tags.hand_on(stock_book, tag, to=next_wearer.stock, on=on)
        typer.echo(f"Tag {held.printed} is on {held.variety} from {on} on.")
