"""What a mistyped name or number was probably meant to be."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from difflib import SequenceMatcher

__all__ = ["did_you_mean", "fold", "nearest_names", "nearest_numbers"]


def fold(text: str) -> str:
    """A name as it is compared: without accents, capitals, curly quotes and doubled blanks.

    Only the accents of the Latin, Greek and Cyrillic scripts are taken off (U+0300 to U+036F):
    the marks of other scripts make other words.
    """
    plain = text.translate(str.maketrans("‘’ʼ´`“”", "'''''\"\""))
    spread = unicodedata.normalize("NFKD", plain)
    bare = "".join(c for c in spread if not "\u0300" <= c <= "\u036f")
    return " ".join(unicodedata.normalize("NFC", bare).casefold().split())


def nearest_names(typed: str, names: Iterable[str], *, most: int = 3) -> list[str]:
    """Names that look like what was typed, the likeliest first."""
    wanted = fold(typed)
    scored = [(_likeness(wanted, fold(name)), name) for name in names]
    near = sorted((pair for pair in scored if pair[0] >= 0.6), key=lambda pair: -pair[0])
    return [name for _, name in near[:most]]


def nearest_numbers(number: int, numbers: Iterable[int], *, most: int = 3) -> list[int]:
    """Tag numbers that differ by a figure or a swap of neighbours first, then the closest."""
    return sorted(numbers, key=lambda n: (_figures_off(number, n), abs(number - n), n))[:most]


def did_you_mean(choices: Iterable[str]) -> str:
    """Offer choices as a sentence with a blank before it; '' where there are none."""
    offered = list(choices)
    return f" Did you mean {' or '.join(offered)}?" if offered else ""


def _likeness(wanted: str, name: str) -> float:
    if wanted and wanted in name:
        return 1.0
    whole = SequenceMatcher(None, wanted, name).ratio()
    # Part of a longer name may have been typed: 'Pocket 29' for 'Larkfield Pocket 28'.
    words, length = name.split(), len(wanted.split())
    parts = (" ".join(words[i : i + length]) for i in range(1 + len(words) - length))
    in_part = max((SequenceMatcher(None, wanted, part).ratio() for part in parts), default=0.0)
    return max(whole, 0.9 * in_part)


def _figures_off(a: int, b: int) -> int:
    x, y = f"{a:04d}", f"{b:04d}"
    off = [i for i in range(4) if x[i] != y[i]]
    swapped = len(off) == 2 and off[1] == off[0] + 1 and x[off[0]] == y[off[1]]
    if swapped and x[off[1]] == y[off[0]]:
        return 1
    return len(off)
