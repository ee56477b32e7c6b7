"""Matching in the stock book: by tag, run, day book and order, by hand, and taking that back."""

from photolog.book.anew import MatchReport, match_all, match_anew, match_settings
from photolog.book.deciding import (
    Decided,
    TakenBack,
    decide,
    decide_along,
    decide_as_proposed,
    decide_stock,
    undo,
)
from photolog.book.moves import Belongs, Move, Moves
from photolog.book.waiting import (
    MatchedPhoto,
    WaitingCandidate,
    WaitingPhoto,
    matched,
    waiting,
)
from photolog.photos.facts import MatchSettings

__all__ = [
    "Belongs",
    "Decided",
    "MatchReport",
    "MatchSettings",
    "MatchedPhoto",
    "Move",
    "Moves",
    "TakenBack",
    "WaitingCandidate",
    "WaitingPhoto",
    "decide",
    "decide_along",
    "decide_as_proposed",
    "decide_stock",
    "match_all",
    "match_anew",
    "match_settings",
    "matched",
    "undo",
    "waiting",
]
