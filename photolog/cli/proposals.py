"""What word cards in photos propose for the day book, and the grower's word on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder, number_list
from photolog.cli.errors import user_errors
from photolog.cli.moved import moved_text
from photolog.tables import lines_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from photolog.book.proposals import ProposedEntry

__all__ = ["confirm", "correct", "proposed", "refuse", "unconfirm"]

Several = Annotated[
    str, typer.Argument(help="Their numbers: 3, 3-9, or 3,5,7-9.", show_default=False)
]


def _whose(one: ProposedEntry) -> str:
    if one.stock_name is None:
        return "of whom?"
    if one.box is not None:
        return one.stock_name
    return f"tag {one.tag:04d} {one.stock_name}" if one.tag else f"no tag, {one.stock_name}"


def _line(one: ProposedEntry) -> str:
    day = "no day" if one.on is None else f"{one.on}"
    hour = "" if one.at is None else f" {one.at:%H:%M}"
    count = "" if one.count is None else f" {one.count}"
    line = f"{one.id}  {day}{hour}  {one.word}{count}: {_whose(one)}  ({one.photo})"
    return lines_of(line, indent=max(0, 5 - len(str(one.id))))


def _list(entries: Sequence[ProposedEntry]) -> str:
    lines = []
    for one in entries:
        lines.append(_line(one))
        why = f"But: {one.against}" if one.against else one.because
        if why:
            lines.append(lines_of(why, indent=7))
    return "\n".join(lines)


def proposed(book: BookFolder = None) -> None:
    """List the entries that word cards in your photos propose.

    Example: photolog proposed
    """
    from photolog.book import StockBook, proposals

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        entries = proposals.proposed(stock_book)
    ready = [one for one in entries if one.ready]
    doubtful = [one for one in entries if not one.ready]
    if ready:
        typer.echo(f"{len(ready)} to be confirmed at once (photolog confirm):")
        typer.echo(_list(ready))
    if doubtful:
        typer.echo(f"{len(doubtful)} that need a look (photolog correct, or confirm by number):")
        typer.echo(_list(doubtful))
    if not entries:
        typer.echo("Nothing is proposed.")


def confirm(
    numbers: Annotated[
        str,
        typer.Argument(
            help="Which: 3, 3-9, or 3,5,7-9; none: all that nothing speaks against.",
            show_default=False,
        ),
    ] = "",
    book: BookFolder = None,
) -> None:
    """Enter in the day book what word cards propose.

    Example: photolog confirm
    """
    from photolog.book import StockBook, proposals

    wanted = number_list(numbers, of="a proposal") if numbers else None
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        done = proposals.confirm(stock_book, wanted)
    count = len(done.confirmed)
    if not count and not done.left:
        typer.echo("Nothing is proposed, so nothing was entered.")
        return
    typer.echo(f"{count} {'entry' if count == 1 else 'entries'} made in the day book.")
    if done.left:
        typer.echo(f"{len(done.left)} left, since they need a look:")
        typer.echo(_list(done.left))
    if moved := moved_text(done.moves):
        typer.echo(moved)


def correct(
    number: Annotated[int, typer.Argument(help="Its number.", show_default=False)],
    tag: Annotated[
        str | None, typer.Option(help="The tag of what it is about.", show_default=False)
    ] = None,
    word: Annotated[
        str | None, typer.Option(help="The word that was meant.", show_default=False)
    ] = None,
    count: Annotated[
        int | None, typer.Option(help="How many of a batch.", show_default=False)
    ] = None,
    book: BookFolder = None,
) -> None:
    """Put right what a word card proposes, before it is confirmed.

    Example: photolog correct 5 --tag 12 --word rotted
    """
    from photolog.book import StockBook, proposals

    if tag is None and word is None and count is None:
        msg = "say what is to be put right, with --tag, --word or --count"
        raise typer.BadParameter(msg)
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        right = proposals.correct(stock_book, number, tag=tag, word=word, count=count)
    typer.echo(_list([right]))


def refuse(numbers: Several, book: BookFolder = None) -> None:
    """Turn down what word cards propose, for good.

    Example: photolog refuse 5
    """
    from photolog.book import StockBook, proposals

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        gone = proposals.turn_down(stock_book, number_list(numbers, of="a proposal"))
    typer.echo("\n".join(f"Turned down: {_line(one).strip()}" for one in gone))


def unconfirm(
    numbers: Annotated[
        str,
        typer.Argument(
            help="Which: 3, 3-9, or 3,5,7-9; none: all that was confirmed last.",
            show_default=False,
        ),
    ] = "",
    book: BookFolder = None,
) -> None:
    """Take back what was confirmed or refused; its entries are struck out.

    Example: photolog unconfirm
    """
    from photolog.book import StockBook, proposals

    wanted = number_list(numbers, of="a proposal") if numbers else None
    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        back = proposals.undo(stock_book, wanted)
    typer.echo(f"{len(back.entries)} taken back:")
    typer.echo(_list(back.entries))
    if moved := moved_text(back.moves):
        typer.echo(moved)
