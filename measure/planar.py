"""Measures of a closed outline in a plane: widest, least width, smallest ring, area."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import ConvexHull, QhullError

from measure.results import Points

__all__ = [
    "Callipers",
    "area_of",
    "hull_of",
    "least_width",
    "narrowest_of",
    "ring_of",
    "square_to",
    "widest_of",
]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Callipers:
    """A measure: its length, and which two of the outline's points it lies between.

    ``along`` is the (2,) unit vector in which it is taken, from the first to the second. The points
    need not lie on one line in that direction: each is any on its jaw of the callipers.
    """

    length: float
    first: int
    second: int
    along: NDArray[np.float64]


def hull_of(points: Points) -> NDArray[np.int64]:
    """Indices of the points on the convex hull, in order round it.

    ``ValueError`` when the points lie on a line or are fewer than three.
    """
    if len(points) < 3:
        msg = f"an outline needs at least three points, got {len(points)}"
        raise ValueError(msg)
    try:
        return np.asarray(ConvexHull(points).vertices, dtype=np.int64)
    except QhullError as error:
        msg = "an outline needs points that do not all lie on one line"
        raise ValueError(msg) from error


def widest_of(points: Points) -> Callipers:
    """Largest distance between two of the (N, 2) points."""
    hull = hull_of(points)
    corners = points[hull]
    apart = np.linalg.norm(corners[:, None] - corners[None], axis=2)
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    length = float(apart[i, j])
    return Callipers(
        length=length,
        first=int(hull[i]),
        second=int(hull[j]),
        along=(corners[j] - corners[i]) / length,
    )


def square_to(points: Points, direction: NDArray[np.float64]) -> float:
    """Extent of the points square to a direction."""
    along = direction / np.linalg.norm(direction)
    return float(np.ptp(points @ np.array([-along[1], along[0]])))


def least_width(points: Points) -> float:
    """Least distance between two parallel lines that hold the outline."""
    return narrowest_of(points).length


def narrowest_of(points: Points) -> Callipers:
    """The least width, and a point of the outline on each of the two lines that hold it.

    One of the lines always runs along a side of the hull.
    """
    hull = hull_of(points)
    corners = points[hull]
    sides = np.roll(corners, -1, axis=0) - corners
    lengths = np.linalg.norm(sides, axis=1)
    sides = sides[lengths > 0] / lengths[lengths > 0, None]
    normals = np.column_stack([-sides[:, 1], sides[:, 0]])
    across = corners @ normals.T
    extents = np.ptp(across, axis=0)
    least = int(extents.argmin())
    return Callipers(
        length=float(extents[least]),
        first=int(hull[across[:, least].argmin()]),
        second=int(hull[across[:, least].argmax()]),
        along=normals[least],
    )


def ring_of(points: Points) -> float:
    """Diameter of the smallest circle that holds all points.

    Grows the circle through at most three points by the point that lies farthest outside, until
    none does; each step makes it larger, so that it ends.
    """
    corners = points[hull_of(points)]
    scale = float(np.ptp(corners, axis=0).max())
    widest = np.linalg.norm(corners - corners[0], axis=1).argmax()
    held = [corners[0], corners[int(widest)]]
    while True:
        centre, radius, held = _smallest_through(held)
        away = np.linalg.norm(corners - centre, axis=1)
        farthest = int(away.argmax())
        if away[farthest] <= radius + 1e-9 * scale:
            return 2.0 * radius
        held = [*held, corners[farthest]]


def area_of(points: Points) -> float:
    """Area inside the closed outline."""
    x, y = (points - points.mean(axis=0)).T
    return float(abs(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0)


def _smallest_through(
    held: list[NDArray[np.float64]],
) -> tuple[NDArray[np.float64], float, list[NDArray[np.float64]]]:
    """Smallest circle that holds two to four points, and the two or three it rests on."""
    best: tuple[NDArray[np.float64], float, list[NDArray[np.float64]]] | None = None
    count = len(held)
    pairs = [[held[i], held[j]] for i in range(count) for j in range(i)]
    triples = [
        [held[i], held[j], held[k]] for i in range(count) for j in range(i) for k in range(j)
    ]
    for chosen in [*pairs, *triples]:
        circle = _circle_through(chosen)
        if circle is None:
            continue
        centre, radius = circle
        slack = 1e-10 * radius
        if all(float(np.linalg.norm(p - centre)) <= radius + slack for p in held) and (
            best is None or radius < best[1]
        ):
            best = (centre, radius, chosen)
    if best is None:
        msg = "an outline needs finite points"
        raise ValueError(msg)
    return best


def _circle_through(
    points: list[NDArray[np.float64]],
) -> tuple[NDArray[np.float64], float] | None:
    if len(points) == 2:
        centre = (points[0] + points[1]) / 2.0
    else:
        a, b, c = points
        left = 2.0 * np.array([b - a, c - a])
        if abs(float(np.linalg.det(left))) < 1e-12 * math.hypot(*(b - a)) * math.hypot(*(c - a)):
            return None
        centre = np.linalg.solve(left, np.array([b @ b - a @ a, c @ c - a @ a]))
    return centre, float(np.linalg.norm(points[0] - centre))
