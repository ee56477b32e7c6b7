"""Plane measures of projected points: widest, square to it, least width, ring; what is hidden."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["least_width", "ring", "square_to_widest", "visible_share", "widest"]

Floats = NDArray[np.float64]


def _hull(points: Floats) -> Floats:
    """Convex hull of (N, 2) points, by monotone chains, without rounding to pixels."""
    order = points[np.lexsort((points[:, 1], points[:, 0]))]

    def chain(rows: Floats) -> list[Floats]:
        kept: list[Floats] = []
        for p in rows:
            while len(kept) > 1:
                a, b = kept[-1] - kept[-2], p - kept[-2]
                if a[0] * b[1] - a[1] * b[0] > 0:
                    break
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return np.array(chain(order) + chain(order[::-1]))


def _widest_pair(hull: Floats) -> tuple[int, int]:
    apart = np.linalg.norm(hull[:, None] - hull[None], axis=2)
    first, second = np.unravel_index(apart.argmax(), apart.shape)
    return int(first), int(second)


def widest(points: Floats) -> float:
    """Largest distance between two of the (N, 2) points: the widest measure (Feret)."""
    hull = _hull(points)
    first, second = _widest_pair(hull)
    return float(np.linalg.norm(hull[first] - hull[second]))


def square_to_widest(points: Floats) -> float:
    """The measure square to the widest one."""
    hull = _hull(points)
    first, second = _widest_pair(hull)
    along = (hull[second] - hull[first]) / np.linalg.norm(hull[second] - hull[first])
    across = hull @ np.array([-along[1], along[0]])
    return float(np.ptp(across))


def least_width(points: Floats) -> float:
    """Least distance between two parallel lines round all points; one lies along a hull side."""
    hull = _hull(points)
    side = np.roll(hull, -1, axis=0) - hull
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    normal = np.stack([-side[:, 1], side[:, 0]], 1)
    return float(np.ptp(hull @ normal.T, axis=0).min())


def ring(points: Floats) -> float:
    """Diameter of the smallest circle that holds all points (Welzl's moves, over the hull)."""
    hull = _hull(points)
    centre, radius = hull[0], 0.0

    def through(held: list[Floats]) -> tuple[Floats, float]:
        if len(held) == 2:
            middle = (held[0] + held[1]) / 2
        else:
            a, b, c = held
            left = 2 * np.array([b - a, c - a])
            middle = np.linalg.solve(left, [b @ b - a @ a, c @ c - a @ a])
        return middle, float(np.linalg.norm(held[0] - middle))

    def outside(p: Floats) -> bool:
        return float(np.linalg.norm(p - centre)) > radius * (1 + 1e-12) + 1e-9

    for i, p in enumerate(hull):
        if not outside(p):
            continue
        centre, radius = p, 0.0
        for j, q in enumerate(hull[:i]):
            if not outside(q):
                continue
            centre, radius = through([p, q])
            for r in hull[:j]:
                if outside(r):
                    centre, radius = through([p, q, r])
    return 2 * radius


def visible_share(
    groups: dict[str, Floats], *, eye: Floats, right: Floats, down: Floats, cell: float
) -> dict[str, float]:
    """Share of each group's own silhouette that the camera sees, by a depth buffer.

    ``groups`` holds dense (N, 3) surface points by name; ``right`` and ``down`` are the picture's
    directions; ``cell`` is the buffer's cell as the tangent of its angle.
    """
    ahead = np.cross(right, down)
    names = list(groups)
    cells: list[NDArray[np.int64]] = []
    depths: list[Floats] = []
    for name in names:
        ray = groups[name] - eye
        depth = ray @ ahead
        u = np.floor((ray @ right) / depth / cell).astype(np.int64)
        v = np.floor((ray @ down) / depth / cell).astype(np.int64)
        key = (u + 40_000) * 100_000 + v + 40_000
        order = np.lexsort((depth, key))
        first = np.unique(key[order], return_index=True)
        cells.append(first[0])
        depths.append(depth[order][first[1]])
    everything = np.concatenate(cells)
    owner = np.repeat(np.arange(len(names)), [len(c) for c in cells])
    order = np.lexsort((np.concatenate(depths), everything))
    front = np.unique(everything[order], return_index=True)[1]
    seen = np.bincount(owner[order][front], minlength=len(names))
    return {name: float(seen[k] / len(cells[k])) for k, name in enumerate(names)}
