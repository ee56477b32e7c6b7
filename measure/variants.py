"""Sizes of many variants of one outline at once, to tell what small changes do to them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal, cast

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Points

__all__ = [
    "Kind",
    "Many",
    "Picks",
    "areas_of_many",
    "least_widths_of_many",
    "picks_of",
    "ragged_sizes",
    "sizes_of_many",
    "spreads_of_many",
    "support_points",
]

Many = dict[str, NDArray[np.float64]]
"""(B,) sizes by name, one of each for every variant."""

Kind = Literal["bloom", "clump"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Picks:
    """Which points of a convex outline its sizes can rest on, once it has changed a little.

    ``pairs`` (P, 2) for the widest measure; ``triples`` (T, 3) for the ring, as columns of
    ``rim`` (M,); ``sides`` (S,) for the least width, each from its point to the next.
    """

    pairs: NDArray[np.int64]
    rim: NDArray[np.int64]
    triples: NDArray[np.int64]
    sides: NDArray[np.int64]


def support_points(outline: Points, *, directions: int = 48) -> NDArray[np.int64]:
    """Indices of the points that lie furthest out in evenly spread directions, in order round."""
    furthest = np.argmax(outline @ _fan(directions).T, axis=0)
    return np.asarray(list(dict.fromkeys(furthest.tolist())), dtype=np.int64)


def picks_of(outline: Points, *, near: float = 0.93, pairs: int = 240, rim: int = 10) -> Picks:
    """Picks for small changes of a convex outline (N, 2), its points in order.

    ``near`` is the share of the widest measure from which on a pair may become the widest.
    """
    first, second = np.triu_indices(len(outline), 1)
    apart = np.linalg.norm(outline[first] - outline[second], axis=1)
    long = np.argsort(apart)[::-1][:pairs]
    long = long[apart[long] >= near * apart[long[0]]]
    (x, y), radius = cv2.minEnclosingCircle(outline.astype(np.float32))
    off = outline - [x, y]
    away = np.linalg.norm(off, axis=1)
    sector = np.floor((np.arctan2(off[:, 1], off[:, 0]) / (2.0 * np.pi) + 0.5) * rim)
    chosen = []
    for place in range(rim):
        inside = np.flatnonzero((sector == place) & (away >= 0.85 * radius))
        if len(inside):
            chosen.append(inside[away[inside].argmax()])
    triples = list(itertools.combinations(range(len(chosen)), 3))
    extents = np.ptp(outline @ _normals(outline).T, axis=0)
    slim = np.argsort(extents)[:24]
    return Picks(
        pairs=np.column_stack([first[long], second[long]]),
        rim=np.asarray(chosen, dtype=np.int64),
        triples=np.asarray(triples, dtype=np.int64).reshape(-1, 3),
        sides=np.asarray(slim[extents[slim] <= 1.2 * extents[slim[0]]], dtype=np.int64),
    )


def sizes_of_many(outlines: NDArray[np.float64], picks: Picks, *, kind: Kind) -> Many:
    """Sizes of variants (B, N, 2) of the convex outline that the picks were made for."""
    if kind == "clump":
        return {
            "spread_mm": spreads_of_many(outlines, picks),
            "width_mm": least_widths_of_many(outlines, picks),
            "area_cm2": areas_of_many(outlines),
        }
    ends = outlines[:, picks.pairs[:, 1]] - outlines[:, picks.pairs[:, 0]]
    square = np.einsum("bpk,bpk->bp", ends, ends)
    best = np.argmax(square, axis=1)
    every = np.arange(len(outlines))
    widest = np.sqrt(square[every, best])
    x, y = outlines[..., 0], outlines[..., 1]
    along = ends[every, best] / widest[:, None]
    across = np.ptp(y * along[:, :1] - x * along[:, 1:], axis=1)
    return {
        "widest_mm": widest,
        "diameter_mm": (widest + across) / 2.0,
        "ring_mm": _rings(outlines[:, picks.rim], picks.triples),
        "area_cm2": areas_of_many(outlines),
    }


def spreads_of_many(outlines: NDArray[np.float64], picks: Picks) -> NDArray[np.float64]:
    """(B,) widest measures of variants (B, N, 2) of the outline that the picks were made for."""
    first, second = picks.pairs.T
    # One axis at a time: far less to copy than (B, P, 2) at once.
    x, y = np.ascontiguousarray(outlines[..., 0]), np.ascontiguousarray(outlines[..., 1])
    square = (x[:, second] - x[:, first]) ** 2
    square += (y[:, second] - y[:, first]) ** 2
    return np.asarray(np.sqrt(square.max(axis=1)), dtype=np.float64)


def least_widths_of_many(outlines: NDArray[np.float64], picks: Picks) -> NDArray[np.float64]:
    """(B,) least widths of variants (B, N, 2) of the outline that the picks were made for."""
    sides = outlines[:, (picks.sides + 1) % outlines.shape[1]] - outlines[:, picks.sides]
    normals = np.stack([-sides[..., 1], sides[..., 0]], axis=-1)
    normals /= np.maximum(np.linalg.norm(normals, axis=2, keepdims=True), 1e-12)
    across = np.matmul(normals, outlines.transpose(0, 2, 1))
    extents = across.max(axis=2) - across.min(axis=2)
    return np.asarray(extents.min(axis=1), dtype=np.float64)


def areas_of_many(outlines: NDArray[np.float64]) -> NDArray[np.float64]:
    """(B,) areas in square centimetres of outlines (B, N, 2) in mm."""
    x, y = outlines[..., 0], outlines[..., 1]
    twice = np.sum(x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1), axis=1)
    return np.asarray(np.abs(twice) / 200.0, dtype=np.float64)


def ragged_sizes(outlines: NDArray[np.float64], *, kind: Kind, directions: int = 180) -> Many:
    """Sizes of closed outlines (B, N, 2) that need not be convex nor alike, to about 0.02 %.

    Measured in evenly spread directions only: for differences between outlines alike.
    """
    half = directions // 2
    widths = np.ptp(np.matmul(_fan(directions)[:half], outlines.transpose(0, 2, 1)), axis=2)
    best = np.argmax(widths, axis=1)
    every = np.arange(len(outlines))
    widest = widths[every, best]
    x, y = outlines[..., 0], outlines[..., 1]
    area = np.abs(np.sum(x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1), axis=1)) / 200.0
    if kind == "clump":
        return {"spread_mm": widest, "width_mm": widths.min(axis=1), "area_cm2": area}
    across = widths[every, (best + half // 2) % half]
    rim = 16
    middle = outlines.mean(axis=(0, 1))
    off = outlines - middle
    away = np.linalg.norm(off, axis=2)
    turn = np.arctan2(off[0, :, 1], off[0, :, 0]) / (2.0 * np.pi) + 0.5
    sector = np.minimum(np.floor(turn * rim), rim - 1)
    columns = [np.flatnonzero(sector == place) for place in range(rim)]
    columns = [column for column in columns if len(column)]
    outer = np.stack(
        [outlines[every, column[np.argmax(away[:, column], axis=1)]] for column in columns], axis=1
    )
    triples = np.array(list(itertools.combinations(range(len(columns)), 3)))
    return {
        "widest_mm": widest,
        "diameter_mm": (widest + across) / 2.0,
        "ring_mm": _rings(outer, triples),
        "area_cm2": area,
    }


def _rings(points: NDArray[np.float64], triples: NDArray[np.int64]) -> NDArray[np.float64]:
    """(B,) diameters of the smallest circles that hold the points (B, M, 2).

    The smallest circle round many points is the largest of those round three of them (Helly).
    """
    count = points.shape[1]
    first, second = np.triu_indices(count, 1)
    number = np.zeros((count, count), dtype=np.int64)
    number[first, second] = np.arange(len(first))
    gaps = points[:, first] - points[:, second]
    square = np.einsum("bpk,bpk->bp", gaps, gaps)
    i, j, k = triples.T
    a, b, c = square[:, number[i, j]], square[:, number[j, k]], square[:, number[i, k]]
    longest = np.maximum(np.maximum(a, b), c)
    total = a + b + c
    # Sixteen times the triangle's area squared, by Heron's formula in squares of its sides.
    heron = np.maximum(total * total - 2.0 * (a * a + b * b + c * c), 1e-12 * longest**2)
    acute = 2.0 * longest < total
    through = np.where(acute, 4.0 * a * b * c / heron, longest)
    return cast("NDArray[np.float64]", np.sqrt(through.max(axis=1)))


def _fan(directions: int) -> NDArray[np.float64]:
    turn = np.arange(directions) * (2.0 * np.pi / directions)
    return np.column_stack([np.cos(turn), np.sin(turn)])


def _normals(outline: Points) -> NDArray[np.float64]:
    sides = np.roll(outline, -1, axis=0) - outline
    length = np.maximum(np.linalg.norm(sides, axis=1, keepdims=True), 1e-12)
    return cast("NDArray[np.float64]", np.column_stack([-sides[:, 1], sides[:, 0]]) / length)
