"""What a photo shows, and how its card was held, as the grower says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import get_args

from measure import Held
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.nearest import did_you_mean, fold, nearest_names
from photolog.book.stockbook import StockBook
from photolog.records import PhotoRow
from photolog.terms import Subject

__all__ = ["Shown", "tell"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What was said of a photo; ``name`` is its file name, ``held`` None: not told."""

    photo_id: int
    name: str
    shows: Subject
    held: str | None


def tell(book: StockBook, photo_id: int, shows: str, *, held: str | None = None) -> Shown:
    """Say what a photo shows, and how the card was held to the bloom; the next measuring uses it.

    ``held`` is "level", "behind" or "bench"; None: as it was told before, if it was. Raises
    ``Unknown`` for the photo or the word, ``WrongEntry`` for a way of holding that is none.
    """
    subject = _subject_named(shows)
    if held is not None and held not in get_args(Held):
        msg = f"The card is held: {', '.join(get_args(Held))}; not {held!r}."
        raise WrongEntry(msg)
    with book.writing() as session:
        photo = session.get(PhotoRow, photo_id)
        if photo is None:
            msg = f"There is no photo {photo_id} in the stock book."
            raise Unknown(msg)
        photo.subject, photo.subject_by_hand = subject, True
        if held is not None:
            photo.held = held
        return Shown(photo_id=photo_id, name=photo.original_name, shows=subject, held=photo.held)


def _subject_named(word: str) -> Subject:
    words = [subject.value for subject in Subject if subject is not Subject.UNKNOWN]
    for one in words:
        if fold(one) == fold(word):
            return Subject(one)
    msg = (
        f"No photo shows {word!r}.{did_you_mean(nearest_names(word, words))} "
        f"There are: {', '.join(words)}."
    )
    raise Unknown(msg)
