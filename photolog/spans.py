"""Numbers in a row written short, and read again: ``3, 7-9``."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import pairwise

__all__ = ["numbers_in", "spans"]

# More than any stock book has photos; and what one number may be, so that a table can hold it.
_MOST = 1_000_000
_LARGEST = 10**15
_SPAN = re.compile(r"(\d+)(?:-(\d+))?")


def spans(numbers: Iterable[int], *, sep: str = ", ") -> str:
    """Numbers as they can be typed again: ``3, 7-9``."""
    ordered = sorted(numbers)
    parts: list[list[int]] = [[ordered[0]]] if ordered else []
    for before, number in pairwise(ordered):
        if number == before + 1:
            parts[-1].append(number)
        else:
            parts.append([number])
    return sep.join(str(p[0]) if len(p) == 1 else f"{p[0]}-{p[-1]}" for p in parts)


def numbers_in(text: str, *, of: str) -> list[int]:
    """The numbers in ``3, 7-9``; ``ValueError`` says which part is none ``of`` these."""
    numbers: list[int] = []
    for part in re.split(r"[,\s]+", text.strip()):
        span = _SPAN.fullmatch(part)
        if span is None:
            msg = f"{part!r} is no number of {of}: write 3, 3-9, or 3,5,7-9"
            raise ValueError(msg)
        first, last = int(span[1]), int(span[2] or span[1])
        if first > last:
            msg = f"{part!r} runs backwards: write the smaller number first"
            raise ValueError(msg)
        if last >= _LARGEST or last - first >= _MOST:
            msg = f"{part!r} is too large for numbers of {of}: look at it again"
            raise ValueError(msg)
        numbers += range(first, last + 1)
    return numbers
