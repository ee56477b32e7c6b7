"""What is said after photos were taken in or matched: what waits, and what is proposed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from collections.abc import Collection

    from photolog.book.stockbook import StockBook

__all__ = ["say_clocks", "say_copies", "say_proposed", "say_undated", "say_waiting"]


# So many waiting photos are listed one by one after others were taken in.
_MOST_LISTED = 24


def say_waiting(stock_book: StockBook) -> None:
    """The waiting list, where anything waits; of many photos by outing only."""
    from photolog.book.waiting_runs import waiting_runs
    from photolog.reports.waiting_text import waiting_brief, waiting_text

    if runs := waiting_runs(stock_book):
        photos = sum(len(run.photos) for run in runs)
        if photos > _MOST_LISTED:
            typer.echo(f"\n{photos} need your decision (photolog waiting lists them one by one):")
            typer.echo(waiting_brief(runs))
        else:
            typer.echo(f"\n{photos} need your decision (photolog decide PHOTO TAG):")
            typer.echo(waiting_text(runs))


def say_undated(stock_book: StockBook, *, among: Collection[int] | None = None) -> None:
    """The photos that came together without a date, and how their day is told at once.

    With ``among``, only the lots that some of these photos are of.
    """
    from photolog.book import told_days
    from photolog.reports.undated_text import undated_text

    lots = [
        lot
        for lot in told_days.undated(stock_book)
        if len(lot.photos) > 1
        and (among is None or any(photo.photo_id in among for photo in lot.photos))
    ]
    if lots:
        typer.echo(f"\n{undated_text(lots)}")


def say_clocks(stock_book: StockBook) -> None:
    """How many cameras' clocks are proposed to be wrong, where there are any."""
    from photolog.book import clock_proposals

    if proposed := clock_proposals.proposed(stock_book):
        corrections = "correction" if len(proposed) == 1 else "corrections"
        typer.echo(
            f"\n{len(proposed)} {corrections} of a camera's clock proposed (photolog clock)."
        )


def say_proposed(stock_book: StockBook) -> None:
    """How many entries word cards propose, where there are any."""
    from photolog.book import proposals

    if by_cards := proposals.proposed(stock_book):
        entries = "entry is" if len(by_cards) == 1 else "entries are"
        typer.echo(f"\n{len(by_cards)} {entries} proposed by word cards (photolog proposed).")


def say_copies(stock_book: StockBook) -> None:
    """How many photos look like copies of others, where there are any."""
    from photolog.book import copies

    if pairs := copies.proposed(stock_book):
        look = "photo looks like a copy" if len(pairs) == 1 else "photos look like copies"
        typer.echo(f"\n{len(pairs)} {look} of another (photolog copies).")
