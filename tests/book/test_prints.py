"""Cards and tags as the book has them printed."""

from __future__ import annotations

from datetime import date

import pypdfium2
import pytest

from photolog.book import StockBook, plants, tags, varieties
from photolog.book.errors import Unknown, WrongEntry, WrongTag
from photolog.book.prints import card_to_print, tags_to_print

PUT_ON = date(2023, 11, 4)
HANDED_ON = date(2024, 10, 30)


def words_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(pdf)
    words: str = document[0].get_textpage().get_text_range()
    document.close()
    return " ".join(words.split())


def test_tag_bears_the_variety_that_holds_it_on_the_day(book: StockBook) -> None:
    for name in ("Old Harbour Moth", "Tía Farola"):
        varieties.add(book, name)
    plants.add(book, variety="Old Harbour Moth", tag=16, since=PUT_ON)
    farola = plants.add(book, variety="Tía Farola", since=HANDED_ON)
    tags.hand_on(book, 16, to=farola.ref, on=HANDED_ON)

    before = words_of(tags_to_print(["0016-K"], book=book, on=date(2024, 10, 29)))
    after = words_of(tags_to_print([16], book=book, on=HANDED_ON))

    assert "Moth" in before
    assert "Farola" not in before
    assert "Farola" in after
    assert "Moth" not in after


def test_name_that_cannot_be_printed_is_a_sentence(book: StockBook) -> None:
    varieties.add(book, "黒蝶")
    plants.add(book, variety="黒蝶", tag=12, since=PUT_ON)

    with pytest.raises(
        WrongEntry, match="Tag 0012: the name '黒蝶' has signs that can't be printed"
    ):
        tags_to_print([12], book=book, on=HANDED_ON)


def test_wrong_check_letter_prints_nothing() -> None:
    with pytest.raises(WrongTag, match="0016"):
        tags_to_print(["0016-L"])


def test_card_of_each_kind_names_its_design() -> None:
    for kind in ("pocket", "bloom", "bench"):
        printed = card_to_print(kind, printed_on=date(2026, 5, 2))
        assert printed.design in words_of(printed.pdf)
        assert "2026-05-02" in words_of(printed.pdf)


def test_unknown_kind_is_refused_with_the_known_ones() -> None:
    with pytest.raises(Unknown, match="no 'wall' card; there are bench, bloom, pocket"):
        card_to_print("wall")
