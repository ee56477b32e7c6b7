"""Word cards by the sheet: a mark, and one word of the day book in letters read at arm's length."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from photolog.prints.marks import draw_mark
from photolog.prints.sheet import A4_PORTRAIT_MM, Sheet
from photolog.word_cards import WordCard

__all__ = [
    "CARD_HEIGHT_MM",
    "CARD_WIDTH_MM",
    "WORD_MARK_MM",
    "mark_place_mm",
    "word_card_places_mm",
    "word_cards_pdf",
]

WORD_MARK_MM: Final = 30.0
CARD_WIDTH_MM: Final = 98.0
CARD_HEIGHT_MM: Final = 44.0

# The end for hole, ring or thumb; a mark is read only with its white margin, so it stands clear.
_STRIP_MM = 13.0
_HOLE_MM = 6.0
_MARGIN_MM = 5.0
_LARGEST_MM, _SMALLEST_MM = 15.0, 7.0
_LEADING = 1.12
# Capitals of this lettering are so high, in its type size.
_CAPITALS = 0.73
_COLUMNS, _ROWS = 2, 6


def word_cards_pdf(words: Sequence[WordCard]) -> bytes:
    """Sheets of word cards on A4, twelve to a sheet; the same words give the same bytes.

    Raises ``ValueError`` where there are no words.
    """
    if not words:
        msg = "no word cards to print: give at least one word"
        raise ValueError(msg)
    places = word_card_places_mm()
    sheet = Sheet(A4_PORTRAIT_MM, title="Word cards")
    for i, card in enumerate(words):
        if i and i % len(places) == 0:
            sheet.next_page()
        if i % len(places) == 0:
            _advice(sheet)
        left, top = places[i % len(places)]
        _card(sheet, card, left=left, top=top)
    return sheet.finish()


def word_card_places_mm() -> list[tuple[float, float]]:
    """Top-left corners of the cards on a sheet, in mm, in the order they are filled."""
    page_width, page_height = A4_PORTRAIT_MM
    left = (page_width - _COLUMNS * CARD_WIDTH_MM) / 2
    top = (page_height - _ROWS * CARD_HEIGHT_MM) / 2
    return [
        (left + column * CARD_WIDTH_MM, top + row * CARD_HEIGHT_MM)
        for row in range(_ROWS)
        for column in range(_COLUMNS)
    ]


def mark_place_mm() -> tuple[float, float]:
    """Top-left corner of the mark on a card, in mm from the card's own."""
    return _STRIP_MM + _MARGIN_MM, (CARD_HEIGHT_MM - WORD_MARK_MM) / 2


def _advice(sheet: Sheet) -> None:
    middle = A4_PORTRAIT_MM[0] / 2
    sheet.text(
        middle,
        7.5,
        "Matt paper, full size (100 %). Cut on the lines, stick to card; hole, ring and thumb stay "
        "outside the thin line.",
        size_mm=2.8,
        align="middle",
    )
    sheet.text(
        middle,
        12.0,
        "Photograph a card together with the plant's tag, or in the very next photo after the "
        "tag's.",
        size_mm=2.8,
        align="middle",
    )


def _card(sheet: Sheet, card: WordCard, *, left: float, top: float) -> None:
    sheet.frame(left, top, CARD_WIDTH_MM, CARD_HEIGHT_MM, line_mm=0.1, grey=0.5)
    with sheet.moved(left, top):
        sheet.line((_STRIP_MM, 2.0), (_STRIP_MM, CARD_HEIGHT_MM - 2.0), line_mm=0.1, grey=0.6)
        sheet.circle(_STRIP_MM / 2, CARD_HEIGHT_MM / 2, _HOLE_MM / 2, line_mm=0.15, grey=0.4)
        mark_left, mark_top = mark_place_mm()
        draw_mark(sheet, card.mark, left=mark_left, top=mark_top, side_mm=WORD_MARK_MM)
        _word(sheet, card.word, left=mark_left + WORD_MARK_MM + _MARGIN_MM)


def _word(sheet: Sheet, word: str, *, left: float) -> None:
    """The word beside the mark, as large as there is room for, on as many lines as that takes."""
    room = CARD_WIDTH_MM - 3.0 - left
    size = _LARGEST_MM
    while size > _SMALLEST_MM:
        lines = sheet.broken(word, width_mm=room, size_mm=size, bold=True)
        widest = max(sheet.text_width(line, size_mm=size, bold=True) for line in lines)
        if widest <= room and len(lines) * _LEADING * size <= WORD_MARK_MM + 2.0:
            break
        size = round(size - 0.1, 1)
    lines = sheet.broken(word, width_mm=room, size_mm=size, bold=True)
    first = CARD_HEIGHT_MM / 2 + (_CAPITALS - (len(lines) - 1) * _LEADING) * size / 2
    for i, line in enumerate(lines):
        sheet.text(left, first + i * _LEADING * size, line, size_mm=size, bold=True)
