"""How blurred a picture is where its marks are, from edges known to be straight and sharp."""

from __future__ import annotations

import math
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.designs import design_named
from measure.results import Picture, Points, SeenCard

__all__ = ["blur_of_board", "blur_of_marks", "looks_blurred"]

# How far an edge is sampled to each side, as a share of the square: the white margin round a mark
# is an eighth of the square wide, the black square much wider.
_INTO_WHITE = 0.115
_INTO_BLACK = 0.40


def blur_of_board(gray: NDArray[np.uint8], card: SeenCard) -> float:
    """One-sigma blur in pixels at the board's edges, the worse of its two directions; NaN if none.

    Edges run between neighbouring chessboard corners, so they are known to a small part of a pixel
    and can be averaged along their length.
    """
    design = design_named(card.design)
    per_row = design.squares_x - 1
    where = dict(zip(card.corner_ids.tolist(), card.corners, strict=True))
    across: list[float] = []
    along: list[float] = []
    for corner, start in where.items():
        column, row = corner % per_row, corner // per_row
        # A square is black where its column and row add up to an even number. The edge to the
        # right of a corner has square (column + 1, row) above it; the edge down has
        # (column, row + 1) on its left.
        if column + 1 < per_row and corner + 1 in where:
            end = where[corner + 1]
            across.append(_edge_blur(gray, start, end, black_on_left=(column + 1 + row) % 2 == 0))
        if corner + per_row in where:
            end = where[corner + per_row]
            along.append(_edge_blur(gray, start, end, black_on_left=(column + row) % 2 == 0))
    directions = [
        float(np.median(kept))
        for blurs in (across, along)
        if (kept := [b for b in blurs if math.isfinite(b)])
    ]
    return max(directions, default=math.nan)


def blur_of_marks(gray: NDArray[np.uint8], quads: Sequence[Points], *, largest: int = 6) -> float:
    """One-sigma blur in pixels at the outer edges of the largest marks; NaN without any.

    A mark's corners are less well known than a board's, so this reads up to half a pixel high.
    """
    blurs = []
    by_size = sorted(quads, key=lambda q: -float(np.ptp(q[:, 0]) + np.ptp(q[:, 1])))
    for quad in by_size[:largest]:
        for i in range(4):
            # Clockwise, so that the black border lies to the right of each edge.
            blurs.append(_edge_blur(gray, quad[i], quad[(i + 1) % 4], black_on_left=False))
    kept = [b for b in blurs if math.isfinite(b)]
    return float(np.median(kept)) if kept else math.nan


def looks_blurred(
    picture: Picture, *, sharp_from: float = 0.23, near_px: int = 2, far_px: int = 16
) -> bool:
    """Whether a picture without marks is blurred as a whole, in at least one direction.

    At 800 pixels, where the picture changes most over sixteen pixels, the largest change over two
    on the way is set against it: an edge that is sharp has most of its step within two, however
    small the thing is that it belongs to. Of 31 of the sample photographs and 20 that come with
    scikit-image, the sharp ones had at least 0.27 in their worst direction, the same shaken along
    2 % of the picture at most 0.20, the three taken shaken 0.15 to 0.19; only one, through a
    microscope and soft, is taken for blurred.
    """
    gray = cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY)
    shrink = 800.0 / max(gray.shape)
    size = (max(1, round(gray.shape[1] * shrink)), max(1, round(gray.shape[0] * shrink)))
    small = cv2.resize(gray, size, interpolation=cv2.INTER_AREA).astype(np.float32)
    if min(small.shape) <= 2 * far_px:
        return False
    shares = []
    for across, down in ((1, 0), (0, 1), (1, 1), (1, -1)):
        diagonal = math.hypot(across, down)
        near, far = round(near_px / diagonal), round(far_px / diagonal)
        over_far = _changes(small, across * far, down * far)
        least = max(8.0, float(np.percentile(over_far, 99.5)))
        rows, columns = np.nonzero(over_far >= least)
        if len(rows) == 0:
            return False
        over_near = _changes(small, across * near, down * near)
        steps = np.arange(far - near + 1)[:, None]
        on_the_way = over_near[rows + steps * down, columns + steps * across].max(axis=0)
        shares.append(float(np.median(on_the_way / over_far[rows, columns])))
    return min(shares) < sharp_from


def _changes(gray: NDArray[np.float32], across: int, down: int) -> NDArray[np.float32]:
    """How much the picture changes from each pixel over this step; 0 where that leads out of it."""
    height, width = gray.shape
    rows = slice(max(0, -down), height - max(0, down))
    there = slice(max(0, down), height + min(0, down))
    changes = np.zeros_like(gray)
    changes[rows, : width - across] = np.abs(gray[there, across:] - gray[rows, : width - across])
    return changes


def _edge_blur(
    gray: NDArray[np.uint8], start: Points, end: Points, *, black_on_left: bool
) -> float:
    """Sigma of one edge from its steepest slope: slope = step / (sigma sqrt(2 pi)).

    Left is seen going from start to end with y down, so it is the side of (dy, -dx).
    """
    length = float(np.linalg.norm(end - start))
    if length < 8.0:
        return math.nan
    direction = (end - start) / length
    left = np.array([direction[1], -direction[0]])
    to_black = left if black_on_left else -left
    steps = np.arange(-max(2.5, _INTO_WHITE * length), _INTO_BLACK * length, 0.25)
    places = np.linspace(0.2, 0.8, max(6, min(40, int(0.6 * length)))) * length
    across, down = (
        (at + places * along)[:, None] + steps * beside
        for at, along, beside in zip(start, direction, to_black, strict=True)
    )
    samples = cv2.remap(
        gray,
        across.astype(np.float32),
        down.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    profile = np.asarray(samples).sum(axis=0, dtype=np.uint32) / len(places)
    low, high = np.percentile(profile, [5.0, 98.0])
    step = float(high - low)
    if step < 12.0:
        return math.nan
    slope = float(np.max(profile[:-4] - profile[4:]))  # over one pixel
    if slope <= 0.0:
        return math.nan
    seen = step / (slope * math.sqrt(2.0 * math.pi))
    # Bilinear sampling and the one-pixel slope add a variance of about 1/6 + 1/12 square pixels.
    return math.sqrt(max(seen * seen - 0.25, 0.0))
