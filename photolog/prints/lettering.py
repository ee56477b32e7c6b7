"""The lettering embedded in every print, so that it looks the same on every machine."""

from __future__ import annotations

import functools
from importlib.resources import files

from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

__all__ = ["BOLD", "PLAIN", "register_lettering", "unprintable"]

PLAIN = "photolog-plain"
BOLD = "photolog-bold"

_FILES = {PLAIN: "DejaVuSans.ttf", BOLD: "DejaVuSans-Bold.ttf"}


@functools.cache
def _font(name: str) -> TTFont:
    with (files("photolog.prints") / "fonts" / _FILES[name]).open("rb") as stream:
        return TTFont(name, stream)


def register_lettering() -> None:
    """Make the two faces known to reportlab; doing it again does nothing."""
    for name in _FILES:
        pdfmetrics.registerFont(_font(name))


def unprintable(words: str) -> str:
    """The characters of ``words`` that the lettering lacks, each once, in order."""
    known = _font(PLAIN).face.charToGlyph.keys() & _font(BOLD).face.charToGlyph.keys()
    return "".join(dict.fromkeys(c for c in words if ord(c) not in known))
