"""The things that the drawings are put together from: cards, blooms, clumps, phones, hands."""

from __future__ import annotations

import math
from collections.abc import Sequence

from photolog.prints.sheet import Sheet

__all__ = [
    "bloom_face",
    "bloom_side",
    "card",
    "clump_from_above",
    "clump_from_the_side",
    "cross",
    "hand",
    "hand_below",
    "leaf",
    "pegged_tag",
    "phone_aslant",
    "phone_level",
    "phone_upright",
    "picture_frame",
    "right_angle",
    "seeds",
    "sight",
    "slotted_card",
    "stem",
]

Point = tuple[float, float]

_PEN = 0.35
_THIN = 0.25

# Along the phone towards the arm, and across it: a hand that grips its end.
_FINGERS: tuple[Point, ...] = (
    (-4.6, 1.1),
    (-5.2, 1.9),
    (-4.4, 2.7),
    (0.0, 3.0),
    (4.0, 3.4),
    (11.0, 3.0),
    (11.0, -1.8),
    (5.0, -2.0),
    (2.6, 0.0),
    (1.2, 1.1),
)
_THUMB: tuple[Point, ...] = (
    (6.0, 2.0),
    (1.0, 2.6),
    (-3.2, 2.2),
    (-4.2, 1.5),
    (-3.2, 1.0),
    (1.0, 1.1),
    (5.0, 0.2),
)


def picture_frame(sheet: Sheet, left: float, top: float, width: float, height: float) -> None:
    """What the phone's picture takes in: the four angles of a frame."""
    arm = 5.0
    for x, right in ((left, 1.0), (left + width, -1.0)):
        for y, down in ((top, 1.0), (top + height, -1.0)):
            sheet.line((x + right * arm, y), (x, y), (x, y + down * arm), line_mm=0.6)


def card(
    sheet: Sheet,
    left: float,
    top: float,
    width: float,
    *,
    columns: int,
    rows: int,
    height: float,
    board_at: Point,
) -> None:
    """A card with its chequers, which take seven tenths of its width."""
    sheet.frame(left, top, width, height, fill=1.0, line_mm=_PEN)
    square = 0.72 * width / columns
    _chequers(sheet, (left + board_at[0], top + board_at[1]), columns, rows, square)


def slotted_card(
    sheet: Sheet, left: float, top: float, width: float, *, height: float, stem_to: float | None
) -> None:
    """The bloom card; the stem shows in its slot down to ``stem_to``, if given."""
    middle, half, foot = left + width / 2, 0.045 * width, top + 0.28 * height
    right, bottom = left + width, top + height
    sheet.polygon(
        [
            (left, top),
            (middle - half, top),
            (middle - half, foot),
            (middle + half, foot),
            (middle + half, top),
            (right, top),
            (right, bottom),
            (left, bottom),
        ],
        fill=1.0,
        line_mm=_PEN,
    )
    if stem_to is not None:
        sheet.line((middle, top - 4.0), (middle, stem_to), line_mm=1.1, grey=0.5)
    square = 0.9 * width / 9
    _chequers(sheet, (left + 0.05 * width, top + 0.56 * height), 9, 4, square)


def pegged_tag(sheet: Sheet, left: float, top: float, *, peg_above: bool = True) -> None:
    """A tag with its two marks, held to the card's edge by a clothes peg."""
    sheet.frame(left, top + 1.2, 8.4, 4.4, fill=1.0, line_mm=_PEN)
    sheet.fill_rects([(left + 1.6, top + 2.2, 2.2, 2.2), (left + 4.6, top + 2.2, 2.2, 2.2)])
    foot, way = (top + 2.0, -1.0) if peg_above else (top + 4.9, 1.0)
    sheet.polygon(
        [
            (left + 3.4, foot + way * 3.6),
            (left + 5.0, foot + way * 3.6),
            (left + 4.6, foot),
            (left + 3.8, foot),
        ],
        fill=0.6,
        line_mm=_THIN,
    )


def clump_from_above(sheet: Sheet, x: float, y: float) -> None:
    """A clump lying on the bench: tubers all round the crown, the stalk's cut end in its middle."""
    for turn, length in (
        (0.2, 11.5),
        (1.15, 13.5),
        (2.0, 11.0),
        (2.9, 11.0),
        (3.9, 11.0),
        (4.7, 13.0),
        (5.5, 11.5),
    ):
        _tuber(sheet, x, y, turn=turn, length=length)
    sheet.circle(x, y, 2.6, fill=0.75, line_mm=_PEN)
    sheet.circle(x, y, 1.3, fill=1.0, line_mm=_PEN)


def clump_from_the_side(sheet: Sheet, x: float, ground: float) -> None:
    """A clump standing on the bench, stalk upwards, its tubers spread to both sides."""
    crown = ground - 6.0
    for turn, length in ((math.pi - 0.2, 11.5), (0.2, 11.5), (math.pi - 0.6, 8.6), (0.6, 8.6)):
        _tuber(sheet, x, crown, turn=turn, length=length)
    _tuber(sheet, x, crown, turn=math.pi / 2, length=6.0)
    sheet.frame(x - 1.4, crown - 6.5, 2.8, 6.5, fill=1.0, line_mm=_PEN)
    mound = [(-2.8, 1.5), (-1.8, -1.2), (1.8, -1.2), (2.8, 1.5)]
    sheet.curve([(x + a, crown + b) for a, b in mound], fill=0.75, line_mm=_PEN)


def bloom_face(sheet: Sheet, x: float, y: float, radius: float) -> None:
    """A double bloom seen full face."""
    for ring, (share, petals) in enumerate(((1.0, 14), (0.72, 12), (0.44, 9))):
        for i in range(petals):
            turn = 2.0 * math.pi * (i + 0.5 * ring) / petals
            _petal(sheet, x, y, turn=turn, length=radius * share)
    sheet.circle(x, y, radius * 0.16, fill=0.8, line_mm=_THIN)


def bloom_side(sheet: Sheet, back: float, y: float, radius: float) -> None:
    """A bloom seen from the side, its face to the left and its back at x = ``back``."""
    fan = ((-1.35, 1.0), (1.35, 1.0), (-1.0, 0.93), (1.0, 0.93), (-0.62, 0.8), (0.62, 0.8))
    for turn, share in (*fan, (-0.26, 0.7), (0.26, 0.7)):
        _petal(sheet, back, y, turn=math.pi + turn, length=radius * share)
    sheet.curve(
        [(back + 0.3, y - 1.8), (back - 2.0, y), (back + 0.3, y + 1.8)], fill=0.6, line_mm=_THIN
    )


def stem(sheet: Sheet, points: Sequence[Point]) -> None:
    """A stem through the points."""
    sheet.curve(points, closed=False, line_mm=1.1, grey=0.5)


def leaf(sheet: Sheet, x: float, y: float) -> None:
    """A leaf to the right of (x, y)."""
    sheet.curve(
        [(x, y), (x + 1.2, y - 3.2), (x + 3.6, y - 5.6), (x + 3.4, y - 2.4)],
        fill=0.85,
        line_mm=_THIN,
    )


def phone_level(sheet: Sheet, x: float, y: float) -> None:
    """A phone held flat, seen from its edge, its lens underneath at (x, y + 2)."""
    sheet.frame(x - 11.0, y, 22.0, 1.8, fill=0.25, line_mm=0.2, round_mm=0.6)
    sheet.frame(x - 1.0, y + 1.8, 2.0, 0.8, fill=0.0, line_mm=0.1)


def phone_upright(sheet: Sheet, x: float, y: float) -> None:
    """A phone held upright, seen from its edge, its lens to the right at (x + 2, y)."""
    sheet.frame(x, y - 9.0, 1.7, 18.0, fill=0.25, line_mm=0.2, round_mm=0.6)
    sheet.frame(x + 1.7, y - 1.0, 0.7, 2.0, fill=0.0, line_mm=0.1)


def phone_aslant(sheet: Sheet, x: float, y: float) -> None:
    """A phone seen from its edge, its lens turned down to the right."""
    turn = math.radians(-50.0)
    cos, sin = math.cos(turn), math.sin(turn)
    box = [(-6.5, -0.9), (6.5, -0.9), (6.5, 0.9), (-6.5, 0.9)]
    sheet.polygon([(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in box], fill=0.25)
    lens = [(-0.9, 0.9), (0.9, 0.9), (0.9, 1.7), (-0.9, 1.7)]
    sheet.polygon([(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in lens], fill=0.0)


def hand(sheet: Sheet, x: float, y: float) -> None:
    """A hand that holds the right end of a level phone at (x, y): fingers below, thumb above."""
    sheet.curve([(x + a, y + b) for a, b in _FINGERS], fill=1.0, line_mm=0.3)
    sheet.curve([(x + a, y - b) for a, b in _THUMB], fill=1.0, line_mm=0.3)


def hand_below(sheet: Sheet, x: float, y: float) -> None:
    """A hand that holds the lower end of an upright phone at (x, y), its arm coming from below."""
    sheet.curve([(x + b, y + a) for a, b in _FINGERS], fill=1.0, line_mm=0.3)
    sheet.curve([(x - b, y + a) for a, b in _THUMB], fill=1.0, line_mm=0.3)


def sight(sheet: Sheet, eye: Point, *ends: Point) -> None:
    """Dashed lines from the lens to what it sees."""
    for end in ends:
        sheet.line(eye, end, line_mm=_THIN, dash_mm=(1.2, 0.9))


def right_angle(sheet: Sheet, x: float, y: float, *, size: float) -> None:
    """The sign for a right angle, up and to the left of (x, y)."""
    sheet.line((x - size, y), (x - size, y - size), (x, y - size), line_mm=_THIN)


def cross(sheet: Sheet, x: float, y: float, *, size: float) -> None:
    """A bold cross: not so."""
    for way in (-1.0, 1.0):
        sheet.line((x - size, y - way * size), (x + size, y + way * size), line_mm=1.4, grey=0.0)


def seeds(sheet: Sheet, left: float, top: float) -> None:
    """A scatter of seeds, none touching."""
    outline = [(-1.6, 0.0), (-0.6, 0.55), (0.9, 0.6), (1.6, 0.0), (0.9, -0.6), (-0.6, -0.55)]
    for i in range(16):
        x = left + 3.6 * (i % 4) + 0.5 * math.sin(5.0 * i)
        y = top + 5.0 * (i // 4) + 1.0 * math.cos(3.0 * i)
        cos, sin = math.cos(2.4 * i), math.sin(2.4 * i)
        sheet.curve(
            [(x + a * cos - b * sin, y + a * sin + b * cos) for a, b in outline],
            fill=0.3,
            line_mm=0.15,
        )


def _chequers(sheet: Sheet, start: Point, columns: int, rows: int, square: float) -> None:
    left, top = start
    sheet.fill_rects(
        [
            (left + c * square, top + r * square, square, square)
            for r in range(rows)
            for c in range(columns)
            if (r + c) % 2 == 0
        ]
    )


def _tuber(sheet: Sheet, x: float, y: float, *, turn: float, length: float) -> None:
    """One tuber lying away from (x, y): a thin neck, a fat body, a pointed end."""
    shape = ((0.1, 0.6), (0.28, 0.8), (0.5, 2.1), (0.72, 2.2), (0.9, 1.1))
    outline = [*shape, (1.0, 0.0), *((a, -b) for a, b in shape[::-1])]
    cos, sin = math.cos(turn), math.sin(turn)
    sheet.curve(
        [(x + a * length * cos - b * sin, y + a * length * sin + b * cos) for a, b in outline],
        fill=0.88,
        line_mm=_PEN,
    )


def _petal(sheet: Sheet, x: float, y: float, *, turn: float, length: float) -> None:
    shape = ((0.1, 0.04), (0.55, 0.17), (0.82, 0.15))
    outline = [*shape, (1.0, 0.0), *((a, -b) for a, b in shape[::-1])]
    cos, sin = math.cos(turn), math.sin(turn)
    sheet.curve(
        [(x + length * (a * cos - b * sin), y + length * (a * sin + b * cos)) for a, b in outline],
        fill=1.0,
        line_mm=_THIN,
    )
