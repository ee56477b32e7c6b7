"""Photos that are, or look like, copies of others, and the grower's word on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from photolog.cli.entries import BookFolder, book_folder, number_list
from photolog.cli.errors import user_errors
from photolog.tables import lines_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from photolog.book.copies import CopyView, OtherFile
    from photolog.book.stockbook import StockBook

__all__ = ["copies"]

_STANDS = {"proposed": "looks like", "copy": "is a copy of", "apart": "is no copy of"}


def _line(one: CopyView) -> str:
    stands = _STANDS[one.state.value]
    line = (
        f"{one.number}  photo {one.photo_id} {one.name} {stands} "
        f"photo {one.of_photo_id} {one.of_name}: {one.because}"
    )
    if one.taken_over:
        line += f" The other has from it: {', '.join(one.taken_over)}."
    return lines_of(line, indent=max(0, 5 - len(str(one.number))))


def _list(pairs: Sequence[CopyView]) -> str:
    return "\n".join(_line(one) for one in pairs)


def _file(one: OtherFile) -> str:
    how = "the same file" if one.same_file else "the same picture"
    over = f", which gave {one.taken_over}" if one.taken_over else ""
    return lines_of(f"photo {one.photo_id} {one.photo_name}: {how} as {one.name}{over}", indent=5)


def _numbers(text: str) -> list[int] | None:
    """The numbers typed; None for all that are proposed."""
    return None if text.strip().lower() == "all" else number_list(text, of="a pair")


def copies(
    same: Annotated[
        str | None,
        typer.Option(help="These are copies: 3, 3-9, or all.", show_default=False),
    ] = None,
    apart: Annotated[
        str | None, typer.Option(help="These are not: 3, or 3-9.", show_default=False)
    ] = None,
    back: Annotated[
        str | None,
        typer.Option(help="Take back what was said of these.", show_default=False),
    ] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="List those decided, and other files, too.")
    ] = False,
    book: BookFolder = None,
) -> None:
    """List photos that look like copies of others, and say whether they are.

    Example: photolog copies --same 3
    """
    from photolog.book import StockBook
    from photolog.book import copies as book_copies

    with user_errors(), StockBook.open(book_folder(book)) as stock_book:
        if same is not None:
            done = book_copies.confirm(stock_book, _numbers(same))
            typer.echo(f"{len(done)} merged with the photos that they are copies of:")
            typer.echo(_list(done))
        if apart is not None:
            typer.echo(_list(book_copies.say_apart(stock_book, number_list(apart, of="a pair"))))
        if back is not None:
            done = book_copies.undo(stock_book, number_list(back, of="a pair"))
            typer.echo(f"{len(done)} taken back:")
            typer.echo(_list(done))
        if same is apart is back is None:
            _say_all(stock_book, everything=everything)


def _say_all(stock_book: StockBook, *, everything: bool) -> None:
    from photolog.book import copies as book_copies

    pairs = book_copies.proposed(stock_book)
    if pairs:
        typer.echo("These look like copies (photolog copies --same or --apart NUMBERS):")
        typer.echo(_list(pairs))
    else:
        typer.echo("No photo looks like a copy of another.")
    if not everything:
        return
    if decided := [one for one in book_copies.every(stock_book) if one not in pairs]:
        typer.echo("Decided (--back NUMBERS takes it back):")
        typer.echo(_list(decided))
    if files := book_copies.other_files(stock_book):
        typer.echo("Other files of photos in the book:")
        typer.echo("\n".join(_file(one) for one in files))
