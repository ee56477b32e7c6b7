"""The scale cards as PDF, at exact size, with what to do with them."""

from __future__ import annotations

from collections.abc import Sequence

from measure.card.designs import GREY_STEPS, CardDesign, CardKind, Rect
from photolog.prints.drawings import DRAWING_HEIGHT, DRAWING_WIDTH, draw_how_to_hold
from photolog.prints.marks import draw_board
from photolog.prints.sheet import A4_LANDSCAPE_MM, A4_PORTRAIT_MM, Sheet
from photolog.prints.wording import CHECKING, FRONT, HOLDING, PRINTING, TITLES

__all__ = ["card_pdf", "card_place_mm"]

BAR_MM = 100.0
_BAR_LINE_MM = 0.6
_TICK_MM = 2.0

_SHEETS: dict[CardKind, tuple[float, float]] = {
    "pocket": A4_LANDSCAPE_MM,
    "bloom": A4_PORTRAIT_MM,
    "bench": A4_LANDSCAPE_MM,
}


def card_pdf(design: CardDesign, *, printed_on: str | None = None) -> bytes:
    """A card to print, cut out and stick to board: its front, and a back with what to do.

    Parameters
    ----------
    design : CardDesign
    printed_on : str or None
        The date to print on the card; None leaves a line to write it on.

    Returns
    -------
    bytes
        A PDF; the same card and date give the same bytes.
    """
    sheet = Sheet(_SHEETS[design.kind], title=f"Scale card {design.name}")
    left, top = card_place_mm(design)
    _cut_marks(sheet, left, top, design.width_mm, design.height_mm)
    with sheet.moved(left, top):
        _front(sheet, design, printed_on)
    if design.kind == "pocket":
        left += design.width_mm
        _cut_marks(sheet, left, top, design.width_mm, design.height_mm)
    else:
        sheet.next_page()
        _cut_marks(sheet, left, top, design.width_mm, design.height_mm)
    with sheet.moved(left, top):
        _back(sheet, design)
    return sheet.finish()


def card_place_mm(design: CardDesign) -> tuple[float, float]:
    """Where the card's top-left corner lies on the first page, in mm from the page's."""
    page_width, page_height = _SHEETS[design.kind]
    faces = 2 if design.kind == "pocket" else 1
    return (page_width - faces * design.width_mm) / 2, (page_height - design.height_mm) / 2


def _cut_marks(sheet: Sheet, left: float, top: float, width: float, height: float) -> None:
    sheet.frame(left, top, width, height, line_mm=0.1, grey=0.6)
    for x, out_x in ((left, -1.0), (left + width, 1.0)):
        for y, out_y in ((top, -1.0), (top + height, 1.0)):
            sheet.line((x + out_x, y), (x + 4.5 * out_x, y), line_mm=0.1)
            sheet.line((x, y + out_y), (x, y + 4.5 * out_y), line_mm=0.1)


def _front(sheet: Sheet, design: CardDesign, printed_on: str | None) -> None:
    if design.backdrop is not None:
        place = design.backdrop
        sheet.fill_rects(
            [(place.left, place.top, place.width, place.height)], grey=design.backdrop_grey
        )
    draw_board(sheet, design)
    _bar_across(sheet, *design.bar_across)
    _bar_along(sheet, *design.bar_along)
    _greys(sheet, design.greys)
    _tag_area(sheet, design.tag_area)
    if design.slot is not None:
        _slot(sheet, design.slot)
    for x, y in design.cane_holes:
        sheet.circle(x, y, design.cane_hole_mm / 2, line_mm=0.15, grey=0.3)
    {"pocket": _pocket_words, "bloom": _bloom_words, "bench": _bench_words}[design.kind](
        sheet, design, printed_on
    )


def _bar_across(sheet: Sheet, left: float, top: float) -> None:
    ticks = [(left + x, top - _TICK_MM, 0.2, _TICK_MM) for x in _tick_starts()]
    sheet.fill_rects([(left, top, BAR_MM, _BAR_LINE_MM), *ticks])
    sheet.text(left + BAR_MM / 2, top - 2.6, "100 mm", size_mm=2.6, align="middle")


def _bar_along(sheet: Sheet, left: float, top: float) -> None:
    ticks = [(left - _TICK_MM, top + y, _TICK_MM, 0.2) for y in _tick_starts()]
    sheet.fill_rects([(left, top, _BAR_LINE_MM, BAR_MM), *ticks])
    sheet.text(left + _BAR_LINE_MM, top + BAR_MM + 3.2, "100 mm", size_mm=2.6, align="right")


def _tick_starts() -> list[float]:
    """Where the ticks every 10 mm start, so that the outer two end flush with the bar."""
    return [min(max(0.0, 10.0 * i - 0.1), BAR_MM - 0.2) for i in range(11)]


def _greys(sheet: Sheet, place: Rect) -> None:
    width = place.width / len(GREY_STEPS)
    for i, grey in enumerate(GREY_STEPS):
        sheet.fill_rects([(place.left + i * width, place.top, width, place.height)], grey=grey)
    sheet.frame(place.left, place.top, place.width, place.height, line_mm=0.1, grey=0.6)


def _tag_area(sheet: Sheet, place: Rect) -> None:
    sheet.frame(
        place.left,
        place.top,
        place.width,
        place.height,
        line_mm=0.3,
        grey=0.45,
        dash_mm=(2.0, 1.5),
        round_mm=2.0,
    )
    middle = place.left + place.width / 2
    sheet.text(
        middle,
        place.top + place.height / 2,
        "Peg the tag here",
        size_mm=5.0,
        align="middle",
        grey=0.35,
    )
    sheet.text(
        middle,
        place.top + place.height / 2 + 6.0,
        "for every photo",
        size_mm=3.2,
        align="middle",
        grey=0.35,
    )


def _slot(sheet: Sheet, slot: Rect) -> None:
    """The cut for the stem, and beside its mouth a word on what it is."""
    right, foot = slot.left + slot.width, slot.top + slot.height
    radius = slot.width / 2
    sheet.line((slot.left, slot.top), (slot.left, foot - radius), line_mm=0.15, grey=0.3)
    sheet.line((right, slot.top), (right, foot - radius), line_mm=0.15, grey=0.3)
    sheet.half_circle(slot.left + radius, foot - radius, radius, line_mm=0.15, grey=0.3)


def _name_and_date(
    sheet: Sheet, design: CardDesign, printed_on: str | None, *, x: float, y: float, stacked: bool
) -> None:
    """The card's name and the date it was printed, on one line or stacked."""
    sheet.text(x, y, design.name, size_mm=4.2, bold=True)
    if stacked:
        y += 4.2
    else:
        x += sheet.text_width(design.name, size_mm=4.2, bold=True) + 4.0
    sheet.text(x, y, "printed on", size_mm=2.6)
    if stacked:
        y += 4.2
    else:
        x += sheet.text_width("printed on", size_mm=2.6) + 1.5
    if printed_on:
        sheet.text(x, y, printed_on, size_mm=2.6)
    else:
        sheet.line((x, y + 0.4), (x + 21.0, y + 0.4), line_mm=0.15)


def _sentences(
    sheet: Sheet, words: Sequence[str], *, x: float, y: float, width_mm: float, size_mm: float
) -> float:
    for sentence in words:
        y = sheet.paragraph(x, y, sentence, width_mm=width_mm, size_mm=size_mm)
        y += 0.45 * size_mm
    return y


def _pocket_words(sheet: Sheet, design: CardDesign, printed_on: str | None) -> None:
    draw_how_to_hold(sheet, design.kind, left=4.0, top=39.0, width=62.0)
    _sentences(sheet, FRONT["pocket"], x=68.5, y=7.0, width_mm=28.5, size_mm=2.4)
    _name_and_date(sheet, design, printed_on, x=82.5, y=133.0, stacked=True)


def _bloom_words(sheet: Sheet, design: CardDesign, printed_on: str | None) -> None:
    draw_how_to_hold(sheet, design.kind, left=8.0, top=136.0, width=60.0)
    _sentences(sheet, FRONT["bloom"], x=74.0, y=140.5, width_mm=116.0, size_mm=3.2)
    _name_and_date(sheet, design, printed_on, x=10.0, y=268.0, stacked=False)


def _bench_words(sheet: Sheet, design: CardDesign, printed_on: str | None) -> None:
    draw_how_to_hold(sheet, design.kind, left=134.0, top=142.0, width=135.0)
    _sentences(sheet, FRONT["bench"], x=216.0, y=50.0, width_mm=58.0, size_mm=4.0)
    _name_and_date(sheet, design, printed_on, x=8.0, y=172.0, stacked=False)


def _back(sheet: Sheet, design: CardDesign) -> None:
    """What to do, for the other side of the board: on the wide card in two columns."""
    small, wide = design.kind == "pocket", design.width_mm > design.height_mm
    margin, size = (6.0, 2.35) if small else (14.0, 4.0)
    room = design.width_mm - 2 * margin
    y = margin + 2.0 * size
    sheet.text(margin, y, TITLES[design.kind], size_mm=1.8 * size, bold=True)
    y += size
    drawing = min(room, 170.0)
    draw_how_to_hold(sheet, design.kind, left=margin, top=y, width=drawing)
    y += drawing * DRAWING_HEIGHT / DRAWING_WIDTH + 2.0 * size

    gap = 10.0
    column = (room - gap) / 2 if wide else room
    start = y
    y = _chapter(
        sheet, "Using it", HOLDING[design.kind], x=margin, y=y, width_mm=column, size_mm=size
    )
    x = margin
    if wide:
        x, y = margin + column + gap, start
    y = _chapter(sheet, "Making it", PRINTING, x=x, y=y, width_mm=column, size_mm=size)
    if wide:
        # Beside the drawing there is room for the shortest of the three.
        x, y = margin + drawing + gap, margin + 2.0 * size
        column = room - drawing - gap
    y = _chapter(sheet, "Checking it", CHECKING, x=x, y=y, width_mm=column, size_mm=size)
    for words in ("read on", "across, mm", "along, mm"):
        sheet.text(x, y, words, size_mm=size)
        sheet.line((x + 6.5 * size, y + 0.4), (x + min(14.0 * size, column), y + 0.4), line_mm=0.15)
        y += 2.0 * size


def _chapter(
    sheet: Sheet,
    title: str,
    words: Sequence[str],
    *,
    x: float,
    y: float,
    width_mm: float,
    size_mm: float,
) -> float:
    """A heading and its sentences; returns where the next heading's baseline goes."""
    sheet.text(x, y, title, size_mm=1.25 * size_mm, bold=True)
    y = _sentences(sheet, words, x=x, y=y + 1.6 * size_mm, width_mm=width_mm, size_mm=size_mm)
    return y + 0.6 * size_mm
