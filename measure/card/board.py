"""A card's chequered board: its corners and marks in millimetres, and the plane it was seen in."""

from __future__ import annotations

import functools

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import CardDesign, design_named
from measure.results import Points, SeenCard

__all__ = ["board_of", "board_points_mm", "mark_quad_mm", "marks_dictionary", "plane_of_card"]


def board_of(design: CardDesign) -> cv2.aruco.CharucoBoard:
    """OpenCV's description of the design's chequered board, in millimetres."""
    return _board(design.name)


def board_points_mm(design: CardDesign, corner_ids: NDArray[np.int64]) -> Points:
    """(N, 2) positions on the card, in mm from its top left, of the board corners of these ids."""
    per_row = design.squares_x - 1
    column, row = corner_ids % per_row, corner_ids // per_row
    return np.column_stack(
        [
            design.board_left_mm + (column + 1) * design.square_mm,
            design.board_top_mm + (row + 1) * design.square_mm,
        ]
    ).astype(np.float64)


def mark_quad_mm(design: CardDesign, mark: int) -> Points:
    """(4, 2) corners of one board mark, in mm from the board's top left, clockwise."""
    index = design.marks.index(mark)
    quad = np.asarray(_board(design.name).getObjPoints()[index], np.float64).reshape(4, 3)
    return quad[:, :2]


def plane_of_card(card: SeenCard) -> NDArray[np.float64] | None:
    """(3, 3) homography from card millimetres to picture pixels; None with under 4 corners."""
    if len(card.corner_ids) < 4:
        return None
    found = board_points_mm(design_named(card.design), card.corner_ids)
    if np.linalg.matrix_rank(found - found.mean(axis=0), tol=1e-6) < 2:
        return None
    plane, _ = cv2.findHomography(found, card.corners, 0)
    return None if plane is None else np.asarray(plane, dtype=np.float64)


@functools.cache
def marks_dictionary() -> cv2.aruco.Dictionary:
    """The family that cards, tags and word cards share."""
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)


@functools.cache
def _board(name: str) -> cv2.aruco.CharucoBoard:
    design = design_named(name)
    return cv2.aruco.CharucoBoard(
        (design.squares_x, design.squares_y),
        design.square_mm,
        design.mark_mm,
        marks_dictionary(),
        np.array(design.marks, dtype=np.int32),
    )
