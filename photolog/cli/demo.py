"""The demo: an invented garden, from a folder of photographs to seasons compared."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Annotated

import typer

from photolog.cli.errors import fail, user_errors

__all__ = ["demo"]


def demo(
    folder: Annotated[
        Path, typer.Argument(help="A new or empty folder for the garden's stock book.")
    ] = Path("demo-garden"),
    photos: Annotated[
        Path | None, typer.Option(help="Where the sample photographs are, if not beside photolog.")
    ] = None,
) -> None:
    """Show the whole job on an invented garden.

    Example: photolog demo demo-garden
    """
    from photolog.book import StockBook, intake, matching, measuring, seasons
    from photolog.book.waiting_runs import waiting_runs
    from photolog.cli.photos import match_summary, measure_summary
    from photolog.cli.progress import progress_line
    from photolog.cli.taking_in import intake_summary
    from photolog.demo import garden, showing
    from photolog.reports.seasons_text import seasons_text
    from photolog.reports.waiting_text import waiting_text

    folders = showing.sample_folders(photos or showing.SAMPLES)
    if not folders:
        sentence = (
            f"no sample photographs in {photos or showing.SAMPLES}: run the demo from a copy of "
            "the project, or name their folder with --photos"
        )
        raise fail(sentence)
    started = time.monotonic()
    with user_errors(), StockBook.start(folder) as book:
        typer.echo(f"{garden.NAME}, an invented garden kept by {garden.KEEPER}.\n")
        showing.fill_garden(book)
        typer.echo("Taking in the photographs of two autumns and a summer")
        with progress_line("taking in") as progress:
            taken = intake.take_in(
                book, folders, progress=progress, now=showing.today_of_the_garden()
            )
        typer.echo(intake_summary(taken))
        typer.echo("\nWhose photograph is it?")
        typer.echo(match_summary(matching.match_all(book)))
        typer.echo("\nHow large is it?")
        with progress_line("measuring") as progress:
            typer.echo(measure_summary(measuring.measure_all(book, progress=progress)))
        typer.echo("")
        typer.echo(seasons_text(seasons.compare(book)))
        if runs := waiting_runs(book):
            typer.echo("\nWhat needs a decision:")
            typer.echo(waiting_text(runs))
        pages = showing.write_pages(book, folder)
    typer.echo(f"\nDone in {time.monotonic() - started:.0f} s. Open next:")
    for page in pages:
        typer.echo(f"  {page}")
    typer.echo(
        f"and in {folder}:\n"
        "  photolog waiting          what needs a decision\n"
        "  photolog decide PHOTO 14  to decide one\n"
        "  photolog history 31       a seedling's summer"
    )
