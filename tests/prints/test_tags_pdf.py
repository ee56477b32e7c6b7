"""Sheets of tags: measured, read and folded in the raster."""

from __future__ import annotations

import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from measure.card.finding import read_marks
from measure.card.marks import check_letter
from photolog.prints import CannotPrint, TagSize, TagToPrint, tags_pdf
from photolog.prints.tags import TAG_LAYOUTS, tag_places_mm
from tests.prints.rasters import black_run_mm, page_count, page_size_mm, raster

SIZES: tuple[TagSize, ...] = ("tied", "stake")
# Sides asked for: 20 mm for tied tags, 30 mm for stakes and batches.
MARK_MM: dict[TagSize, float] = {"tied": 20.0, "stake": 30.0}


def rgb(gray: NDArray[np.uint8]) -> NDArray[np.uint8]:
    return np.ascontiguousarray(np.dstack([gray] * 3))


def faces(
    pdf: bytes, size: TagSize, *, place: int, px_per_mm: float
) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Front and back of one tag as seen once it is cut out and folded."""
    layout = TAG_LAYOUTS[size]
    left, top = tag_places_mm(size)[place]
    picture = raster(pdf, px_per_mm=px_per_mm)

    def cut(upper: float, lower: float) -> NDArray[np.uint8]:
        return picture[
            round(upper * px_per_mm) : round(lower * px_per_mm),
            round(left * px_per_mm) : round((left + layout.width_mm) * px_per_mm),
        ]

    front = cut(top + layout.height_mm, top + 2 * layout.height_mm)
    # Folded back about the dashed line and then looked at from behind, the upper half has been
    # turned by half a turn in its own plane.
    return front, np.rot90(cut(top, top + layout.height_mm), 2)


@pytest.mark.parametrize("size", SIZES)
def test_marks_have_the_side_asked_for(size: TagSize):
    layout = TAG_LAYOUTS[size]
    pdf = tags_pdf([TagToPrint(number=423)], size=size)
    front, _ = faces(pdf, size, place=0, px_per_mm=20.0)

    # A mark's uppermost row of modules is black from side to side.
    row = front[round((layout.margin_mm + 0.5) * 20)]
    start, end = black_run_mm(row, px_per_mm=20.0)

    assert end - start == pytest.approx(MARK_MM[size], abs=0.1)
    assert layout.mark_mm == MARK_MM[size]


@pytest.mark.parametrize("size", SIZES)
def test_both_faces_read_as_the_same_tag(size: TagSize):
    tags = [TagToPrint(number=n, name="Tía Farola") for n in (1, 16, 423, 9999)]
    pdf = tags_pdf(tags, size=size)

    for place, tag in enumerate(tags):
        for face in faces(pdf, size, place=place, px_per_mm=5.0):
            seen = read_marks(rgb(face))
            assert [t.number for t in seen.tags] == [tag.number]
            assert seen.strangers == ()


@pytest.mark.parametrize("size", SIZES)
def test_a_whole_sheet_reads_back_without_mixing_neighbours(size: TagSize):
    room = len(tag_places_mm(size))
    numbers = [101 * (i + 1) for i in range(room)]
    pdf = tags_pdf([TagToPrint(number=n) for n in numbers], size=size)

    seen = read_marks(rgb(raster(pdf, px_per_mm=6.0)))

    assert sorted(t.number for t in seen.tags if t.number is not None) == numbers
    assert all(t.half is None for t in seen.tags)


@pytest.mark.parametrize("size", SIZES)
def test_a_boxs_tag_reads_as_its_box_on_both_faces(size: TagSize):
    boxes = [TagToPrint(number=n, name="blue crate", box=True) for n in (1, 203, 399)]
    pdf = tags_pdf(boxes, size=size)

    for place, box in enumerate(boxes):
        for face in faces(pdf, size, place=place, px_per_mm=5.0):
            seen = read_marks(rgb(face))
            assert [one.number for one in seen.boxes] == [box.number]
            assert seen.tags == ()
            assert seen.strangers == ()
    text = pypdfium2.PdfDocument(pdf)[0].get_textpage().get_text_range()
    assert "BOX 203" in text
    assert "blue crate" in text


@pytest.mark.parametrize("size", SIZES)
def test_hole_lies_in_the_same_place_on_both_faces(size: TagSize):
    layout = TAG_LAYOUTS[size]
    front, back = faces(tags_pdf([TagToPrint(number=423)], size=size), size, place=0, px_per_mm=10)
    radius = layout.hole_mm / 2

    def has_ring(face: NDArray[np.uint8], x: float) -> bool:
        middle = round(layout.height_mm / 2 * 10)
        rim = face[middle, round((x + radius) * 10) - 2 : round((x + radius) * 10) + 3]
        return bool(rim.min() < 200)

    assert has_ring(front, layout.hole_strip_mm / 2)
    # From behind, the front's left end is at the right.
    assert has_ring(back, layout.width_mm - layout.hole_strip_mm / 2)


@pytest.mark.parametrize("size", SIZES)
def test_margin_round_the_marks_is_white_and_clear_of_the_hole_strip(size: TagSize):
    layout = TAG_LAYOUTS[size]
    assert layout.margin_mm >= layout.mark_mm / 8
    assert layout.hole_mm / 2 < layout.hole_strip_mm / 2
    px = 10
    module = layout.mark_mm / 8
    tag = TagToPrint(number=8888, name="Saltmarsh Linnet of the long winded kind")
    for face in faces(tags_pdf([tag], size=size), size, place=0, px_per_mm=px):
        dark = np.flatnonzero(face[round((layout.margin_mm + 0.5) * px)] < 128)
        first, last = dark.min() / px, dark.max() / px
        assert min(first, layout.width_mm - last) >= module
        block = slice(
            round((layout.margin_mm - module + 0.3) * px),
            round((layout.margin_mm + layout.mark_mm) * px),
        )
        white = round((module - 0.3) * px)
        under = round((layout.margin_mm + layout.mark_mm) * px)
        below = face[under + 2 : under + white, round(first * px) : round(last * px)]
        assert below.min() > 250
        assert face[block, round(first * px) - white : round(first * px) - 1].min() > 250
        assert face[block, round(last * px) + 2 : round(last * px) + white].min() > 250


@pytest.mark.parametrize("size", SIZES)
def test_number_check_letter_and_name_are_lettered(size: TagSize):
    tags = [TagToPrint(number=16, name="Tía Farola"), TagToPrint(number=7)]
    document = pypdfium2.PdfDocument(tags_pdf(tags, size=size))
    words = " ".join(document[0].get_textpage().get_text_range().split())
    document.close()

    assert words.count(f"0016 {check_letter(16)}") == 2
    assert words.count(f"0007 {check_letter(7)}") == 2
    assert words.count("Tía") == words.count("Farola") == 2


def test_sheets_fill_up_and_go_on():
    room = len(tag_places_mm("tied"))
    tags = [TagToPrint(number=n) for n in range(1, room + 2)]

    assert page_count(tags_pdf(tags[:room])) == 1
    assert page_count(tags_pdf(tags)) == 2
    assert sorted(page_size_mm(tags_pdf(tags))) == pytest.approx([210.0, 297.0], abs=0.01)


@pytest.mark.parametrize("size", SIZES)
def test_same_tags_give_the_same_bytes(size: TagSize):
    tags = [TagToPrint(number=n, name="Wherry Lamp") for n in range(10, 40)]

    assert tags_pdf(tags, size=size) == tags_pdf(list(tags), size=size)
    assert b"/PrintScaling /None" in tags_pdf(tags, size=size)


@pytest.mark.parametrize("name", ["Żółta Łąka", "Красная Звезда", "Κόκκινη", "Bông Hồng Đỏ", "Ærø"])
def test_names_in_many_alphabets_are_printed(name: str):
    document = pypdfium2.PdfDocument(tags_pdf([TagToPrint(number=5, name=name)], size="stake"))
    words = document[0].get_textpage().get_text_range()
    document.close()

    assert words.count(name.split(maxsplit=1)[0]) == 2


def test_names_without_lettering_are_refused_by_tag():
    with pytest.raises(CannotPrint, match=r"Tag 0012: the name '黒蝶' .* \(黒 蝶\)"):
        tags_pdf([TagToPrint(number=12, name="黒蝶")])


def test_numbers_out_of_range_are_refused():
    with pytest.raises(ValueError, match="tags are numbered 1 to 9999, got 10000"):
        tags_pdf([TagToPrint(number=10_000)])


def test_nothing_to_print_is_refused():
    with pytest.raises(ValueError, match="no tags to print"):
        tags_pdf([])
