"""Marks and chequered boards as black rectangles, from OpenCV's own dictionary and board."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import CardDesign
from photolog.prints.sheet import Sheet

__all__ = ["MODULES", "board_rects", "draw_board", "draw_mark", "mark_rects"]

MODULES = 8
"""Modules along one side of a mark, its black border of one module included."""

RectMm = tuple[float, float, float, float]

_DICTIONARY = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


def mark_rects(mark: int, *, left: float, top: float, side_mm: float) -> list[RectMm]:
    """Black rectangles (left, top, width, height) of one mark, in mm; a run of modules is one."""
    black = _modules(mark) == 0
    module = side_mm / MODULES
    rects: list[RectMm] = []
    for row in range(MODULES):
        edges = np.flatnonzero(np.diff(np.concatenate([[0], black[row].astype(int), [0]])))
        rects += [
            (left + int(a) * module, top + row * module, int(b - a) * module, module)
            for a, b in edges.reshape(-1, 2)
        ]
    return rects


def board_rects(design: CardDesign) -> tuple[list[RectMm], dict[int, RectMm]]:
    """Black squares of a card's board, and each mark's place, in mm on the card.

    OpenCV's present layout (since 4.6): the top-left square is black, marks stand in the white
    squares, numbered along the rows.
    """
    squares = [
        (
            design.board_left_mm + column * design.square_mm,
            design.board_top_mm + row * design.square_mm,
            design.square_mm,
            design.square_mm,
        )
        for row in range(design.squares_y)
        for column in range(design.squares_x)
        if (row + column) % 2 == 0
    ]
    board = cv2.aruco.CharucoBoard(
        (design.squares_x, design.squares_y),
        design.square_mm,
        design.mark_mm,
        _DICTIONARY,
        np.array(design.marks, dtype=np.int32),
    )
    places = {}
    for mark, quad in zip(np.ravel(board.getIds()), board.getObjPoints(), strict=True):
        x, y, _ = np.asarray(quad, dtype=np.float64).reshape(4, 3)[0]
        places[int(mark)] = (
            design.board_left_mm + float(x),
            design.board_top_mm + float(y),
            design.mark_mm,
            design.mark_mm,
        )
    return squares, places


def draw_mark(sheet: Sheet, mark: int, *, left: float, top: float, side_mm: float) -> None:
    """Draw one mark with its top-left corner at (left, top)."""
    sheet.fill_rects(mark_rects(mark, left=left, top=top, side_mm=side_mm))


def draw_board(sheet: Sheet, design: CardDesign) -> None:
    """Draw a card's board where the design has it, the card's top left being the origin."""
    squares, places = board_rects(design)
    sheet.fill_rects(squares)
    for mark, (left, top, side, _) in places.items():
        draw_mark(sheet, mark, left=left, top=top, side_mm=side)


def _modules(mark: int) -> NDArray[np.uint8]:
    """(8, 8) modules of a mark, 0 black and 255 white, top row first."""
    return np.asarray(cv2.aruco.generateImageMarker(_DICTIONARY, mark, MODULES), dtype=np.uint8)
