"""Cards and tags to print, with the names from the stock book where there is one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from measure.card.designs import DESIGNS
from measure.card.marks import BOX_NUMBERS
from photolog.book import boxes, tags
from photolog.book.errors import Unknown, WrongEntry, WrongTag
from photolog.book.stockbook import StockBook
from photolog.prints import CannotPrint, TagSize, TagToPrint, card_pdf, tags_pdf, word_cards_pdf
from photolog.word_cards import words_named

__all__ = [
    "CardToPrint",
    "box_tags_to_print",
    "card_to_print",
    "tags_to_print",
    "word_cards_to_print",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardToPrint:
    """A card's design name and its PDF."""

    design: str
    pdf: bytes


def card_to_print(kind: str, *, printed_on: date | None = None) -> CardToPrint:
    """The newest card of a kind ("pocket", "bloom" or "bench"), ready to print.

    Raises ``Unknown`` for another kind.
    """
    of_kind = [design for design in DESIGNS if design.kind == kind]
    if not of_kind:
        kinds = ", ".join(sorted({design.kind for design in DESIGNS}))
        msg = f"There is no {kind!r} card; there are {kinds}."
        raise Unknown(msg)
    design = of_kind[-1]
    on = None if printed_on is None else printed_on.isoformat()
    return CardToPrint(design=design.name, pdf=card_pdf(design, printed_on=on))


def tags_to_print(
    numbers: Sequence[str | int],
    *,
    size: TagSize = "tied",
    book: StockBook | None = None,
    on: date | None = None,
) -> bytes:
    """Tags as PDF; with a stock book each bears the variety that holds it on that day.

    Raises ``WrongTag`` for a number that is none or whose check letter is wrong, ``WrongEntry`` for
    a name with signs that can't be printed.
    """
    wanted = [tags.parse(number) for number in numbers]
    names: dict[int, str] = {}
    if book is not None and on is not None:
        names = {
            held.number: held.variety
            for held in tags.holdings(book)
            if held.since <= on and (held.until is None or on < held.until)
        }
    printed = [TagToPrint(number=number, name=names.get(number, "")) for number in wanted]
    try:
        return tags_pdf(printed, size=size)
    except CannotPrint as trouble:
        raise WrongEntry(str(trouble)) from trouble


def box_tags_to_print(
    numbers: Sequence[int], *, size: TagSize = "stake", book: StockBook | None = None
) -> bytes:
    """Tags of boxes as PDF; with a stock book each bears what its box is called.

    Raises ``WrongTag`` for a number that no box can have, ``WrongEntry`` as ``tags_to_print``.
    """
    for number in numbers:
        if number not in BOX_NUMBERS:
            msg = f"Boxes are numbered {BOX_NUMBERS[0]} to {BOX_NUMBERS[-1]}, got {number}."
            raise WrongTag(msg)
    names = {} if book is None else {one.number: one.name for one in boxes.every(book)}
    printed = [TagToPrint(number=n, name=names.get(n, ""), box=True) for n in numbers]
    try:
        return tags_pdf(printed, size=size)
    except CannotPrint as trouble:
        raise WrongEntry(str(trouble)) from trouble


def word_cards_to_print(words: str = "") -> tuple[int, bytes]:
    """How many word cards a list of words names ("lifted, rotted"; empty: all), and their PDF.

    Raises ``Unknown`` for a word that has no card.
    """
    try:
        cards = words_named(words)
    except ValueError as trouble:
        raise Unknown(str(trouble)) from trouble
    return len(cards), word_cards_pdf(cards)
