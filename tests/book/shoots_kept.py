"""Photos of a shoot put into a stock book as if they had been read, without drawing them."""

from __future__ import annotations

from photolog.book import StockBook
from photolog.photos.facts import PhotoFacts
from photolog.records import CameraRow
from photolog.terms import Subject
from tests.records import factories

__all__ = ["keep"]

_CARDS = {"clump": "bench-1", "bloom": "bloom-1"}
_SUBJECTS = {"clump": Subject.CLUMP, "bloom": Subject.BLOOM_FACE}


def keep(book: StockBook, *photos: PhotoFacts) -> None:
    """Rows of these photos, each under its own number."""
    with book.writing() as session:
        for photo in photos:
            if photo.camera is not None and session.get(CameraRow, photo.camera) is None:
                session.add(CameraRow(id=photo.camera, make="Larkfield", model=f"{photo.camera}"))
            marks = {
                "cards": [{"design": _CARDS[photo.shows], "px_per_mm": photo.px_per_mm}]
                if photo.shows is not None
                else [],
                "tags": [
                    {
                        "number": tag.number,
                        "half": list(tag.half) if tag.half else None,
                        "side_px": tag.side_px,
                        "pegged": tag.pegged,
                    }
                    for tag in photo.tags
                ],
                "words": [],
                "boxes": [{"number": number, "side_px": 100.0} for number in photo.boxes],
            }
            if photo.likeness is not None:
                marks["likeness"] = f"{photo.likeness:016x}"
            factories.photo(
                session,
                id=photo.photo_id,
                original_name=photo.name,
                taken_at=photo.taken_at,
                date_problem=photo.date_problem,
                camera_id=photo.camera,
                width_px=photo.longest_px,
                height_px=photo.longest_px * 3 // 4,
                marks=marks,
                subject=_SUBJECTS.get(photo.shows or "", Subject.UNKNOWN),
            )
