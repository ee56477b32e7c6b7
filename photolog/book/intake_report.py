"""What became of the files that were to be taken in."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

__all__ = ["IntakeReport", "Known", "Refused", "TakenIn"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """A photo that is now in the stock book; ``undated`` says why it has no date."""

    photo_id: int
    path: Path
    undated: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A file whose photo was in the stock book already.

    ``only_metadata``: the same picture in another file, as after changing its date or title.
    ``put_back``: its original was missing from the stock book's folder, and is there again.
    ``taken_over``: what the photo has from this file, since its own said nothing of it;
    ``against``: in what the two contradict each other; '' for nothing.
    """

    photo_id: int
    path: Path
    only_metadata: bool
    put_back: bool = False
    taken_over: str = ""
    against: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A file that could not be taken in: why, and what to do."""

    path: Path
    reason: str
    remedy: str


@dataclass(frozen=True, slots=True, kw_only=True)
class IntakeReport:
    """What became of every file. ``passed_over`` counts the other files in the folders."""

    taken: tuple[TakenIn, ...]
    known: tuple[Known, ...]
    refused: tuple[Refused, ...]
    passed_over: int
    seconds: float
