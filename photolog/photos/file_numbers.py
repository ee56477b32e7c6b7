"""The number that a camera counted into a file's name, and counting past its end."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import PurePath

__all__ = ["CountedSpan", "FileNumber", "file_number"]

_COUNTED = re.compile(r"(\D*)(\d{3,7})(?!\d)")
_COUNTER_DIGITS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class FileNumber:
    """``LF350394``: counted as ``LF``, number 350394, of six digits.

    The last four digits are the counter: 0001 (in some cameras 0000) follows 9999, while what
    stands before it stays.
    """

    counted_as: str
    number: int
    digits: int

    @property
    def cycle(self) -> int:
        """After how many photos the same number comes again."""
        return int("9" * min(self.digits, _COUNTER_DIGITS))

    def may_roll_over_to(self, later: int) -> bool:
        """Whether counting on may end at a smaller number: what stands before it is the same."""
        of_counter: int = 10 ** min(self.digits, _COUNTER_DIGITS)
        return self.number // of_counter == later // of_counter


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedSpan:
    """From one number to another, both included; the last is smaller where 9999 was passed."""

    counted_as: str
    first: int
    last: int

    def __contains__(self, name: object) -> bool:
        """Whether a file of this name was counted so."""
        found = file_number(name) if isinstance(name, str) else None
        if found is None or found.counted_as != self.counted_as:
            return False
        if self.first <= self.last:
            return self.first <= found.number <= self.last
        return found.number >= self.first or found.number <= self.last


def file_number(name: str) -> FileNumber | None:
    """The number in a file's name; None where no camera counted it, as in one made of a date."""
    found = _COUNTED.match(PurePath(name).stem)
    if found is None:
        return None
    return FileNumber(counted_as=found[1], number=int(found[2]), digits=len(found[2]))
