"""Seeds on paper found and counted: no scale needed, and whichever is the darker."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.seeds_choosing import Part, SeedShape, Share, learn_shape, part_of, share_out
from measure.outline.seeds_cutting import Pieces, cut_everywhere
from measure.outline.seeds_paper import Contrast, contrast_with_paper
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Picture, Points

__all__ = ["SeedCount", "count_seeds"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeedCount:
    """Seeds found in a picture.

    ``seeds`` is how many; ``by_area`` what their areas alone would say, in units of the usual
    seed's. ``hulls`` are the (N, 2) pixels of each seed's hull, ``ends`` (N, 2, 2) its two tips,
    ``alone`` which lie alone. ``edge_sigma_px`` is the standard error of a tip.
    """

    seeds: int
    by_area: float
    hulls: tuple[Points, ...]
    alone: NDArray[np.bool_]
    ends: Points
    u: float
    interval95: tuple[int, int]
    edge_sigma_px: float
    shape: SeedShape
    flags: tuple[Flag, ...] = ()


def count_seeds(
    picture: Picture,
    *,
    keep_out: NDArray[np.bool_] | None = None,
    px_per_mm: float | None = None,
    fine_px_per_mm: float = 5.0,
    longest_px: int = 1600,
) -> SeedCount:
    """Find and count seeds, or whatever lies on a plain ground in much the same size and shape.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    keep_out : (H, W) bool array, optional
        True where the card and tags lie.
    px_per_mm : float, optional
        Scale of the picture; only makes it quicker and surer.

    Raises
    ------
    MeasureError
        When nothing is found, or seeds lie in a heap.
    """
    shrink = _shrink(picture.shape, px_per_mm, fine=fine_px_per_mm, longest_px=longest_px)
    size = (round(picture.shape[1] * shrink), round(picture.shape[0] * shrink))
    small = picture if shrink == 1.0 else np.asarray(
        cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8
    )
    out = np.zeros(small.shape[:2], bool)
    if keep_out is not None:
        out = cv2.resize(keep_out.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    contrast = contrast_with_paper(
        small, keep_out=out, gap_px=None if px_per_mm is None else 30.0 * px_per_mm * shrink
    )
    if contrast is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    parts, where = _lying_apart(contrast)
    shape = learn_shape(parts) if parts else None
    if shape is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    singles, groups, corners = [], [], []
    for part, (x, y, own) in zip(parts, where, strict=True):
        if part.area < 0.35 * shape.area:
            continue
        if shape.unlike(part) < 3.0:
            singles.append(Share(part=part, unlike=shape.unlike(part), pieces=(0,)))
            continue
        padded = cv2.copyMakeBorder(own, 2, 2, 2, 2, cv2.BORDER_CONSTANT, value=0)
        pieces = cut_everywhere(padded, width_px=shape.width, length_px=shape.length)
        full = Pieces(labels=pieces.labels, count=pieces.count, borders=pieces.borders)
        groups.append(full)
        corners.append((x - 2, y - 2))
    shared = share_out(groups, shape)
    hulls = [_hull(s.part, (0, 0), shrink) for s in singles]
    for shares, corner in zip(shared, corners, strict=True):
        hulls += [_hull(s.part, corner, shrink) for s in shares if s.part.area > 0.35 * shape.area]
    n = len(hulls)
    alone = np.arange(n) < len(singles)
    ends = _moved_out(np.array([_tips(hull) for hull in hulls]), alone, contrast.values, shrink=shrink)
    whole = [s.part.area for s in singles] or [shape.area]
    by_area = sum(p.area for p in parts if p.area > 0.35 * shape.area) / float(np.mean(whole))
    thick = max((_thickness(group, shape) for group in groups), default=0.0)
    if thick > max(0.5, 0.008 * n):
        raise MeasureError(Refusal.SEEDS_HEAPED)
    u = _u_of_count(shared, n=n, by_area=by_area, thick=thick)
    reach = math.ceil(1.96 * u - 0.25)
    flags = []
    if u > max(1.2, 0.02 * n) or thick > 0.3:
        flags.append(Flag.COUNT_UNSURE)
    if any(_at_the_edge(p, small.shape) for p in parts if p.area > 0.35 * shape.area):
        flags.append(Flag.TOUCHES_EDGE)
    return SeedCount(
        seeds=n,
        by_area=by_area,
        hulls=tuple(hulls),
        alone=alone,
        ends=ends,
        u=u,
        interval95=(max(len(singles), n - reach), n + reach),
        edge_sigma_px=0.3 / shrink,
        flags=tuple(flags),
        shape=shape,
    )


def _lying_apart(
    contrast: Contrast, *, least: float = 0.25, least_px: int = 12
) -> tuple[list[Part], list[tuple[int, int, NDArray[np.uint8]]]]:
    """What lies apart from the rest: as parts, and as masks with their top left corner.

    Each ends at half of its own contrast. What has much less contrast than most is chaff.
    """
    calm = cv2.GaussianBlur(contrast.values, (0, 0), 0.6)
    faint = (calm > max(least, 4.0 * contrast.noise)).astype(np.uint8)
    count, labels, stats, _ = cv2.connectedComponentsWithStats(faint, connectivity=4)
    parts, where = [], []
    for i in range(1, count):
        x, y, w, h, area = (int(v) for v in stats[i])
        if area < least_px:
            continue
        box = np.s_[y : y + h, x : x + w]
        own, values = labels[box] == i, calm[box]
        level = contrast.level * min(1.0, float(np.percentile(values[own], 80)))
        if level < 0.5 * contrast.level:
            continue
        inner = (own & (values > level)).astype(np.uint8)
        n, inner_labels, inner_stats, _ = cv2.connectedComponentsWithStats(inner, connectivity=4)
        for k in range(1, n):
            u, v, p, q, size = (int(s) for s in inner_stats[k])
            if size < least_px:
                continue
            piece = (inner_labels[v : v + q, u : u + p] == k).astype(np.uint8)
            piece = _without_small_holes(piece)
            ys, xs = np.nonzero(piece)
            parts.append(part_of(ys + y + v, xs + x + u))
            where.append((x + u, y + v, piece))
    return parts, where


def _shrink(
    shape: tuple[int, ...], px_per_mm: float | None, *, fine: float, longest_px: int
) -> float:
    if px_per_mm is not None:
        return min(1.0, fine / px_per_mm)
    return min(1.0, longest_px / max(shape[:2]))


def _without_small_holes(mask: NDArray[np.uint8], *, share: float = 0.03) -> NDArray[np.uint8]:
    """Holes filled that are small beside the whole: gaps between seeds stay."""
    outlines, tree = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if tree is None or len(outlines) < 2:
        return mask
    tree = np.asarray(tree).reshape(-1, 4)
    area = float(mask.sum())
    made = mask.copy()
    for outline, (_, _, _, parent) in zip(outlines, tree, strict=True):
        if parent >= 0 and cv2.contourArea(outline) < share * area:
            cv2.drawContours(made, [outline], -1, 1, -1)
    return made


def _tips(hull: Points) -> Points:
    """(2, 2) the two points of a hull that lie furthest apart."""
    apart = np.linalg.norm(hull[:, None] - hull[None], axis=2)
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    return hull[[i, j]]


def _thickness(group: Pieces, shape: SeedShape) -> float:
    """How much of a group lies further inside than a seed is wide, in areas of a seed.

    Seeds side by side leave gaps where they taper; where they lie over one another none is left.
    """
    inside = cv2.distanceTransform((group.labels > 0).astype(np.uint8), cv2.DIST_L2, 5)
    return float(np.count_nonzero(inside > shape.width)) / shape.area


def _u_of_count(
    shared: list[list[Share]],
    *,
    n: int,
    by_area: float,
    thick: float,
    u_none: float = 0.3,
    variance_in_group: float = 0.02,
    variance_odd: float = 0.15,
    odd_from: float = 6.0,
    area_excess: float = 0.08,
) -> float:
    """Standard uncertainty of a count.

    Each seed in a group may be one of two, each odd one more likely so; what the areas say beyond
    the usual excess of groups over single seeds counts for a tenth; and where a group is thick two
    may hide for each seed's area. Fitted to drawn sheets, as the benchmark tells.
    """
    seeds = [share for shares in shared for share in shares]
    odd = sum(share.unlike > odd_from for share in seeds)
    apart = max(0.0, abs(by_area - (1.0 + area_excess / 2.0) * n) - area_excess * n)
    variance = u_none**2 + variance_in_group * len(seeds) + variance_odd * odd
    return math.sqrt(variance + (0.1 * apart) ** 2 + (2.0 * thick) ** 2)


def _at_the_edge(part: Part, shape: tuple[int, ...]) -> bool:
    hull = part.hull.reshape(-1, 2)
    return bool(np.any(hull <= 1) or np.any(hull >= np.array([shape[1], shape[0]]) - 2))


def _moved_out(
    ends: Points,
    alone: NDArray[np.bool_],
    values: NDArray[np.float32],
    *,
    shrink: float,
    tip_level: float = 0.5,
    reach: float = 0.12,
) -> Points:
    """Tips moved out to where the contrast ends, from the last pixel that was surely seed.

    Each tip of a seed alone along its own seed's length, to ``tip_level`` of the contrast, at most
    by ``reach`` of the length; tips in groups, where a neighbour may follow, by as much as those.
    """
    along = ends - ends[:, ::-1]
    length = np.linalg.norm(along, axis=2, keepdims=True)
    unit = along / length
    step = np.linspace(-0.02, reach, 40)
    where = ends[:, :, None, :] + step[None, None, :, None] * along[:, :, None, :]
    where = ((where + 0.5) * shrink - 0.5).astype(np.float32).reshape(len(ends) * 2, -1, 2)
    level = cv2.remap(values, where[..., 0], where[..., 1], cv2.INTER_LINEAR, borderValue=0.0)
    below = np.asarray(level).reshape(len(ends), 2, -1) < tip_level
    # The first step that is below, and none when it never is.
    first = np.where(below.any(axis=2), below.argmax(axis=2), len(step) - 1)
    moved = step[first][..., None] * length
    usual = np.median(moved[alone] if alone.any() else moved)
    out = np.where(alone[:, None, None], moved, usual)
    made: Points = ends + out * unit
    return made


def _hull(part: Part, corner: tuple[int, int], shrink: float) -> Points:
    hull: Points = (part.hull.reshape(-1, 2) + np.array(corner) + 0.5) / shrink - 0.5
    return hull
