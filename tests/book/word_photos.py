"""Photos of tags and word cards entered in a book as if they had been read, for the tests."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from photolog.book import StockBook
from photolog.word_cards import words_named
from tests.records import factories


class WordShoot:
    """Photos that one camera takes one after the other, with what was read in each."""

    def __init__(self, book: StockBook, at: datetime, *, first: int = 1) -> None:
        self.book = book
        self.at = at
        self.number = first - 1
        with book.writing() as session:
            self.camera = factories.camera(session).id

    def shot(
        self,
        *,
        tags: tuple[int, ...] = (),
        boxes: tuple[int, ...] = (),
        words: str = "",
        after_s: float = 20.0,
    ) -> str:
        """Take one photo with these tags and words, and return its name."""
        self.at += timedelta(seconds=after_s)
        self.number += 1
        name = f"LF{self.number:06d}.jpg"
        marks: dict[str, Any] = {
            "cards": [],
            "tags": [
                {"number": tag, "half": None, "corners": [], "side_px": 200.0, "pegged": False}
                for tag in tags
            ],
            "words": [
                {"mark": card.mark, "corners": [], "side_px": 260.0}
                for card in (words_named(words) if words else ())
            ],
            "boxes": [{"number": box, "corners": [], "side_px": 200.0} for box in boxes],
            "strangers": [],
            "sharpness_px": None,
        }
        with self.book.writing() as session:
            factories.photo(
                session,
                original_name=name,
                taken_at=self.at,
                camera_id=self.camera,
                width_px=1600,
                height_px=1200,
                marks=marks,
            )
        return name
