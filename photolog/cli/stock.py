"""The stock book itself and what is in it: varieties, plants, batches, tags."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Annotated

import typer

from photolog.cli.entries import BookFolder, Today, book_folder, tag_list
from photolog.cli.errors import user_errors
from photolog.cli.moved import changing
from photolog.tables import table

__all__ = ["batch", "divide", "plant", "split", "start", "stock", "tag_off", "variety"]

Tag = Annotated[str, typer.Argument(help="The tag's number, such as 12 or 0012-K.")]


def start(
    folder: Annotated[Path, typer.Argument(help="A new or empty folder.", show_default=False)],
) -> None:
    """Start a stock book: one folder that holds everything.

    Example: photolog start my-garden
    """
    from photolog.book import StockBook

    with user_errors(), StockBook.start(folder) as stock_book:
        typer.echo(
            f"Started the stock book {stock_book.folder}.\n"
            "Next: photolog card bench; photolog variety NAME --form FORM; photolog plant NAME."
        )


def variety(
    name: Annotated[str, typer.Argument(help="Its name, or the raiser's number with --seedling.")],
    form: Annotated[
        str | None, typer.Option(help="Its form: ball, cactus, decorative, single …")
    ] = None,
    seedling: Annotated[
        bool, typer.Option("--seedling", help="A seedling raised here, under its number.")
    ] = False,
    book: BookFolder = None,
) -> None:
    """Enter a variety, or a seedling raised here.

    Example: photolog variety 'Tin Orchard' --form decorative
    """
    from photolog.book import StockBook, varieties

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        kept = varieties.add(
            stock_book,
            None if seedling else name,
            form=form,
            seedling_number=name if seedling else None,
        )
    typer.echo(f"{kept.name}, {kept.form or 'form not told'}.")


def plant(
    variety: Annotated[str, typer.Argument(help="Its variety, as entered.", show_default=False)],
    since: Annotated[dt.date, Today("--since", "Since when you have it")],
    tag: Annotated[str | None, typer.Option(help="The tag it wears.")] = None,
    came_from: Annotated[
        str, typer.Option("--from", help="bought, division of, cutting of, seed of a cross …")
    ] = "bought",
    parent: Annotated[str | None, typer.Option(help="The tag of the plant it came from.")] = None,
    note: Annotated[str, typer.Option(help="A note.")] = "",
    book: BookFolder = None,
) -> None:
    """Enter one plant, with the tag it wears from that day on.

    Example: photolog plant 'Tin Orchard' --tag 11 --since 2025-11-08
    """
    from photolog.book import plants

    with changing(book) as stock_book:
        kept = plants.add(
            stock_book,
            variety=variety,
            since=since,
            came_from=came_from,
            tag=tag,
            parent_tag=parent,
            note=note,
        )
        worn = f", tag {kept.tags[0].printed}" if kept.tags else ", without a tag"
        typer.echo(f"{kept.variety}{worn}, since {kept.since}.")


def batch(
    variety: Annotated[str, typer.Argument(help="Its variety, as entered.", show_default=False)],
    count: Annotated[int, typer.Option(help="How many.")],
    kind: Annotated[str, typer.Option(help="pot tubers, cuttings, seedlings, single tubers.")],
    since: Annotated[dt.date, Today("--since", "Since when you have it")],
    tag: Annotated[str | None, typer.Option(help="The one tag it wears.")] = None,
    note: Annotated[str, typer.Option(help="A note.")] = "",
    book: BookFolder = None,
) -> None:
    """Enter a batch: many under one tag, such as a tray.

    Example: photolog batch 'Tin Orchard' --count 40 --kind 'pot tubers' --tag 101 --since today
    """
    from photolog.book import batches

    with changing(book) as stock_book:
        kept = batches.add(
            stock_book, variety=variety, count=count, kind=kind, since=since, tag=tag, note=note
        )
        worn = f", tag {kept.tags[0].printed}" if kept.tags else ", without a tag"
        typer.echo(f"{kept.count} {kept.kind} of {kept.variety}{worn}, since {kept.since}.")


def split(
    tag: Tag,
    on: Annotated[dt.date, Today("--on", "The day")],
    tags: Annotated[
        str | None, typer.Option(help="Tags of the single plants taken out: 102-104.")
    ] = None,
    count: Annotated[
        int | None, typer.Option(help="How many go into a batch of their own.")
    ] = None,
    new_tag: Annotated[str | None, typer.Option(help="The tag of that new batch.")] = None,
    book: BookFolder = None,
) -> None:
    """Take plants, or a smaller batch, out of a batch.

    Example: photolog split 101 --tags 102-104 --on 2026-09-12
    """
    from photolog.book import batches

    if (tags is None) == (count is None):
        msg = "say either --tags for single plants or --count for a batch of their own"
        raise typer.BadParameter(msg)
    with changing(book) as stock_book:
        if tags is not None:
            made = batches.split_plants(stock_book, tag, on=on, tags=tag_list(tags))
            typer.echo("\n".join(f"{one.variety}, tag {one.tags[0].printed}." for one in made))
        elif count is not None:
            new = batches.split_batch(stock_book, tag, on=on, count=count, new_tag=new_tag)
            typer.echo(f"{new.count} {new.kind} of {new.variety}.")
        left = batches.of_tag(stock_book, tag, on=on).left
        typer.echo(f"{left} left in the batch.")


def divide(
    tag: Tag,
    into: Annotated[str, typer.Option(help="The tags of the divisions: 31-33.")],
    on: Annotated[dt.date, Today("--on", "The day")],
    book: BookFolder = None,
) -> None:
    """Divide a clump into plants of their own, each with its tag.

    Example: photolog divide 12 --into 31-33 --on 2026-09-20
    """
    from photolog.book import plants

    with changing(book) as stock_book:
        made = plants.divide(stock_book, tag, on=on, tags=tag_list(into))
        typer.echo("\n".join(f"{one.variety}, tag {one.tags[0].printed}." for one in made))


def tag_off(
    tag: Tag,
    on: Annotated[dt.date, Today("--on", "The day")],
    book: BookFolder = None,
) -> None:
    """Take a tag off what wears it, for another to have.

    Example: photolog tag-off 16 --on 2024-10-30
    """
    from photolog.book import tags

    with changing(book) as stock_book:
        tags.take_off(stock_book, tag, on=on)
        typer.echo(f"Tag {tag} is free from {on} on.")


def stock(book: BookFolder = None) -> None:
    """List plants and batches with their tags.

    Example: photolog stock
    """
    from photolog.book import StockBook, batches, plants

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        single = plants.every(stock_book)
        counted = batches.every(stock_book)
    rows = [
        (
            one.tags[-1].printed if one.tags else "-",
            one.variety,
            one.form or "",
            f"{one.since}",
            f"{one.ended_by} {one.ended_on}" if one.ended_by else f"{one.came_from}",
        )
        for one in single
    ]
    rows += [
        (
            one.tags[-1].printed if one.tags else "-",
            one.variety,
            one.form or "",
            f"{one.since}",
            f"{one.left} of {one.count} {one.kind}",
        )
        for one in counted
    ]
    if not rows:
        typer.echo("Nothing yet: photolog variety NAME --form FORM, then photolog plant NAME.")
        return
    typer.echo(table(("tag", "variety", "form", "since", ""), sorted(rows)))
