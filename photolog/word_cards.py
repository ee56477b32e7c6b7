"""The word cards: each word of the day book that has one, and its mark, bound for ever.

A printed card outlives the program that printed it, so a row here is never changed, moved or used
again for another word: further words are added at the end, with the next mark.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType

from photolog.terms import EventKind, LossCause

__all__ = ["WORD_CARDS", "WordCard", "word_of_mark", "words_named"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WordCard:
    """One word card: its mark (of 200 to 259), the word printed on it, and the entry it means."""

    mark: int
    word: str
    kind: EventKind
    cause: LossCause | None = None


def _card(
    mark: int, kind: EventKind, *, cause: LossCause | None = None, word: str = ""
) -> WordCard:
    return WordCard(mark=mark, word=word or (cause or kind).value, kind=kind, cause=cause)


WORD_CARDS: tuple[WordCard, ...] = (
    _card(200, EventKind.LIFTED),
    _card(201, EventKind.WASHED),
    _card(202, EventKind.TRIMMED),
    _card(203, EventKind.DRIED),
    _card(204, EventKind.TREATED),
    _card(205, EventKind.STORED),
    _card(206, EventKind.CHECKED),
    _card(207, EventKind.LOST, cause=LossCause.ROTTED),
    _card(208, EventKind.LOST, cause=LossCause.DRIED_OUT),
    _card(209, EventKind.LOST, cause=LossCause.FROSTED),
    _card(210, EventKind.LOST, cause=LossCause.EATEN),
    _card(211, EventKind.LOST, cause=LossCause.LABEL_LOST),
    _card(212, EventKind.LOST, cause=LossCause.OTHER, word="lost"),
    _card(213, EventKind.ROGUED, cause=LossCause.VIRUS),
    _card(214, EventKind.ROGUED, cause=LossCause.GALL),
    _card(215, EventKind.DISCARDED, word="discard"),
    _card(216, EventKind.KEPT, word="keep"),
    _card(217, EventKind.ANOTHER_YEAR),
    _card(218, EventKind.PLANTED_OUT),
    _card(219, EventKind.STAYED, word="left in the ground"),
    _card(220, EventKind.STOPPED),
    _card(221, EventKind.DISBUDDED),
    _card(222, EventKind.BUD_SECURED),
    _card(223, EventKind.FIRST_BLOOM),
    _card(224, EventKind.CUT_DOWN),
    _card(225, EventKind.POTTED),
    _card(226, EventKind.CHILLED),
    _card(227, EventKind.SOWN),
    _card(228, EventKind.PRICKED_OUT),
    _card(229, EventKind.CUTTINGS_TAKEN),
    _card(230, EventKind.ROOTED),
    _card(231, EventKind.CROSSED),
    _card(232, EventKind.POD_TAKEN),
    _card(233, EventKind.GIVEN_AWAY),
    _card(234, EventKind.SPORTED),
)
"""Every word card there is. Not among them: what needs a figure or a name beside it (weighed,
shown, renamed), what makes new plants (divided, split off), and the whole garden's first frost."""

_BY_MARK = MappingProxyType({card.mark: card for card in WORD_CARDS})


def word_of_mark(mark: int) -> WordCard | None:
    """The word card with this mark; None where a newer program printed it."""
    return _BY_MARK.get(mark)


def words_named(text: str) -> tuple[WordCard, ...]:
    """The word cards that a list of words names: ``lifted, rotted``; empty: all of them.

    Raises ``ValueError`` with the word that none has.
    """
    found = []
    for part in text.split(","):
        wanted = " ".join(part.split()).lower()
        if not wanted:
            continue
        card = next((c for c in WORD_CARDS if wanted == c.word), None)
        if card is None:
            msg = f"There is no word card {wanted!r}. There are: {', '.join(_WORDS)}."
            raise ValueError(msg)
        found.append(card)
    return tuple(found) or WORD_CARDS


_WORDS = tuple(card.word for card in WORD_CARDS)
