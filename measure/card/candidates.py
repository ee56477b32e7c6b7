"""Which of the family's marks a picture may show at all, told quickly from its four-sided shapes.

OpenCV sets every shape against all 587 marks in turn, which takes four fifths of its time; against
the few that any shape comes near to it takes hardly any.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.board import marks_dictionary
from measure.results import Points

__all__ = ["Candidates", "candidates"]

_SIDE = 6
"""Cells along a mark's side, without its black border of one cell."""

# OpenCV corrects three cells of thirty-six; three more are allowed for its reading a cell otherwise
# than it is read here, and five where a cell is hardly two pixels wide. One shape in twelve comes
# so near to some mark by chance, or one and a half marks to a shape.
_NEAR, _NEAR_SMALL, _SMALL_PX = 6, 8, 20.0
# A shape as near as this is a mark, not chance (one in four hundred).
_SURELY = 4
# Points at which a cell is read, in cells from its middle.
_WITHIN = np.array([-0.2, 0.2])
# Room left round the marks, in pixels: more than the widest window over which light is averaged.
_ROOM = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Candidates:
    """What a picture may show of the family.

    Attributes
    ----------
    ids : (N,) int64 array
        Ascending.
    left, top, right, bottom : int
        The part of the picture that they are in, with room round them; all of it where some are
        small, since OpenCV reads a cell of two pixels otherwise when the picture begins elsewhere.
    """

    ids: NDArray[np.int64]
    left: int
    top: int
    right: int
    bottom: int

    def dictionary(self) -> cv2.aruco.Dictionary:
        """The family with these marks alone; a mark's number in it is its place in ``ids``."""
        return _of_ids(tuple(self.ids.tolist()))


def candidates(gray: NDArray[np.uint8], *, smallest_share: float) -> Candidates | None:
    """The marks that a search of ``gray`` can find, each of them among these; None: there are none.

    ``smallest_share`` is the smallest perimeter of a mark, as a share of the picture's longer side.
    """
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = smallest_share
    # Of shapes that lie on one another all are wanted, not the largest.
    parameters.minMarkerDistanceRate = 0.0
    # With a dictionary of one mark the search is over shapes alone.
    detector = cv2.aruco.ArucoDetector(_of_ids((0,)), parameters)
    found, _, others = detector.detectMarkers(gray)
    if not found and not others:
        return None
    quads = np.stack([np.asarray(q, np.float64).reshape(4, 2) for q in (*found, *others)])
    off = np.bitwise_count(_words_of(_cells(gray, quads))[:, :, None] ^ _family())
    sides = np.linalg.norm(quads - np.roll(quads, 1, axis=1), axis=2).mean(axis=1)
    allowed = np.where(sides < _SMALL_PX, _NEAR_SMALL, _NEAR)
    near = (off <= allowed[:, None, None]).any(axis=1)
    if not near.any():
        return None
    places = quads[near.any(axis=1)].reshape(-1, 2)
    if (off[sides < _SMALL_PX] <= _SURELY).any():
        places = np.array([[0.0, 0.0], gray.shape[::-1]])
    left, top = np.maximum(np.floor(places.min(axis=0)).astype(int) - _ROOM, 0)
    right, bottom = np.ceil(places.max(axis=0)).astype(int) + _ROOM
    return Candidates(
        ids=np.flatnonzero(near.any(axis=0)),
        left=int(left),
        top=int(top),
        right=min(int(right), gray.shape[1]),
        bottom=min(int(bottom), gray.shape[0]),
    )


def _of_ids(ids: tuple[int, ...]) -> cv2.aruco.Dictionary:
    family = marks_dictionary()
    return cv2.aruco.Dictionary(
        np.ascontiguousarray(family.bytesList[list(ids)]), _SIDE, family.maxCorrectionBits
    )


def _cells(gray: NDArray[np.uint8], quads: Points) -> NDArray[np.bool_]:
    """(N, 6, 6) whether each cell of each shape, (N, 4, 2), is white were it a mark."""
    steps = (np.arange(_SIDE + 2) + 0.5)[:, None] + _WITHIN
    at = steps.ravel() / (_SIDE + 2)
    x, y = (grid.ravel() for grid in np.meshgrid(at, at))
    places = _in_quads(quads, x, y).astype(np.float32)
    seen = cv2.remap(
        gray, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    side, points = _SIDE + 2, len(_WITHIN)
    cells = np.asarray(seen, np.float64).reshape(-1, side, points, side, points).mean(axis=(2, 4))
    white = cells > _threshold(cells.reshape(len(quads), -1))[:, None, None]
    return np.asarray(white[:, 1:-1, 1:-1])


def _in_quads(quads: Points, x: Points, y: Points) -> Points:
    """(N, M, 2) where points of the unit square, x and y (M,), lie in each shape, in perspective.

    The closed form of Heckbert (Fundamentals of Texture Mapping, 1989, 2.2.3).
    """
    a, b, c, d = (quads[:, k] for k in range(4))
    over = a - b + c - d
    one, other = b - c, d - c
    area = one[:, 0] * other[:, 1] - one[:, 1] * other[:, 0]
    area = np.where(np.abs(area) < 1e-9, 1e-9, area)
    g = (over[:, 0] * other[:, 1] - over[:, 1] * other[:, 0]) / area
    h = (one[:, 0] * over[:, 1] - one[:, 1] * over[:, 0]) / area
    across = b - a + g[:, None] * b
    down = d - a + h[:, None] * d
    below = 1.0 + g[:, None] * x + h[:, None] * y
    there = a[:, None] + across[:, None] * x[:, None] + down[:, None] * y[:, None]
    return np.asarray(there / np.where(np.abs(below) < 1e-9, 1e-9, below)[..., None])


def _threshold(values: NDArray[np.float64]) -> NDArray[np.float64]:
    """The level that parts each row into its two most different groups (Otsu's)."""
    ordered = np.sort(values, axis=1)
    count = ordered.shape[1]
    below = np.cumsum(ordered, axis=1)[:, :-1]
    n = np.arange(1, count)
    apart = (below / n - (ordered.sum(axis=1)[:, None] - below) / (count - n)) ** 2
    best = np.argmax(apart * n * (count - n), axis=1)
    rows = np.arange(len(ordered))
    return np.asarray((ordered[rows, best] + ordered[rows, best + 1]) / 2.0)


def _words_of(cells: NDArray[np.bool_]) -> NDArray[np.uint64]:
    """(N, 4) the cells as one number each, in the four ways round."""
    weights = np.uint64(1) << np.arange(_SIDE * _SIDE, dtype=np.uint64)
    turned = np.stack([np.rot90(cells, k, axes=(1, 2)) for k in range(4)], axis=1)
    flat = turned.reshape(len(cells), 4, -1).astype(np.uint64)
    return np.asarray((flat * weights).sum(axis=2, dtype=np.uint64))


@functools.cache
def _family() -> NDArray[np.uint64]:
    """(587,) every mark of the family as a number."""
    family = marks_dictionary().bytesList
    bits = [cv2.aruco.Dictionary.getBitsFromByteList(mark[None], _SIDE) for mark in family]
    return _words_of(np.stack(bits).astype(bool))[:, 0]
