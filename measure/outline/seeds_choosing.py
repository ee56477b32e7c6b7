"""Which pieces together make one seed: the likeliest way to share a group out among seeds."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from measure.outline.seeds_cutting import Pieces

__all__ = ["Part", "SeedShape", "Share", "learn_shape", "part_of", "share_out"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """A piece, or several together: what adds up, and what its outline is made of.

    ``sums`` are area, and the sums of x, y, xx, xy and yy over its pixels; ``hull`` the (N, 2)
    pixels of its hull.
    """

    sums: NDArray[np.float64]
    hull: NDArray[np.int32]

    @property
    def area(self) -> float:
        """Pixels in it."""
        return float(self.sums[0])

    def axes(self) -> tuple[float, float]:
        """Length and width of the ellipse of the same second moments, in pixels."""
        n, x, y, xx, xy, yy = self.sums
        a, b, c = (
            xx / n - (x / n) ** 2 + 1 / 12,
            xy / n - x * y / n**2,
            yy / n - (y / n) ** 2 + 1 / 12,
        )
        half = math.hypot((a - c) / 2.0, b)
        return 4.0 * math.sqrt((a + c) / 2.0 + half), 4.0 * math.sqrt(
            max((a + c) / 2.0 - half, 1e-3)
        )

    def fullness(self) -> float:
        """Area over that of the hull: 1 where nothing turns inwards."""
        hull = self.hull.reshape(-1, 2)
        step = np.abs(np.diff(hull, axis=0, append=hull[:1])).max(axis=1).sum()
        # Pick's theorem: pixels on and inside a polygon between their middles.
        return self.area / (float(cv2.contourArea(self.hull)) + float(step) / 2.0 + 1.0)


def part_of(ys: NDArray[np.int64], xs: NDArray[np.int64]) -> Part:
    """The part made of these pixels."""
    x, y = xs.astype(np.float64), ys.astype(np.float64)
    sums = np.array([len(x), x.sum(), y.sum(), x @ x, x @ y, y @ y])
    hull = cv2.convexHull(np.column_stack([xs, ys]).astype(np.int32).reshape(-1, 1, 2))
    return Part(sums=sums, hull=np.asarray(hull, np.int32).reshape(-1, 1, 2))


def together(parts: list[Part]) -> Part:
    """Several parts as one."""
    if len(parts) == 1:
        return parts[0]
    hull = cv2.convexHull(np.concatenate([p.hull for p in parts]))
    return Part(
        sums=np.sum([p.sums for p in parts], axis=0),
        hull=np.asarray(hull, np.int32).reshape(-1, 1, 2),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeedShape:
    """What one seed looks like in this picture, learnt from those that lie alone.

    ``usual`` and ``spread`` are of log length and log width together; ``fullness`` and ``oval``
    (area over that of the ellipse) with their scatters.
    """

    area: float
    usual: NDArray[np.float64]
    spread: NDArray[np.float64]
    fullness: tuple[float, float]
    oval: tuple[float, float]

    @property
    def length(self) -> float:
        """Of a usual seed, pixels."""
        return math.exp(self.usual[0])

    @property
    def width(self) -> float:
        """Of a usual seed, pixels."""
        return math.exp(self.usual[1])

    def unlike(self, part: Part) -> float:
        """How unlike a seed: half the squared distance in units of the seeds' own scatter."""
        return float(self.unlike_by_moments(part.sums[None])[0]) + self.unlike_by_hollows(part)

    def unlike_by_moments(self, sums: NDArray[np.float64]) -> NDArray[np.float64]:
        """The part of it that is by length, width and how oval it is, for (N, 6) sums."""
        n, x, y = sums[:, 0], sums[:, 1] / sums[:, 0], sums[:, 2] / sums[:, 0]
        a, c = sums[:, 3] / n - x**2 + 1 / 12, sums[:, 5] / n - y**2 + 1 / 12
        b = sums[:, 4] / n - x * y
        half = np.hypot((a - c) / 2.0, b)
        axes = 4.0 * np.sqrt(
            np.column_stack([(a + c) / 2.0 + half, np.maximum((a + c) / 2.0 - half, 1e-3)])
        )
        off = np.log(axes) - self.usual
        far = np.sum(off @ np.linalg.inv(self.spread) * off, axis=1)
        odd = (n / (math.pi / 4.0 * axes[:, 0] * axes[:, 1]) - self.oval[0]) / self.oval[1]
        return np.asarray(0.5 * (far + odd**2))

    def unlike_by_hollows(self, part: Part) -> float:
        """The part of it that is by hollows in the outline."""
        return 0.5 * max(0.0, (self.fullness[0] - part.fullness()) / self.fullness[1]) ** 2


def learn_shape(parts: list[Part], *, least_fullness: float = 0.88) -> SeedShape | None:
    """The shape of the seeds that lie alone, from all groups; None when there are none.

    Those are the groups without hollows whose area is near the commonest. Weighed by area, so
    that grains of dust don't count for seeds however many they are.
    """
    if not parts:
        return None
    areas = np.array([p.area for p in parts])
    full = np.array([p.fullness() for p in parts])
    whole = full >= least_fullness
    if not whole.any():
        whole = full >= np.percentile(full, 70)
    area = _weighted_median(areas[whole], areas[whole])
    for _ in range(4):
        near = whole & (areas > area / 2.2) & (areas < 1.7 * area)
        if not near.any():
            break
        area = float(np.median(areas[near]))
    near = whole & (areas > area / 2.2) & (areas < 1.8 * area)
    if not near.any():
        return None
    singles = [parts[i] for i in np.flatnonzero(near)]
    logs = np.log(np.array([p.axes() for p in singles]))
    usual = np.median(logs, axis=0)
    off = np.clip(logs - usual, -0.6, 0.6)
    # With few seeds their own scatter says little: it is pulled towards one of a usual sample.
    prior, weight = np.array([[0.030, 0.004], [0.004, 0.045]]), 6.0
    spread = (off.T @ off + weight * prior) / (len(off) + weight)
    fullness = np.array([p.fullness() for p in singles])
    oval = np.array([p.area / (math.pi / 4.0 * np.prod(p.axes())) for p in singles])
    return SeedShape(
        area=area,
        usual=usual,
        spread=spread,
        fullness=(float(np.median(fullness)), max(0.03, _scatter(fullness))),
        oval=(float(np.median(oval)), max(0.03, _scatter(oval))),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Share:
    """One seed of a group, how unlike a seed it is, and which pieces it is made of."""

    part: Part
    unlike: float
    pieces: tuple[int, ...]


def share_out(
    groups: list[Pieces],
    shape: SeedShape,
    *,
    a_seed_more: float = 1.5,
    a_border: float = 0.8,
    left_over: float = 25.0,
    most_pieces: int = 6,
    most_area: float = 2.2,
    most_cost: float = 9.0,
) -> list[list[Share]]:
    """Share the pieces of each group out among seeds, all groups at once.

    Each way to do it costs what its seeds are unlike seeds, so much for each seed more, and for
    the borders between seeds by their length in seeds' widths. A piece may be left over, at
    a cost by its area. The cheapest is found exactly, as a set partition.
    """
    costs: list[float] = []
    owners: list[tuple[int, Share | None]] = []
    rows: list[int] = []
    columns: list[int] = []
    start = 0
    for g, group in enumerate(groups):
        for share, cost in _candidates(
            group,
            shape,
            a_seed_more=a_seed_more,
            a_border=a_border,
            most_pieces=most_pieces,
            most_area=most_area,
            most_cost=most_cost,
        ):
            owners.append((g, share))
            rows += [start + i for i in share.pieces]
            columns += [len(costs)] * len(share.pieces)
            costs.append(cost)
            if len(share.pieces) == 1:
                owners.append((g, None))
                rows.append(start + share.pieces[0])
                columns.append(len(costs))
                costs.append(left_over * share.part.area / shape.area + 0.5)
        start += group.count
    made: list[list[Share]] = [[] for _ in groups]
    if not costs:
        return made
    matrix = csr_array((np.ones(len(rows)), (rows, columns)), shape=(start, len(costs)))
    answer = milp(
        np.array(costs),
        integrality=np.ones(len(costs)),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, 1, 1),
    )
    for k in np.flatnonzero(answer.x > 0.5):
        g, seed = owners[k]
        if seed is not None:
            made[g].append(seed)
    return made


def _candidates(
    group: Pieces,
    shape: SeedShape,
    *,
    a_seed_more: float,
    a_border: float,
    most_pieces: int,
    most_area: float,
    most_cost: float,
) -> list[tuple[Share, float]]:
    """What might be a seed in this group, with its cost: each piece, and joined pieces."""
    parts = _parts(group)
    sums = np.array([p.sums for p in parts])
    border = np.zeros((group.count, group.count))
    for (i, j), n in group.borders.items():
        border[i - 1, j - 1] = border[j - 1, i - 1] = n
    chosen = _connected(
        border > 0,
        sums,
        most_area=most_area * shape.area,
        most_apart=math.exp(shape.usual[0] + 2.5 * math.sqrt(shape.spread[0, 0])),
        most=most_pieces,
    )
    member = np.zeros((len(chosen), group.count))
    for k, pieces in enumerate(chosen):
        member[k, list(pieces)] = 1.0
    held = member @ border
    outer = held.sum(axis=1) - np.sum(held * member, axis=1)
    off = shape.unlike_by_moments(member @ sums)
    bound = 4.0 * (math.exp(most_cost / 4.0) - 1.0)
    kept: dict[int, float] = {}
    made = []
    for k, pieces in enumerate(chosen):
        if len(pieces) > 1 and off[k] > bound:
            continue
        part = together([parts[i] for i in pieces])
        unlike = float(off[k]) + shape.unlike_by_hollows(part)
        if len(pieces) > 1 and unlike > bound:
            continue
        cost = (
            4.0 * math.log1p(unlike / 4.0)
            + a_seed_more
            + a_border * float(outer[k]) / 2.0 / shape.width
        )
        bits = sum(1 << i for i in pieces)
        # What costs no less than two parts of it is never chosen.
        if len(pieces) > 1 and _in_two(bits, kept) <= cost:
            continue
        kept[bits] = cost
        made.append((Share(part=part, unlike=unlike, pieces=pieces), cost))
    return made


def _in_two(bits: int, kept: dict[int, float]) -> float:
    """The least cost of what these pieces cost when made into two seeds already judged."""
    least = math.inf
    first = bits & -bits
    rest = bits ^ first
    part = rest
    while part:
        part = (part - 1) & rest
        one = kept.get(first | part)
        if one is not None:
            other = kept.get(rest ^ part)
            if other is not None:
                least = min(least, one + other)
    return least


def _parts(group: Pieces) -> list[Part]:
    ys, xs = np.nonzero(group.labels)
    of = group.labels[ys, xs]
    order = np.argsort(of, kind="stable")
    ends = np.cumsum(np.bincount(of, minlength=group.count + 1))
    return [
        part_of(ys[order[ends[i] : ends[i + 1]]], xs[order[ends[i] : ends[i + 1]]])
        for i in range(group.count)
    ]


def _connected(
    beside: NDArray[np.bool_],
    sums: NDArray[np.float64],
    *,
    most_area: float,
    most_apart: float,
    most: int,
    limit: int = 6000,
) -> list[tuple[int, ...]]:
    """Sets of joined pieces, small ones first, up to a number, an area and a distance apart."""
    areas = sums[:, 0].tolist()
    middles = sums[:, 1:3] / sums[:, :1]
    apart = np.linalg.norm(middles[:, None] - middles[None], axis=2)
    count = len(areas)
    near = [int(sum(1 << int(j) for j in np.flatnonzero(row))) for row in apart < most_apart]
    joined = [int(sum(1 << int(j) for j in np.flatnonzero(row))) for row in beside]
    # Each set as bits: its area, the pieces that touch it, and those near to all of it.
    layer = {1 << i: (areas[i], joined[i], near[i]) for i in range(count)}
    found = list(layer)
    for _ in range(most - 1):
        following: dict[int, tuple[float, int, int]] = {}
        for bits, (area, touching, within) in layer.items():
            free = touching & within & ~bits
            while free:
                bit = free & -free
                free ^= bit
                i = bit.bit_length() - 1
                if bits | bit not in following and area + areas[i] <= most_area:
                    following[bits | bit] = (
                        area + areas[i],
                        touching | joined[i],
                        within & near[i],
                    )
        found += following
        layer = following
        if len(found) > limit:
            break
    return [tuple(i for i in range(count) if bits >> i & 1) for bits in found]


def _weighted_median(values: NDArray[np.float64], weights: NDArray[np.float64]) -> float:
    order = np.argsort(values, kind="stable")
    total = np.cumsum(weights[order])
    return float(values[order][np.searchsorted(total, total[-1] / 2.0)])


def _scatter(values: NDArray[np.float64]) -> float:
    return 1.4826 * float(np.median(np.abs(values - np.median(values))))
