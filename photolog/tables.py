"""Rows under a head as plain text, columns lined up."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import fill
from unicodedata import east_asian_width

__all__ = ["lines_of", "table"]


def lines_of(text: str, *, indent: int = 0) -> str:
    """A sentence broken to lines of at most 80, the first indented, the next two further in."""
    return fill(
        text,
        80,
        initial_indent=" " * indent,
        subsequent_indent=" " * (indent + 2),
        break_long_words=False,
        break_on_hyphens=False,
    )


def _width(text: str) -> int:
    return sum(2 if east_asian_width(letter) in "WF" else 1 for letter in text)


def table(head: Sequence[str], rows: Sequence[Sequence[str]], *, right: str = "") -> str:
    """Rows under a head, columns two spaces apart; columns whose letter in ``right`` is r go right.

    ``right`` has one letter a column, ``l`` or ``r``; missing letters mean left.
    """
    sides = right.ljust(len(head), "l")
    widths = [max(_width(row[i]) for row in (head, *rows)) for i in range(len(head))]

    def line(cells: Sequence[str]) -> str:
        out = [
            " " * (widths[i] - _width(cell)) + cell
            if sides[i] == "r"
            else cell + " " * (widths[i] - _width(cell))
            for i, cell in enumerate(cells)
        ]
        return "  ".join(out).rstrip()

    return "\n".join([line(head), "  ".join("-" * width for width in widths), *map(line, rows)])
