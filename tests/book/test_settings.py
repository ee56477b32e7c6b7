"""Settings with their defaults and bounds, and the grower's own words."""

from __future__ import annotations

import pytest

from photolog.book import StockBook, settings
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.settings import SETTINGS
from photolog.book.wording import WORDS, in_your_words


def test_every_default_is_one_that_could_be_set(book: StockBook) -> None:
    for name, one in SETTINGS.items():
        assert one.read(str(one.default)) == one.default, name
        assert one.about.endswith("."), name
    assert settings.every(book) == {name: one.default for name, one in SETTINGS.items()}


def test_what_is_set_stays_set(book: StockBook) -> None:
    settings.put(book, "match_threshold", 0.95)
    settings.put(book, "match_threshold", "0.97")
    settings.put(book, "word.tag", "label")
    book.close()
    with StockBook.open(book.folder) as again:
        assert settings.get(again, "match_threshold") == 0.97
        assert settings.get(again, "word.tag") == "label"
        assert settings.get(again, "tag_shot") == SETTINGS["tag_shot"].default


@pytest.mark.parametrize(
    ("name", "value", "said"),
    [
        ("match_threshold", 1.5, "can't be 1.5: it is a number from 0.5 to 1"),
        ("match_threshold", "high", "can't be 'high': it is a number from 0.5 to 1"),
        ("match_threshold", "nan", "can't be 'nan': it is a number from 0.5 to 1"),
        ("tag_shot", "never", "can't be 'never': it is one of: .*before, after"),
        ("word.tag", "sticker", "it is one of: tag, label"),
    ],
)
def test_bad_values_are_said(book: StockBook, name: str, value: object, said: str) -> None:
    with pytest.raises(WrongEntry, match=said):
        settings.put(book, name, value)
    assert settings.get(book, name) == SETTINGS[name].default


def test_an_unknown_setting_offers_the_nearest(book: StockBook) -> None:
    with pytest.raises(
        Unknown, match=r"no setting 'match_treshold'\. Did you mean match_threshold"
    ):
        settings.get(book, "match_treshold")


def test_each_word_has_a_setting_and_the_programs_own_comes_first() -> None:
    for term, choices in WORDS.items():
        assert choices[0] == term
        assert SETTINGS[f"word.{term}"].default == term


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Tag 0012-K: no tags read.", "Label 0012-K: no labels read."),
        ("40 pot tubers", "40 pot roots"),
        ("stage and montage stay", "stage and montage stay"),
        ("stopped on 2025-12-01", "pinched on 2025-12-01"),
    ],
)
def test_the_growers_words_in_place_of_ours(text: str, said: str) -> None:
    chosen = {"tag": "label", "pot tuber": "pot root", "stopped": "pinched"}
    assert in_your_words(text, chosen) == said
    assert in_your_words(text, {term: term for term in WORDS}) == text
