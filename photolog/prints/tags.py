"""Tags by the sheet: two marks, the number with its check letter, and the variety."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from measure.card.marks import TAG_PITCH, check_letter, marks_of_box, marks_of_tag
from photolog.prints.lettering import unprintable
from photolog.prints.marks import draw_mark
from photolog.prints.sheet import A4_PORTRAIT_MM, Sheet

__all__ = [
    "TAG_LAYOUTS",
    "CannotPrint",
    "TagLayout",
    "TagSize",
    "TagToPrint",
    "tag_places_mm",
    "tags_pdf",
]

TagSize = Literal["tied", "stake"]

_SMALLEST_NAME_MM = 2.2
_DROP_MM = 0.3


class CannotPrint(ValueError):  # noqa: N818 (named for what is wrong, as the grower reads it)
    """A tag's name has signs that no lettering is carried for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TagToPrint:
    """One tag: its number (1 to 9999), and the variety or other words, empty for a blank tag.

    ``box``: it is the tag of a box, numbered 1 to 399.
    """

    number: int
    name: str = ""
    box: bool = False

    @property
    def marks(self) -> tuple[int, int]:
        """Its two marks; ``ValueError`` where its number is none."""
        return marks_of_box(self.number) if self.box else marks_of_tag(self.number)

    @property
    def printed(self) -> str:
        """The number as printed: with its check letter, or a box's plainly."""
        if self.box:
            return f"BOX {self.number}"
        return f"{self.number:04d} {check_letter(self.number)}"


@dataclass(frozen=True, slots=True, kw_only=True)
class TagLayout:
    """Sizes of one face of a tag, in millimetres, and how many go on a sheet.

    ``hole_strip_mm`` is the end that hole, knot or stake may take; marks begin a margin after it.
    ``foot_mm`` is the height kept for the lettering under the marks.
    """

    mark_mm: float
    margin_mm: float
    hole_strip_mm: float
    hole_mm: float
    foot_mm: float
    number_size_mm: float
    name_size_mm: float
    columns: int
    rows: int

    @property
    def width_mm(self) -> float:
        """Length of a face, the strip for the hole included."""
        return self.hole_strip_mm + 2 * self.margin_mm + (1 + TAG_PITCH) * self.mark_mm

    @property
    def height_mm(self) -> float:
        """Height of one face; unfolded, the tag is twice as high."""
        return 1.5 * self.margin_mm + self.mark_mm + self.foot_mm


TAG_LAYOUTS: Final[dict[TagSize, TagLayout]] = {
    "tied": TagLayout(
        mark_mm=20.0,
        margin_mm=3.5,
        hole_strip_mm=10.0,
        hole_mm=5.0,
        foot_mm=8.5,
        number_size_mm=7.2,
        name_size_mm=4.0,
        columns=3,
        rows=4,
    ),
    "stake": TagLayout(
        mark_mm=30.0,
        margin_mm=4.5,
        hole_strip_mm=14.0,
        hole_mm=6.0,
        foot_mm=9.6,
        number_size_mm=7.6,
        name_size_mm=5.5,
        columns=2,
        rows=3,
    ),
}


def tags_pdf(tags: Sequence[TagToPrint], *, size: TagSize = "tied") -> bytes:
    """Sheets of tags on A4, each to be folded back to back; the same tags give the same bytes.

    ``ValueError`` says which number is none; ``CannotPrint`` which name has signs that can't be
    printed, and what to do.
    """
    if not tags:
        msg = "no tags to print: give at least one number"
        raise ValueError(msg)
    for tag in tags:
        _ = tag.marks
        if missing := unprintable(tag.name):
            msg = (
                f"Tag {_title(tag)}: the name {tag.name!r} has signs that can't be printed "
                f"({' '.join(missing)}). Write it in Latin, Greek or Cyrillic letters."
            )
            raise CannotPrint(msg)
    layout = TAG_LAYOUTS[size]
    places = tag_places_mm(size)
    sheet = Sheet(A4_PORTRAIT_MM, title=f"Tags {_title(tags[0])} to {_title(tags[-1])}")
    for i, tag in enumerate(tags):
        if i and i % len(places) == 0:
            sheet.next_page()
        if i % len(places) == 0:
            _advice(sheet, size, box=tag.box)
        left, top = places[i % len(places)]
        _tag(sheet, tag, layout, left=left, top=top)
    return sheet.finish()


def tag_places_mm(size: TagSize) -> list[tuple[float, float]]:
    """Top-left corners of the unfolded tags on a sheet, in mm, in the order they are filled."""
    layout = TAG_LAYOUTS[size]
    page_width, page_height = A4_PORTRAIT_MM
    left = (page_width - layout.columns * layout.width_mm) / 2
    top = (page_height - layout.rows * 2 * layout.height_mm) / 2
    return [
        (left + column * layout.width_mm, top + row * 2 * layout.height_mm)
        for row in range(layout.rows)
        for column in range(layout.columns)
    ]


def _title(tag: TagToPrint) -> str:
    return f"box {tag.number}" if tag.box else f"{tag.number:04d}"


def _advice(sheet: Sheet, size: TagSize, *, box: bool) -> None:
    use = (
        "hole at the ring, knot outside the line"
        if size == "tied"
        else f"staple or clip to the {'box' if box else 'stake'} outside the line"
    )
    sheet.text(
        A4_PORTRAIT_MM[0] / 2,
        7.0,
        f"Matt paper, full size (100 %). Cut on the full lines, fold on the dashed one, glue back "
        f"to back; {use}.",
        size_mm=2.8,
        align="middle",
    )


def _tag(sheet: Sheet, tag: TagToPrint, layout: TagLayout, *, left: float, top: float) -> None:
    width, height = layout.width_mm, layout.height_mm
    sheet.frame(left, top, width, 2 * height, line_mm=0.1, grey=0.5)
    sheet.line(
        (left, top + height),
        (left + width, top + height),
        line_mm=0.15,
        grey=0.5,
        dash_mm=(2.0, 1.5),
    )
    with sheet.moved(left, top + height):
        _face(sheet, tag, layout, hole_left=True)
    # Folded back about its foot, the upper half shows upright from behind, its hole to the right.
    with sheet.moved(left + width, top + height, half_turn=True):
        _face(sheet, tag, layout, hole_left=False)


def _face(sheet: Sheet, tag: TagToPrint, layout: TagLayout, *, hole_left: bool) -> None:
    strip, margin, side = layout.hole_strip_mm, layout.margin_mm, layout.mark_mm
    start = strip if hole_left else 0.0
    left, top = start + margin, margin
    line = strip if hole_left else layout.width_mm - strip
    hole = strip / 2 if hole_left else layout.width_mm - strip / 2
    sheet.line((line, 2.0), (line, layout.height_mm - 2.0), line_mm=0.1, grey=0.6)
    sheet.circle(hole, layout.height_mm / 2, layout.hole_mm / 2, line_mm=0.15, grey=0.4)

    for i, mark in enumerate(tag.marks):
        draw_mark(sheet, mark, left=left + i * TAG_PITCH * side, top=top, side_mm=side)

    # The foot of the figures stands clear of the edge; capitals are 0.73 of the type size high.
    baseline = layout.height_mm - 0.5 * margin - _DROP_MM
    number = tag.printed
    sheet.text(left, baseline, number, size_mm=layout.number_size_mm, bold=True)
    room_left = left + sheet.text_width(number, size_mm=layout.number_size_mm, bold=True) + 2.0
    room = start + 2 * margin + (1 + TAG_PITCH) * side - 1.0 - room_left
    if tag.name:
        _name(sheet, tag.name, layout, left=room_left, baseline=baseline, room=room)


def _name(
    sheet: Sheet, name: str, layout: TagLayout, *, left: float, baseline: float, room: float
) -> None:
    """The variety beside the number, as large as fits, on as many lines as there is room for.

    What does not fit even in the smallest size that a grower would read ends in dots.
    """
    # The block must stay clear of the marks' white margin of one module.
    height = layout.foot_mm - _DROP_MM - layout.mark_mm / 8
    steps = round((layout.name_size_mm - _SMALLEST_NAME_MM) / 0.1)
    for size in (layout.name_size_mm - 0.1 * i for i in range(steps + 1)):
        lines = sheet.broken(name, width_mm=room, size_mm=size)
        wide = max(sheet.text_width(line, size_mm=size) for line in lines)
        if wide <= room and (len(lines) - 1) * 1.1 * size + 0.8 * size <= height:
            break
    else:
        size = _SMALLEST_NAME_MM
        lines = sheet.broken(name, width_mm=room, size_mm=size)
        most = 1 + int((height - 0.8 * size) / (1.1 * size))
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
        lines = [_cut(sheet, line, size_mm=size, room=room) for line in lines if line]
    for i, line in enumerate(reversed(lines)):
        sheet.text(left, baseline - i * 1.1 * size, line, size_mm=size)


def _cut(sheet: Sheet, words: str, *, size_mm: float, room: float) -> str:
    """The words, or as many of their letters as have room, with dots."""
    if sheet.text_width(words, size_mm=size_mm) <= room:
        return words
    while words and sheet.text_width(words + "…", size_mm=size_mm) > room:
        words = words[:-1]
    return words.rstrip() + "…"
