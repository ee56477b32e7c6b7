"""Small line drawings that show how each card is held, without words."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from measure.card.designs import CardKind
from photolog.prints.sheet import Sheet

__all__ = ["DRAWING_HEIGHT", "DRAWING_WIDTH", "draw_how_to_hold"]

DRAWING_WIDTH: Final = 130.0
DRAWING_HEIGHT: Final = 50.0
"""The size that every drawing is made at; it is drawn to scale from there."""

_SIGHT = (1.2, 0.9)
_PEN = 0.35


def draw_how_to_hold(
    sheet: Sheet, kind: CardKind, *, left: float, top: float, width: float
) -> None:
    """Draw how to hold the card of this kind, ``width`` mm wide and in proportion high."""
    with sheet.moved(left, top, scale=width / DRAWING_WIDTH):
        _DRAWINGS[kind](sheet)


def _bench(sheet: Sheet) -> None:
    # From above: card and clump beside each other, both inside the picture.
    _picture_frame(sheet, 2.0, 3.0, 60.0, 44.0)
    _card_seen_flat(sheet, 5.0, 9.0, 29.0, 20.0)
    _pegged_tag(sheet, 29.0, 7.0)
    _clump_from_above(sheet, 47.5, 27.0)
    # From the side: the phone level above the bench.
    sheet.line((68.0, 46.0), (128.0, 46.0), line_mm=0.6)
    sheet.frame(71.0, 44.4, 26.0, 1.4, fill=1.0, line_mm=_PEN)
    _clump_from_the_side(sheet, 112.0, 45.8)
    sheet.line((97.5, 8.6), (69.0, 44.0), line_mm=0.25, dash_mm=_SIGHT)
    sheet.line((98.5, 8.6), (127.0, 44.0), line_mm=0.25, dash_mm=_SIGHT)
    _phone_level(sheet, 98.0, 6.0)
    sheet.arrow((98.0, 24.0), (98.0, 12.0))
    sheet.arrow((98.0, 26.0), (98.0, 42.5))


def _bloom(sheet: Sheet) -> None:
    # From the front: bloom before the upper part, board and tag below it in full view.
    _picture_frame(sheet, 2.0, 1.0, 46.0, 48.0)
    sheet.frame(10.5, 3.5, 29.0, 41.5, fill=1.0, line_mm=_PEN)
    _chequers(sheet, 12.0, 27.5, columns=9, rows=4, square=2.9)
    _pegged_tag(sheet, 30.5, 40.3)
    _bloom_face(sheet, 25.0, 14.5, 10.5)
    # The card alone: the stem's way in, and the ties.
    sheet.polygon(
        [(53.5, 8.0), (61.5, 8.0), (61.5, 22.0), (63.5, 22.0), (63.5, 8.0), (71.5, 8.0)]
        + [(71.5, 45.0), (53.5, 45.0)],
        fill=1.0,
        line_mm=_PEN,
    )
    _chequers(sheet, 54.4, 28.5, columns=9, rows=4, square=1.8)
    sheet.circle(62.5, 3.5, 1.3, fill=0.55, line_mm=_PEN)
    sheet.arrow((62.5, 5.4), (62.5, 19.5))
    # From the side: phone, bloom, card, stem through the slot, cane behind.
    sheet.line((76.0, 47.5), (128.0, 47.5), line_mm=0.6)
    sheet.line((118.2, 5.0), (118.2, 47.5), line_mm=1.5, grey=0.45)
    _stem(sheet)
    sheet.frame(115.2, 4.0, 1.4, 37.0, fill=1.0, line_mm=_PEN)
    for y in (18.5, 39.0):
        sheet.frame(114.7, y, 4.6, 1.2, fill=0.0, line_mm=0.1)
    _bloom_side(sheet, 114.8, 13.5, 10.0)
    _phone_upright(sheet, 80.0, 20.0)
    sheet.line((82.2, 20.0), (114.6, 2.6), line_mm=0.25, dash_mm=_SIGHT)
    sheet.line((82.2, 20.0), (114.6, 42.0), line_mm=0.25, dash_mm=_SIGHT)


def _pocket(sheet: Sheet) -> None:
    # A small bloom: card upright beside it, level with its widest petals.
    _picture_frame(sheet, 2.0, 3.0, 46.0, 44.0)
    sheet.frame(6.0, 7.0, 20.0, 28.0, fill=1.0, line_mm=_PEN)
    _chequers(sheet, 7.0, 22.5, columns=5, rows=4, square=2.8)
    _pegged_tag(sheet, 7.0, 5.0)
    sheet.line((37.0, 24.0), (36.0, 34.0), (37.5, 47.0), line_mm=0.9, grey=0.45)
    _bloom_face(sheet, 37.0, 24.0, 9.0)
    # The same from the side.
    _phone_upright(sheet, 54.0, 22.0)
    sheet.line((56.2, 22.0), (77.6, 6.0), line_mm=0.25, dash_mm=_SIGHT)
    sheet.line((56.2, 22.0), (77.6, 40.0), line_mm=0.25, dash_mm=_SIGHT)
    sheet.line((81.0, 22.0), (84.0, 30.0), (84.5, 47.0), line_mm=0.9, grey=0.45)
    _bloom_side(sheet, 81.0, 22.0, 8.5)
    sheet.frame(78.0, 8.0, 1.1, 30.0, fill=1.0, line_mm=_PEN)
    # Seeds: card and seeds flat on a sheet of paper.
    _picture_frame(sheet, 91.0, 3.0, 37.0, 44.0)
    sheet.frame(94.0, 7.0, 17.0, 24.0, fill=1.0, line_mm=_PEN)
    _chequers(sheet, 95.0, 20.0, columns=5, rows=4, square=2.4)
    _pegged_tag(sheet, 95.0, 5.0)
    for i in range(14):
        x = 115.5 + 2.9 * (i % 4) + 0.7 * math.sin(5.0 * i)
        _seed(sheet, x, 18.0 + 4.6 * (i // 4) + 1.1 * math.cos(3.0 * i), turn=2.4 * i)


_DRAWINGS: dict[CardKind, Callable[[Sheet], None]] = {
    "pocket": _pocket,
    "bloom": _bloom,
    "bench": _bench,
}


def _picture_frame(sheet: Sheet, left: float, top: float, width: float, height: float) -> None:
    """What the phone's picture takes in: the four angles of a frame."""
    arm = 5.0
    for x, right in ((left, 1.0), (left + width, -1.0)):
        for y, down in ((top, 1.0), (top + height, -1.0)):
            sheet.line((x + right * arm, y), (x, y), (x, y + down * arm), line_mm=0.6)


def _chequers(
    sheet: Sheet, left: float, top: float, *, columns: int, rows: int, square: float
) -> None:
    sheet.fill_rects(
        [
            (left + c * square, top + r * square, square, square)
            for r in range(rows)
            for c in range(columns)
            if (r + c) % 2 == 0
        ]
    )


def _card_seen_flat(sheet: Sheet, left: float, top: float, width: float, height: float) -> None:
    sheet.frame(left, top, width, height, fill=1.0, line_mm=_PEN)
    _chequers(sheet, left + 1.0, top + 1.0, columns=8, rows=5, square=width * 0.087)


def _pegged_tag(sheet: Sheet, left: float, top: float) -> None:
    """A tag with its two marks, held by a clothes peg."""
    sheet.frame(left, top + 1.2, 8.4, 4.4, fill=1.0, line_mm=_PEN)
    sheet.fill_rects([(left + 1.6, top + 2.0, 2.2, 2.2), (left + 4.6, top + 2.0, 2.2, 2.2)])
    sheet.polygon(
        [
            (left + 3.5, top - 1.6),
            (left + 4.9, top - 1.6),
            (left + 4.6, top + 1.8),
            (left + 3.8, top + 1.8),
        ],
        fill=0.6,
        line_mm=0.25,
    )


def _clump_from_above(sheet: Sheet, x: float, y: float) -> None:
    for turn, length in ((0.2, 11.5), (1.15, 13.5), (2.0, 11.0), (2.9, 12.0), (3.9, 11.5)):
        _tuber(sheet, x, y, turn=turn, length=length)
    for turn, length in ((4.7, 13.0), (5.5, 11.5)):
        _tuber(sheet, x, y, turn=turn, length=length)
    sheet.circle(x, y, 2.6, fill=0.75, line_mm=_PEN)
    sheet.circle(x, y, 1.3, fill=1.0, line_mm=_PEN)


def _tuber(sheet: Sheet, x: float, y: float, *, turn: float, length: float) -> None:
    """One tuber lying away from (x, y): a thin neck, a fat body, a pointed end."""
    half_widths = (0.7, 0.8, 1.7, 2.3, 2.2, 1.4, 0.3)
    shares = (0.12, 0.26, 0.42, 0.58, 0.74, 0.9, 1.0)
    sides = [
        [(s * length, sign * w) for s, w in zip(shares, half_widths, strict=True)]
        for sign in (1.0, -1.0)
    ]
    cos, sin = math.cos(turn), math.sin(turn)
    outline = sides[0] + sides[1][::-1]
    points = [(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in outline]
    sheet.polygon(points, fill=0.88, line_mm=_PEN)


def _clump_from_the_side(sheet: Sheet, x: float, ground: float) -> None:
    for turn in (math.pi - 0.12, 0.12, math.pi - 0.5, 0.5):
        _tuber(
            sheet,
            x,
            ground - 3.0,
            turn=-turn if 0.3 < turn < 2.8 else 0.0 if turn < 1 else math.pi,
            length=12.0,
        )
    sheet.frame(x - 1.5, ground - 10.0, 3.0, 7.0, fill=0.75, line_mm=_PEN)


def _bloom_face(sheet: Sheet, x: float, y: float, radius: float) -> None:
    for ring, (share, petals) in enumerate(((1.0, 14), (0.72, 12), (0.44, 9))):
        for i in range(petals):
            turn = 2.0 * math.pi * (i + 0.5 * ring) / petals
            _petal(sheet, x, y, turn=turn, length=radius * share, width=radius * share * 0.36)
    sheet.circle(x, y, radius * 0.16, fill=0.8, line_mm=0.25)


def _petal(sheet: Sheet, x: float, y: float, *, turn: float, length: float, width: float) -> None:
    cos, sin = math.cos(turn), math.sin(turn)
    shape = [(0.1, 0.1), (0.55, 0.45), (0.8, 0.42), (0.94, 0.22), (1.0, 0.0)]
    outline = shape + [(a, -b) for a, b in shape[::-1]]
    points = [
        (x + a * length * cos - b * width * sin, y + a * length * sin + b * width * cos)
        for a, b in outline
    ]
    sheet.polygon(points, fill=1.0, line_mm=0.25)


def _bloom_side(sheet: Sheet, back: float, y: float, radius: float) -> None:
    """A bloom seen from the side, its face to the left and its back at x = ``back``."""
    for share in (1.0, 0.72, 0.42):
        height, depth = radius * share, radius * (0.28 + 0.55 * (1.0 - share))
        for sign in (-1.0, 1.0):
            sheet.polygon(
                [
                    (back, y),
                    (back - depth * 0.35, y + sign * height * 0.75),
                    (back - depth - 1.2, y + sign * height),
                    (back - depth * 1.15 - 1.0, y + sign * height * 0.5),
                    (back - depth * 0.9 - 1.0, y),
                ],
                fill=1.0,
                line_mm=0.3,
            )


def _stem(sheet: Sheet) -> None:
    points = [(114.8, 13.5), (119.5, 14.0), (122.5, 17.0), (123.8, 24.0), (124.2, 47.5)]
    sheet.line(*points, line_mm=1.1, grey=0.45)
    sheet.polygon([(124.0, 33.0), (127.5, 28.5), (128.2, 32.5)], fill=0.8, line_mm=0.25)


def _phone_level(sheet: Sheet, x: float, y: float) -> None:
    """A phone held flat, seen from its edge, its lens underneath."""
    sheet.frame(x - 9.0, y, 18.0, 1.8, fill=0.25, line_mm=0.2, round_mm=0.6)
    sheet.frame(x - 1.0, y + 1.8, 2.0, 0.7, fill=0.0, line_mm=0.1)
    _thumb(sheet, x + 8.0, y + 0.9, side=1.0)


def _phone_upright(sheet: Sheet, x: float, y: float) -> None:
    """A phone held upright, seen from its edge, its lens to the right."""
    sheet.frame(x, y - 8.0, 1.7, 16.0, fill=0.25, line_mm=0.2, round_mm=0.6)
    sheet.frame(x + 1.7, y - 1.0, 0.7, 2.0, fill=0.0, line_mm=0.1)


def _thumb(sheet: Sheet, x: float, y: float, *, side: float) -> None:
    sheet.polygon(
        [
            (x, y - 1.9),
            (x + side * 4.0, y - 2.6),
            (x + side * 9.0, y - 2.0),
            (x + side * 9.0, y + 3.0),
            (x + side * 4.0, y + 2.6),
            (x, y + 1.9),
            (x - side * 0.8, y + 1.2),
            (x - side * 0.8, y - 1.2),
        ],
        fill=1.0,
        line_mm=0.3,
    )


def _seed(sheet: Sheet, x: float, y: float, *, turn: float) -> None:
    cos, sin = math.cos(turn), math.sin(turn)
    outline = [(-1.6, 0.0), (-0.6, 0.55), (0.9, 0.6), (1.6, 0.0), (0.9, -0.6), (-0.6, -0.55)]
    sheet.polygon(
        [(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in outline],
        fill=0.3,
        line_mm=0.15,
    )
