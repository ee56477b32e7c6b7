"""Sheets of word cards: measured and read in the raster."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest

from measure.card.finding import read_marks
from photolog.prints.word_cards import (
    CARD_HEIGHT_MM,
    CARD_WIDTH_MM,
    mark_place_mm,
    word_card_places_mm,
    word_cards_pdf,
)
from photolog.word_cards import WORD_CARDS
from tests.prints.rasters import black_run_mm, page_count, page_size_mm, raster


def test_the_mark_is_30_mm_both_ways() -> None:
    picture = raster(word_cards_pdf(WORD_CARDS[:1]), px_per_mm=20.0)
    left, top = word_card_places_mm()[0]
    mark_left, mark_top = mark_place_mm()
    row = picture[round((top + mark_top + 0.5) * 20), : round((left + CARD_WIDTH_MM) * 20)]
    start, end = black_run_mm(row, px_per_mm=20.0)
    assert start == pytest.approx(left + mark_left, abs=0.1)
    assert end - start == pytest.approx(30.0, abs=0.1)
    column = picture[: round((top + CARD_HEIGHT_MM) * 20), round((left + mark_left + 0.5) * 20)]
    start, end = black_run_mm(column, px_per_mm=20.0)
    assert end - start == pytest.approx(30.0, abs=0.1)


def test_every_card_is_read_as_its_word_from_the_sheet() -> None:
    pdf = word_cards_pdf(WORD_CARDS)
    assert page_count(pdf) == 3
    assert page_size_mm(pdf) == pytest.approx((210.0, 297.0), abs=0.01)
    read: list[int] = []
    for page in range(3):
        gray = raster(pdf, page=page, px_per_mm=5.0)
        seen = read_marks(np.ascontiguousarray(np.dstack([gray] * 3)))
        assert seen.strangers == ()
        assert seen.tags == ()
        # From the top, and along a row from the left, as they are laid out.
        places = {
            (round(word.corners[0, 1] / 5.0 / CARD_HEIGHT_MM), word.corners[0, 0]): word.mark
            for word in seen.words
        }
        read += [places[key] for key in sorted(places)]
    assert read == [card.mark for card in WORD_CARDS]


def test_the_words_stand_beside_the_marks_and_inside_their_cards() -> None:
    pdf = word_cards_pdf(WORD_CARDS)
    document = pypdfium2.PdfDocument(pdf)
    per_mm = 72.0 / 25.4
    for i, card in enumerate(WORD_CARDS):
        page, place = divmod(i, 12)
        left, top = word_card_places_mm()[place]
        right_of_mark = left + mark_place_mm()[0] + 30.0 + 30.0 / 8
        text = document[page].get_textpage()
        words = text.get_text_bounded(
            left=right_of_mark * per_mm,
            right=(left + CARD_WIDTH_MM - 2.0) * per_mm,
            top=(297.0 - top - 2.0) * per_mm,
            bottom=(297.0 - top - CARD_HEIGHT_MM + 2.0) * per_mm,
        )
        text.close()
        assert " ".join(words.split()) == card.word
    document.close()


def test_the_same_words_give_the_same_bytes() -> None:
    assert word_cards_pdf(WORD_CARDS) == word_cards_pdf(WORD_CARDS)
    assert word_cards_pdf(WORD_CARDS) != word_cards_pdf(WORD_CARDS[:3])


def test_no_words_are_refused() -> None:
    with pytest.raises(ValueError, match="give at least one word"):
        word_cards_pdf([])
