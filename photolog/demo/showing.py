"""Fill the invented garden's stock book, take its photographs in, and write its pages."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from photolog.book import (
    StockBook,
    batches,
    daybook,
    history,
    plants,
    printings,
    seasons,
    tags,
    varieties,
)
from photolog.book.waiting_runs import waiting_runs
from photolog.demo import garden
from photolog.reports import history_page, seasons_page, waiting_page

__all__ = ["SAMPLES", "fill_garden", "sample_folders", "today_of_the_garden", "write_pages"]

SAMPLES = Path(__file__).resolve().parents[2] / "sample_images"
"""Where the sample photographs stand in a copy of the project."""


def sample_folders(samples: Path = SAMPLES) -> list[Path]:
    """The folders of sample photographs, one a season; empty where there are none."""
    if not samples.is_dir():
        return []
    return sorted(folder for folder in samples.iterdir() if folder.name[-4:].isdigit())


def fill_garden(book: StockBook) -> None:
    """Enter the garden's varieties, plants, tags, printings and day book."""
    now = today_of_the_garden()
    for name, form in garden.FORMS.items():
        varieties.add(book, name, form=form)
    number, name, since, rotted = garden.EARLIER_HOLDER
    plants.add(book, variety=name, tag=number, since=since)
    daybook.enter(book, "lost", on=rotted, tags=[number], cause="rotted", now=now)
    tags.take_off(book, number, on=rotted, now=now)
    for number, name in garden.CLUMPS.items():
        since = garden.BOUGHT_LATER.get(number, garden.BOUGHT)
        plants.add(book, variety=name, tag=number, since=since)
    for number, (raisers_number, form) in garden.SEEDLINGS.items():
        varieties.add(book, seedling_number=raisers_number, form=form)
        plants.add(
            book,
            variety=raisers_number,
            tag=number,
            since=garden.SEEDLINGS_PLANTED,
            came_from="seed of a cross",
        )
    number, name, count, since = garden.TRAY
    batches.add(book, variety=name, count=count, kind="pot tubers", tag=number, since=since)
    for design, across, along, read_on in garden.RULER_READINGS:
        printings.enter(book, design, across_mm=across, along_mm=along, on=read_on)
    for entry in garden.DAY_BOOK:
        daybook.enter(
            book,
            entry.kind,
            on=entry.on,
            tags=entry.tags,
            garden_wide=not entry.tags,
            note=entry.note,
            now=now,
        )


def write_pages(book: StockBook, folder: Path) -> list[Path]:
    """Write the seasons compared, the history of a clump and a seedling, what waits, as pages."""
    pages = {"seasons.html": seasons_page(seasons.compare(book))}
    for number in (min(garden.CLUMPS), min(garden.SEEDLINGS)):
        pages[f"plant-{number}.html"] = history_page(history.of_tag(book, number))
    pages["waiting.html"] = waiting_page(book, waiting_runs(book))
    for name, html in pages.items():
        (folder / name).write_text(html, encoding="utf-8")
    return [folder / name for name in pages]


def today_of_the_garden() -> dt.datetime:
    """The garden's own today, or the real one where that is later.

    Its photographs are dated up to June 2026; a machine whose clock is behind that would otherwise
    take them for photographs from the future.
    """
    return max(garden.TODAY, dt.datetime.now(dt.UTC))
