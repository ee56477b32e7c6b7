"""The printed cards against a ruler (their raster) and against OpenCV's own board."""

from __future__ import annotations

import os
import subprocess
import sys
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
import pypdfium2
import pytest
from numpy.typing import NDArray

from measure.card.designs import DESIGNS, GREY_STEPS, CardDesign, design_named
from measure.card.finding import read_marks
from photolog.prints import card_pdf, card_place_mm
from photolog.prints.sheet import Sheet
from tests.prints.rasters import black_run_mm, page_count, page_size_mm, raster

RULER_PX_PER_MM = 20.0


@pytest.fixture(params=DESIGNS, ids=lambda design: design.name)
def design(request: pytest.FixtureRequest) -> CardDesign:
    found: CardDesign = request.param
    return found


def words_of(pdf: bytes, *, page: int = 0) -> str:
    document = pypdfium2.PdfDocument(pdf)
    words: str = document[page].get_textpage().get_text_range()
    document.close()
    return words


def word_boxes_mm(pdf: bytes, *, page: int = 0) -> list[tuple[float, float, float, float, str]]:
    """(left, top, right, bottom, words) of every run of words on a page, in mm."""
    document = pypdfium2.PdfDocument(pdf)
    height = document[page].get_size()[1]
    text = document[page].get_textpage()
    boxes = []
    for i in range(text.count_rects()):
        left, bottom, right, top = text.get_rect(i)
        words = text.get_text_bounded(left, bottom, right, top)
        box = [v * 25.4 / 72 for v in (left, height - top, right, height - bottom)]
        boxes.append((box[0], box[1], box[2], box[3], words))
    document.close()
    return boxes


def line_of(
    picture: NDArray[np.uint8], *, x_mm: float | None = None, y_mm: float | None = None
) -> NDArray[np.uint8]:
    """The column of pixels at x, or the row at y."""
    if x_mm is not None:
        return picture[:, int(x_mm * RULER_PX_PER_MM)]
    assert y_mm is not None
    return picture[int(y_mm * RULER_PX_PER_MM)]


def test_paper_is_a4_and_viewers_are_asked_not_to_scale(design: CardDesign):
    pdf = card_pdf(design)

    # ISO 216: A4 is 210 by 297 mm.
    assert sorted(page_size_mm(pdf)) == pytest.approx([210.0, 297.0], abs=0.01)
    # ISO 32000-1, table 150: None asks the print dialogue for no page scaling.
    assert b"/PrintScaling /None" in pdf


def test_bars_are_100_mm_in_the_raster(design: CardDesign):
    picture = raster(card_pdf(design), px_per_mm=RULER_PX_PER_MM)
    left, top = card_place_mm(design)

    x, y = left + design.bar_across[0], top + design.bar_across[1]
    start, end = black_run_mm(line_of(picture, y_mm=y + 0.3), px_per_mm=RULER_PX_PER_MM)
    assert start == pytest.approx(x, abs=0.1)
    assert end - start == pytest.approx(100.0, abs=0.1)

    x, y = left + design.bar_along[0], top + design.bar_along[1]
    start, end = black_run_mm(line_of(picture, x_mm=x + 0.3), px_per_mm=RULER_PX_PER_MM)
    assert start == pytest.approx(y, abs=0.1)
    assert end - start == pytest.approx(100.0, abs=0.1)


def test_bars_carry_a_tick_every_10_mm(design: CardDesign):
    picture = raster(card_pdf(design), px_per_mm=RULER_PX_PER_MM)
    left, top = card_place_mm(design)
    x, y = left + design.bar_across[0], top + design.bar_across[1]

    row = line_of(picture, y_mm=y - 1.0)
    span = row[int((x - 0.5) * RULER_PX_PER_MM) : int((x + 100.5) * RULER_PX_PER_MM)]
    dark = np.concatenate([[0], (span < 128).astype(int), [0]])
    middles = np.flatnonzero(np.diff(dark)).reshape(-1, 2).mean(axis=1) / RULER_PX_PER_MM - 0.5

    # The outer two lie inside the bar's ends, so their middles are half a line (0.1 mm) off.
    assert middles == pytest.approx([0.1, *range(10, 100, 10), 99.9], abs=0.06)


def test_every_square_and_module_is_as_opencv_draws_it(design: CardDesign):
    px_per_mm = 12.0
    picture = raster(card_pdf(design), px_per_mm=px_per_mm)
    left, top = card_place_mm(design)
    # OpenCV's own rendering of the board at 64 pixels a square, a whole number a module.
    board = cv2.aruco.CharucoBoard(
        (design.squares_x, design.squares_y),
        design.square_mm,
        design.mark_mm,
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36H11),
        np.array(design.marks, dtype=np.int32),
    )
    scale = 64
    drawn = board.generateImage((design.squares_x * scale, design.squares_y * scale))

    # Points a quarter of a module apart, those at an edge in OpenCV's picture left out.
    step = design.mark_mm / 8 / 4
    xs, ys = np.meshgrid(
        np.arange(step / 2, design.squares_x * design.square_mm, step),
        np.arange(step / 2, design.squares_y * design.square_mm, step),
    )
    theirs_at = (
        (ys / design.square_mm * scale).astype(int),
        (xs / design.square_mm * scale).astype(int),
    )
    near = np.ones((5, 5), np.uint8)
    sure = (cv2.erode(drawn, near) == cv2.dilate(drawn, near))[theirs_at]
    theirs = drawn[theirs_at] > 127
    ours = (
        picture[
            ((top + design.board_top_mm + ys) * px_per_mm).astype(int),
            ((left + design.board_left_mm + xs) * px_per_mm).astype(int),
        ]
        > 127
    )

    assert sure.mean() > 0.6
    assert np.array_equal(ours[sure], theirs[sure])


def test_board_is_read_and_lies_where_the_design_says(design: CardDesign):
    px_per_mm = 10.0
    picture = raster(card_pdf(design), px_per_mm=px_per_mm)
    left, top = card_place_mm(design)
    board = cv2.aruco.CharucoBoard(
        (design.squares_x, design.squares_y),
        design.square_mm,
        design.mark_mm,
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36H11),
        np.array(design.marks, dtype=np.int32),
    )
    corners, ids, _, marks = cv2.aruco.CharucoDetector(board).detectBoard(picture)
    found = (np.asarray(corners, np.float64).reshape(-1, 2) + 0.5) / px_per_mm
    numbers = np.ravel(ids)

    assert sorted(np.ravel(marks)) == list(design.marks)
    assert len(numbers) == design.n_corners
    expected = np.asarray(board.getChessboardCorners(), np.float64).reshape(-1, 3)[numbers, :2]
    place = np.array([left + design.board_left_mm, top + design.board_top_mm])
    assert np.abs(found - (expected + place)).max() < 0.1
    # The whole board's width and height between its outermost inner corners.
    span = np.ptp(found, axis=0)
    assert span == pytest.approx(
        [(design.squares_x - 2) * design.square_mm, (design.squares_y - 2) * design.square_mm],
        abs=0.1,
    )


def test_the_program_reads_its_own_card(design: CardDesign):
    gray = raster(card_pdf(design), px_per_mm=6.0)

    seen = read_marks(np.dstack([gray] * 3))

    assert [card.design for card in seen.cards] == [design.name]
    assert len(seen.cards[0].corner_ids) == design.n_corners
    assert seen.tags == ()
    assert seen.strangers == ()


def test_greys_run_from_paper_to_black(design: CardDesign):
    picture = raster(card_pdf(design), px_per_mm=5.0)
    left, top = card_place_mm(design)
    place = design.greys
    y = int((top + place.top + place.height / 2) * 5)
    width = place.width / len(GREY_STEPS)
    shades = [
        float(picture[y, int((left + place.left + (i + 0.5) * width) * 5)]) / 255
        for i in range(len(GREY_STEPS))
    ]

    assert shades == pytest.approx(GREY_STEPS, abs=0.01)


def test_same_card_gives_the_same_bytes_in_another_process(design: CardDesign):
    code = (
        "import sys\n"
        "from measure.card.designs import design_named\n"
        "from photolog.prints import card_pdf\n"
        f"sys.stdout.buffer.write(card_pdf(design_named({design.name!r}), printed_on='3 May'))\n"
    )
    elsewhere = {**os.environ, "PYTHONHASHSEED": "4711", "TZ": "Pacific/Auckland", "LC_ALL": "C"}
    other = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        check=True,
        env=elsewhere,
        cwd=Path(__file__).parents[2],
    )

    assert other.stdout == card_pdf(design, printed_on="3 May")


def test_card_says_what_it_is_and_where_the_tag_goes(design: CardDesign):
    front = words_of(card_pdf(design))
    for words in (design.name, "Peg the tag here", "100 mm", "printed on"):
        assert words in front
    whole = "".join(words_of(card_pdf(design), page=i) for i in range(page_count(card_pdf(design))))
    flowing = " ".join(whole.split())
    for words in ("matt paper", "100 %", "rigid board", "No gloss laminate", "steel rule"):
        assert words in flowing


def test_no_words_overlap_each_other_or_leave_the_card(design: CardDesign):
    left, top = card_place_mm(design)
    pdf = card_pdf(design, printed_on="2026-05-16")
    for page in range(page_count(pdf)):
        boxes = word_boxes_mm(pdf, page=page)
        assert len(boxes) > 8
        right_edge = left + design.width_mm * (2 if design.kind == "pocket" else 1)
        for x0, y0, x1, y1, words in boxes:
            assert left + 1.5 < x0, words
            assert x1 < right_edge - 1.5, words
            assert top + 1.5 < y0, words
            assert y1 < top + design.height_mm - 1.5, words
        for a, b in combinations(boxes, 2):
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (a, b)


def test_no_words_stand_on_the_board_the_greys_or_the_bars(design: CardDesign):
    left, top = card_place_mm(design)
    board = (
        design.board_left_mm,
        design.board_top_mm,
        design.squares_x * design.square_mm,
        design.squares_y * design.square_mm,
    )
    greys = design.greys
    taken = {
        "board": board,
        "greys": (greys.left, greys.top, greys.width, greys.height),
        "bar across": (design.bar_across[0], design.bar_across[1] - 2.0, 100.0, 2.6),
        "bar along": (design.bar_along[0] - 2.0, design.bar_along[1], 2.6, 100.0),
    }
    for x0, y0, x1, y1, words in word_boxes_mm(card_pdf(design, printed_on="2026-05-16")):
        for name, (x, y, width, height) in taken.items():
            clear = (
                x1 <= left + x or x0 >= left + x + width or y1 <= top + y or y0 >= top + y + height
            )
            assert clear, (words, name)


def test_date_is_printed_when_given():
    design = design_named("bench-1")

    assert "2026-05-16" in words_of(card_pdf(design, printed_on="2026-05-16"))
    assert "2026-05-16" not in words_of(card_pdf(design))


def test_slot_opens_at_the_top_and_ends_where_the_design_says():
    design = design_named("bloom-1")
    assert design.slot is not None
    picture = raster(card_pdf(design), px_per_mm=RULER_PX_PER_MM)
    left, top = card_place_mm(design)
    slot = design.slot

    def is_line(x: float, y: float) -> bool:
        cut = picture[
            int((top + y - 0.3) * RULER_PX_PER_MM) : int((top + y + 0.3) * RULER_PX_PER_MM),
            int((left + x - 0.3) * RULER_PX_PER_MM) : int((left + x + 0.3) * RULER_PX_PER_MM),
        ]
        return bool(cut.min() < 110)

    middle = slot.left + slot.width / 2
    assert is_line(slot.left, 1.0)
    assert is_line(slot.left + slot.width, 1.0)
    assert is_line(middle, slot.top + slot.height)
    assert not is_line(middle, slot.top + slot.height / 2)
    for x, y in design.cane_holes:
        assert is_line(x + design.cane_hole_mm / 2, y)


def test_words_that_cannot_be_lettered_are_refused():
    sheet = Sheet((100.0, 100.0), title="try")

    with pytest.raises(ValueError, match="can't print '黒' in '黒 x'"):
        sheet.text(10.0, 10.0, "黒 x", size_mm=4.0)
