"""Cards and tags as PDF, at exact size, the same bytes every time."""

from photolog.prints.card import card_pdf, card_place_mm
from photolog.prints.tags import CannotPrint, TagSize, TagToPrint, tags_pdf

__all__ = ["CannotPrint", "TagSize", "TagToPrint", "card_pdf", "card_place_mm", "tags_pdf"]
