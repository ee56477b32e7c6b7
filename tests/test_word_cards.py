"""The word cards' marks never change, since printed cards outlive the program."""

from __future__ import annotations

import pytest

from measure.card.marks import WORD_MARKS
from photolog.terms import EventKind, LossCause
from photolog.word_cards import WORD_CARDS, word_of_mark, words_named

# As first printed. Further words are added at the end; a line here is never changed.
PRINTED = {
    200: ("lifted", "lifted", None),
    201: ("washed", "washed", None),
    202: ("trimmed", "trimmed", None),
    203: ("dried", "dried", None),
    204: ("treated", "treated", None),
    205: ("stored", "stored", None),
    206: ("checked", "checked", None),
    207: ("rotted", "lost", "rotted"),
    208: ("dried out", "lost", "dried out"),
    209: ("frosted", "lost", "frosted"),
    210: ("eaten", "lost", "eaten"),
    211: ("label lost", "lost", "label lost"),
    212: ("lost", "lost", "other"),
    213: ("virus", "rogued", "virus"),
    214: ("gall", "rogued", "gall"),
    215: ("discard", "discarded", None),
    216: ("keep", "kept", None),
    217: ("another year", "another year", None),
    218: ("planted out", "planted out", None),
    219: ("left in the ground", "stayed in the ground", None),
    220: ("stopped", "stopped", None),
    221: ("disbudded", "disbudded", None),
    222: ("bud secured", "bud secured", None),
    223: ("first bloom", "first bloom", None),
    224: ("cut down", "cut down", None),
    225: ("potted", "potted", None),
    226: ("chilled", "chilled", None),
    227: ("sown", "sown", None),
    228: ("pricked out", "pricked out", None),
    229: ("cuttings taken", "cuttings taken", None),
    230: ("rooted", "rooted", None),
    231: ("crossed", "crossed", None),
    232: ("pod taken", "pod taken", None),
    233: ("given away", "given away", None),
    234: ("sported", "sported", None),
}


def test_what_was_printed_means_the_same_for_ever() -> None:
    now = {card.mark: (card.word, card.kind.value, card.cause) for card in WORD_CARDS}
    assert {mark: now.get(mark) for mark in PRINTED} == PRINTED


def test_no_mark_and_no_word_is_given_twice() -> None:
    assert len({card.mark for card in WORD_CARDS}) == len(WORD_CARDS)
    assert len({card.word for card in WORD_CARDS}) == len(WORD_CARDS)
    assert len({(card.kind, card.cause) for card in WORD_CARDS}) == len(WORD_CARDS)
    assert {card.mark for card in WORD_CARDS} <= set(WORD_MARKS)


def test_every_loss_has_a_card() -> None:
    assert {card.cause for card in WORD_CARDS} - {None} == set(LossCause)


def test_words_are_found_by_mark_and_by_name() -> None:
    rotted = word_of_mark(207)
    assert rotted is not None
    assert (rotted.kind, rotted.cause) == (EventKind.LOST, LossCause.ROTTED)
    assert word_of_mark(259) is None
    assert [card.mark for card in words_named("lifted, Dried  out,")] == [200, 208]
    assert words_named("") == WORD_CARDS
    with pytest.raises(ValueError, match=r"no word card 'danced'\. There are: lifted, washed"):
        words_named("danced")
