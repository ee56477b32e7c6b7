"""From the printed sheets to the proposal: PDF, pixels, photo, marks, entry."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from photolog.book import StockBook, daybook, matching, plants, proposals, varieties
from photolog.book.intake import take_in
from photolog.prints import TagToPrint, tags_pdf, word_cards_pdf
from photolog.prints.tags import TAG_LAYOUTS, tag_places_mm
from photolog.prints.word_cards import CARD_HEIGHT_MM, CARD_WIDTH_MM, word_card_places_mm
from photolog.terms import EventKind, LossCause
from photolog.word_cards import words_named
from tests.book.photographed import photo
from tests.prints.rasters import raster

PX_PER_MM = 3.0
NOON = datetime(2026, 5, 16, 12, 0)


def word_card(word: str) -> NDArray[np.uint8]:
    left, top = word_card_places_mm()[0]
    return _cut(word_cards_pdf(words_named(word)), left, top, CARD_WIDTH_MM, CARD_HEIGHT_MM)


def tied_tag(number: int) -> NDArray[np.uint8]:
    layout = TAG_LAYOUTS["tied"]
    left, top = tag_places_mm("tied")[0]
    pdf = tags_pdf([TagToPrint(number=number)])
    return _cut(pdf, left, top + layout.height_mm, layout.width_mm, layout.height_mm)


def _cut(pdf: bytes, left: float, top: float, width: float, height: float) -> NDArray[np.uint8]:
    page = raster(pdf, px_per_mm=PX_PER_MM)
    return page[
        round(top * PX_PER_MM) : round((top + height) * PX_PER_MM),
        round(left * PX_PER_MM) : round((left + width) * PX_PER_MM),
    ]


def on_the_bench(*pieces: NDArray[np.uint8], seed: int) -> NDArray[np.uint8]:
    """The pieces one below the other on a rough bench, seen a little aslant and unsharp."""
    rng = np.random.default_rng(seed)
    bench = cv2.resize(rng.integers(70, 150, (30, 40), dtype=np.uint8), (800, 600))
    top = 60
    for piece in pieces:
        height, width = piece.shape
        bench[top : top + height, 200 : 200 + width] = piece
        top += height + 60
    corners = np.array([[0, 0], [800, 0], [800, 600], [0, 600]], np.float32)
    seen = np.array([[40, 25], [770, 0], [800, 590], [0, 600]], np.float32)
    slanted = cv2.warpPerspective(bench, cv2.getPerspectiveTransform(corners, seen), (800, 600))
    gray = cv2.GaussianBlur(slanted, (0, 0), 0.8).astype(float) * 0.8 + 20.0
    noisy = np.clip(gray + rng.normal(0.0, 4.0, gray.shape), 0, 255).astype(np.uint8)
    return np.dstack([noisy] * 3)


@pytest.fixture
def garden(book: StockBook) -> StockBook:
    varieties.add(book, "Tin Orchard")
    for number in (11, 12):
        plants.add(book, variety="Tin Orchard", since=date(2025, 10, 1), tag=number)
    daybook.enter(book, EventKind.PLANTED_OUT, on=date(2025, 11, 8), tags=[11, 12])
    return book


def test_printed_photographed_and_entered(garden: StockBook, tmp_path: Path) -> None:
    pictures = [
        on_the_bench(tied_tag(11), word_card("lifted"), seed=1),
        on_the_bench(tied_tag(12), seed=2),
        on_the_bench(word_card("lifted"), word_card("rotted"), seed=3),
    ]
    for number, picture in enumerate(pictures, start=394):
        at = NOON + timedelta(seconds=20 * number)
        photo(tmp_path, picture, at, name=f"LF350{number}")
    report = take_in(garden, [tmp_path], workers=0, now=datetime(2026, 7, 1, tzinfo=UTC))
    assert len(report.taken) == 3
    matching.match_all(garden)

    seen = [(one.photo, one.word, one.tag) for one in proposals.proposed(garden)]
    assert seen == [
        ("LF350394.jpg", "lifted", 11),
        ("LF350396.jpg", "lifted", 12),
        ("LF350396.jpg", "rotted", 12),
    ]
    assert proposals.confirm(garden).left == ()
    entries = daybook.entries(garden, first=date(2026, 5, 1))
    assert [(one.kind, one.cause, one.tags) for one in entries] == [
        (EventKind.LIFTED, None, (11,)),
        (EventKind.LIFTED, None, (12,)),
        (EventKind.LOST, LossCause.ROTTED, (12,)),
    ]
