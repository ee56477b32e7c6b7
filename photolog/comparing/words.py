"""What an interval for a ratio is called in words, by fixed rules."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

__all__ = ["NUMBER_WORDS", "SIZE_WORDS", "Word", "Words", "say"]

Word = Literal["smaller", "larger", "fewer", "more", "no clear change", "too few to say"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The words for one kind of quantity, and how wide an interval may be to say anything.

    ``widest_factor`` is the factor that the interval may reach either way from its middle and
    still be called "no clear change". Wider than that, a change that any grower would see could
    hide in it, so the honest answer is "too few to say".
    """

    down: Word
    up: Word
    widest_factor: float


SIZE_WORDS = Words(down="smaller", up="larger", widest_factor=1.25)
NUMBER_WORDS = Words(down="fewer", up="more", widest_factor=1.5)


def say(interval: tuple[float, float] | None, *, words: Words = SIZE_WORDS) -> Word:
    """The word for a ratio's 95 % interval (second season over first); None is too few to say.

    Wholly below 1 is smaller, wholly above 1 is larger. When it holds 1 it is no clear change,
    unless it reaches further than ``words.widest_factor`` either way: then too few to say.
    ``ValueError`` for an interval that is not 0 < low <= high.
    """
    if interval is None:
        return "too few to say"
    low, high = interval
    if not 0 < low <= high < float("inf"):
        msg = f"the interval of a ratio runs from low to high above zero, got {interval!r}"
        raise ValueError(msg)
    if high < 1:
        return words.down
    if low > 1:
        return words.up
    reach = (high / low) ** 0.5
    return "too few to say" if reach > words.widest_factor else "no clear change"
