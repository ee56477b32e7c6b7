"""Cards and tags as PDF, at exact size, the same bytes every time."""

from photolog.prints.card import card_pdf, card_place_mm
from photolog.prints.tags import TagSize, TagToPrint, tags_pdf

__all__ = ["TagSize", "TagToPrint", "card_pdf", "card_place_mm", "tags_pdf"]
