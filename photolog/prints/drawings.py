"""Small line drawings that show how each card is held, without words."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from measure.card.designs import CardKind
from photolog.prints import figures as fig
from photolog.prints.sheet import Sheet

__all__ = ["DRAWING_HEIGHT", "DRAWING_WIDTH", "draw_how_to_hold"]

DRAWING_WIDTH: Final = 130.0
DRAWING_HEIGHT: Final = 50.0
"""The size that every drawing is made at; it is drawn to scale from there."""


def draw_how_to_hold(
    sheet: Sheet, kind: CardKind, *, left: float, top: float, width: float
) -> None:
    """Draw how to hold the card of this kind, ``width`` mm wide and in proportion high."""
    with sheet.moved(left, top, scale=width / DRAWING_WIDTH):
        _DRAWINGS[kind](sheet)


def _bench(sheet: Sheet) -> None:
    # From above: card and clump side by side, both inside the picture.
    fig.picture_frame(sheet, 1.0, 4.0, 52.0, 42.0)
    fig.card(sheet, 4.0, 11.0, 24.0, columns=8, rows=5, height=17.0, board_at=(1.0, 1.0))
    fig.pegged_tag(sheet, 23.0, 9.0)
    fig.clump_from_above(sheet, 39.5, 25.0)
    # From the side: the phone level above the bench.
    sheet.line((57.0, 46.0), (104.0, 46.0), line_mm=0.6)
    sheet.frame(59.0, 44.6, 17.0, 1.1, fill=1.0, line_mm=0.35)
    fig.clump_from_the_side(sheet, 92.0, 45.7)
    fig.sight(sheet, (80.0, 8.2), (58.0, 44.0), (103.0, 44.0))
    fig.phone_level(sheet, 80.0, 5.5)
    fig.hand(sheet, 91.0, 6.4)
    sheet.arrow((80.0, 25.0), (80.0, 11.5))
    sheet.arrow((80.0, 25.0), (80.0, 43.5))
    fig.right_angle(sheet, 80.0, 46.0, size=2.4)
    # Not so: the phone aslant.
    sheet.line((108.0, 46.0), (129.0, 46.0), line_mm=0.6)
    sheet.frame(109.0, 44.6, 9.0, 1.1, fill=1.0, line_mm=0.35)
    with sheet.moved(123.5, 45.7, scale=0.45):
        fig.clump_from_the_side(sheet, 0.0, 0.0)
    fig.phone_aslant(sheet, 111.0, 21.0)
    fig.sight(sheet, (112.6, 22.8), (110.0, 43.5), (128.5, 41.0))
    fig.cross(sheet, 120.5, 11.0, size=4.5)


def _bloom(sheet: Sheet) -> None:
    # The card goes up behind the bloom, the stem into its slot.
    fig.stem(sheet, [(16.0, 11.0), (16.0, 30.0)])
    fig.bloom_face(sheet, 16.0, 11.0, 8.5)
    fig.slotted_card(sheet, 5.5, 23.0, 21.0, height=25.0, stem_to=29.5)
    sheet.arrow((3.0, 36.0), (3.0, 24.0))
    sheet.arrow((29.0, 36.0), (29.0, 24.0))
    # From the front: bloom before the upper part; chequers and tag in full view.
    fig.picture_frame(sheet, 36.0, 1.0, 42.0, 48.0)
    fig.slotted_card(sheet, 43.0, 4.0, 28.0, height=42.0, stem_to=None)
    fig.pegged_tag(sheet, 60.5, 41.5, peg_above=False)
    fig.bloom_face(sheet, 57.0, 15.0, 10.5)
    # From the side: phone square in front, stem through the slot, cane tied behind.
    sheet.line((84.0, 48.0), (129.0, 48.0), line_mm=0.6)
    sheet.line((119.3, 6.0), (119.3, 48.0), line_mm=1.5, grey=0.5)
    fig.stem(sheet, [(115.5, 14.5), (121.0, 15.0), (124.0, 18.5), (125.3, 28.0), (125.6, 48.0)])
    fig.leaf(sheet, 125.6, 36.0)
    sheet.frame(116.6, 4.0, 1.4, 39.0, fill=1.0, line_mm=0.35)
    for y in (20.5, 39.5):
        sheet.frame(116.1, y, 4.4, 1.2, fill=0.0, line_mm=0.1)
    fig.bloom_side(sheet, 116.4, 14.5, 10.0)
    fig.sight(sheet, (89.2, 22.0), (115.6, 2.2), (115.6, 44.0))
    fig.phone_upright(sheet, 87.0, 22.0)
    fig.hand_below(sheet, 87.8, 29.0)
    sheet.arrow((99.0, 22.0), (91.5, 22.0))
    sheet.arrow((99.0, 22.0), (106.0, 22.0))


def _pocket(sheet: Sheet) -> None:
    # A small bloom: card upright beside it.
    fig.picture_frame(sheet, 1.0, 3.0, 46.0, 44.0)
    fig.card(sheet, 4.5, 9.0, 19.0, columns=5, rows=4, height=27.0, board_at=(1.0, 14.5))
    fig.pegged_tag(sheet, 5.5, 8.0)
    fig.stem(sheet, [(34.5, 26.0), (34.0, 36.0), (35.0, 47.0)])
    fig.bloom_face(sheet, 34.5, 26.0, 9.5)
    # The same from the side: level with the widest petals.
    fig.stem(sheet, [(78.0, 24.0), (81.0, 25.0), (82.5, 31.0), (82.5, 47.0)])
    sheet.frame(74.0, 8.0, 1.1, 29.0, fill=1.0, line_mm=0.35)
    fig.bloom_side(sheet, 78.6, 24.0, 9.0)
    fig.sight(sheet, (55.2, 22.0), (73.5, 6.0), (73.5, 39.0))
    fig.phone_upright(sheet, 53.0, 22.0)
    fig.hand_below(sheet, 53.8, 29.0)
    # Seeds: card and seeds flat on a sheet of paper.
    fig.picture_frame(sheet, 89.0, 3.0, 40.0, 44.0)
    fig.card(sheet, 92.5, 9.0, 17.0, columns=5, rows=4, height=24.0, board_at=(1.0, 13.0))
    fig.pegged_tag(sheet, 93.0, 8.0)
    fig.seeds(sheet, 114.0, 16.0)


_DRAWINGS: dict[CardKind, Callable[[Sheet], None]] = {
    "pocket": _pocket,
    "bloom": _bloom,
    "bench": _bench,
}
