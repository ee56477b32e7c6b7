"""What moved when photos were matched anew: which found their plant, changed it, or wait again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from photolog.book.stock import StockRef

__all__ = ["Belongs", "Move", "Moves"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Belongs:
    """One thing that a photo belongs to: a plant or batch with the tag of that day, or a box.

    ``stock`` None: a box, and ``box`` is its number.
    """

    stock: StockRef | None
    tag: int | None
    name: str
    box: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A photo that stands otherwise than before: ``was`` and ``now`` are what it belonged to.

    Empty: it waited, or waits. ``by_hand``: the grower decided it, or took that back.
    """

    photo_id: int
    photo: str
    was: tuple[Belongs, ...]
    now: tuple[Belongs, ...]
    waits: bool
    waited: bool
    by_hand: bool = False

    @property
    def how(self) -> Literal["found", "moved", "waits"]:
        """It found its plant after waiting, went to another, or waits again."""
        if self.waits:
            return "waits"
        return "found" if self.waited else "moved"


@dataclass(frozen=True, slots=True, kw_only=True)
class Moves:
    """Everything that moved, by photo; what was decided by hand never moves by itself."""

    moves: tuple[Move, ...] = field(default=())

    def __iter__(self) -> Iterator[Move]:
        return iter(self.moves)

    def __len__(self) -> int:
        return len(self.moves)

    @property
    def found(self) -> tuple[Move, ...]:
        """Those that no longer wait."""
        return tuple(one for one in self.moves if one.how == "found")

    @property
    def moved(self) -> tuple[Move, ...]:
        """Those that went from one plant to another."""
        return tuple(one for one in self.moves if one.how == "moved")

    @property
    def waiting(self) -> tuple[Move, ...]:
        """Those that wait again."""
        return tuple(one for one in self.moves if one.how == "waits")
