"""What a list costs does not grow with the stock: three plants or thirty, the same queries."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date

import pytest

from photolog.book import (
    StockBook,
    StockRef,
    batches,
    boxes,
    bursts,
    copies,
    daybook,
    growing,
    plants,
    printings,
    tags,
    varieties,
)
from photolog.book.happenings import happenings
from tests.records import factories

DAY = date(2025, 11, 8)
Counter = Callable[[], AbstractContextManager[list[str]]]

LISTS: dict[str, Callable[[StockBook], object]] = {
    "varieties": varieties.every,
    "plants": plants.every,
    "batches": batches.every,
    "tags": tags.holdings,
    "day book": daybook.entries,
    "what happened": happenings,
    "how grown": growing.every,
    "printings": printings.every,
    "copies": copies.every,
    "proposed copies": copies.proposed,
    "other files": copies.other_files,
    "bursts": bursts.every,
    "boxes": boxes.every,
    "one plant": lambda book: plants.get(book, StockRef("plant", 1)),
    "one tag": lambda book: tags.resolve(book, 1, on=DAY),
}


def grow(book: StockBook, count: int) -> None:
    with book.writing() as session:
        for _ in range(count):
            plant = factories.plant(session, since=DAY)
            batch = factories.batch(session, since=DAY)
            tag = factories.tag(session, number=plant.id)
            factories.tag_holding(session, tag_id=tag.id, plant_id=plant.id, from_date=DAY)
            event = factories.event(session, kind="planted out", on_date=DAY)
            factories.event_subject(session, event_id=event.id, plant_id=plant.id)
            factories.batch_change(session, batch_id=batch.id, event_id=event.id)
            factories.variety_name(session, variety_id=plant.variety_id)
            factories.how_grown(session, plant_id=plant.id)
            factories.printing(session)
            factories.copy(session)
            factories.photo_file(session)
            factories.burst(session)
            factories.photo_box(session)


@pytest.mark.parametrize("name", LISTS)
def test_a_fixed_number_of_queries(book: StockBook, queries_of: Counter, name: str) -> None:
    counted = []
    for more in (3, 30):
        grow(book, more)
        with queries_of() as seen:
            LISTS[name](book)
        counted.append(len(seen))
    assert counted[0] == counted[1] <= 10


def test_the_counter_counts(book: StockBook, queries_of: Counter) -> None:
    with queries_of() as seen:
        varieties.every(book)
        varieties.every(book)
    assert sum("FROM variety" in sql for sql in seen) == 2
