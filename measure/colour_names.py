"""A plain word for a flower's colour, from one table of limits."""

from __future__ import annotations

import math
from typing import NamedTuple

__all__ = ["COLOUR_WORDS", "ColourWord", "word_for"]


class ColourWord(NamedTuple):
    """A word and the part of CIELAB it stands for: lightness, chroma, hue angle in degrees.

    Each limit is (from, below); a hue that runs through red is given as (330, 385).
    """

    word: str
    lightness: tuple[float, float]
    chroma: tuple[float, float]
    hue_deg: tuple[float, float]


_ANY = (0.0, 360.0)
_ALL = (-1.0, 1000.0)

COLOUR_WORDS: tuple[ColourWord, ...] = (
    # The first that fits is taken; the limits are our judgement, and no society's colour chart.
    ColourWord("near-black", (-1.0, 18.0), _ALL, _ANY),
    ColourWord("near-black", (-1.0, 26.0), (-1.0, 26.0), _ANY),
    ColourWord("white", (72.0, 1000.0), (-1.0, 9.0), _ANY),
    ColourWord("grey", _ALL, (-1.0, 6.0), _ANY),
    ColourWord("cream", (74.0, 1000.0), (-1.0, 24.0), (70.0, 115.0)),
    ColourWord("blush", (72.0, 1000.0), (-1.0, 16.0), (320.0, 430.0)),
    ColourWord("green", _ALL, _ALL, (112.0, 200.0)),
    ColourWord("yellow", (60.0, 1000.0), _ALL, (76.0, 112.0)),
    ColourWord("bronze", (-1.0, 60.0), _ALL, (62.0, 112.0)),
    ColourWord("apricot", (66.0, 1000.0), _ALL, (45.0, 76.0)),
    ColourWord("orange", (50.0, 1000.0), (34.0, 1000.0), (42.0, 76.0)),
    ColourWord("bronze", _ALL, _ALL, (44.0, 76.0)),
    ColourWord("dark red", (-1.0, 30.0), _ALL, (355.0, 408.0)),
    ColourWord("salmon", (54.0, 1000.0), _ALL, (382.0, 408.0)),
    ColourWord("red", (-1.0, 54.0), (34.0, 1000.0), (370.0, 408.0)),
    ColourWord("pink", (42.0, 1000.0), _ALL, (335.0, 408.0)),
    ColourWord("dark red", (-1.0, 42.0), _ALL, (370.0, 408.0)),
    ColourWord("lavender", (58.0, 1000.0), _ALL, (265.0, 335.0)),
    ColourWord("purple", _ALL, _ALL, (265.0, 370.0)),
    ColourWord("blue", _ALL, _ALL, (200.0, 265.0)),
)


def word_for(lab: tuple[float, float, float]) -> str:
    """The table's first word for a colour in CIELAB (D65, 2 degrees)."""
    lightness, a, b = lab
    chroma = math.hypot(a, b)
    hue = math.degrees(math.atan2(b, a)) % 360.0
    for name in COLOUR_WORDS:
        low, high = name.hue_deg
        if (
            name.lightness[0] <= lightness < name.lightness[1]
            and name.chroma[0] <= chroma < name.chroma[1]
            and (low <= hue < high or low <= hue + 360.0 < high)
        ):
            return name.word
    return "red"
