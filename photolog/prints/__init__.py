"""Cards, tags and word cards as PDF, at exact size, the same bytes every time."""

from photolog.prints.card import card_pdf, card_place_mm
from photolog.prints.tags import CannotPrint, TagSize, TagToPrint, tags_pdf
from photolog.prints.word_cards import word_cards_pdf

__all__ = [
    "CannotPrint",
    "TagSize",
    "TagToPrint",
    "card_pdf",
    "card_place_mm",
    "tags_pdf",
    "word_cards_pdf",
]
