"""Seeds on paper found and counted: no scale needed, and whichever is the darker."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.seeds_apart import Apart, lying_apart
from measure.outline.seeds_choosing import Part, SeedShape, Share, learn_shape, share_out
from measure.outline.seeds_cutting import cut_everywhere
from measure.outline.seeds_doubt import thickness, u_of_count
from measure.outline.seeds_paper import contrast_with_paper
from measure.outline.seeds_tips import moved_out, tips_of
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Picture, Points

__all__ = ["SeedCount", "count_seeds"]


# Less than this share of a usual seed's area is dust.
_LEAST_SEED = 0.35
_ROOM = 2


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
    flags: tuple[Flag, ...] = ()


def count_seeds(
    picture: Picture,
    *,
    keep_out: NDArray[np.bool_] | None = None,
    px_per_mm: float | None = None,
    fine_px_per_mm: float = 5.0,
    longest_px: int = 1600,
    widest_group_mm: float = 30.0,
) -> SeedCount:
    """Find and count seeds, or whatever lies on a plain ground in much the same size and shape.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    keep_out : (H, W) bool array, optional
        True where the card and tags lie.
    px_per_mm : float, optional
        Scale of the picture; only makes it quicker and surer.
    fine_px_per_mm, longest_px : float, int
        The picture is shrunk to so many pixels a millimetre, or to this longer side where the
        scale is not known.
    widest_group_mm : float
        Seeds, or groups of them without bare paper between, are narrower than this.

    Raises
    ------
    MeasureError
        When nothing is found, or seeds lie in a heap.
    """
    if px_per_mm is None:
        shrink = min(1.0, longest_px / max(picture.shape[:2]))
    else:
        shrink = min(1.0, fine_px_per_mm / px_per_mm)
    scale = None if px_per_mm is None else px_per_mm * shrink
    size = (round(picture.shape[1] * shrink), round(picture.shape[0] * shrink))
    small = picture
    if shrink < 1.0:
        small = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
    out = np.zeros(small.shape[:2], bool)
    if keep_out is not None:
        out = cv2.resize(keep_out.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST) > 0
    contrast = contrast_with_paper(
        small, keep_out=out, gap_px=None if scale is None else widest_group_mm * scale
    )
    if contrast is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    apart = lying_apart(contrast)
    whole = [one.part for one in apart if not (one.off_sheet or one.cut_off)]
    shape = learn_shape([part for part in whole if _likely(part, scale)])
    if shape is None:
        raise MeasureError(Refusal.NO_SUBJECT)
    sorted_out = _sorted_out(apart, shape)
    groups = [
        cut_everywhere(_with_room(one.mask), width_px=shape.width, length_px=shape.length)
        for one in sorted_out.groups
    ]
    shared = share_out(groups, shape)
    found = [(share.part, (0, 0)) for share in sorted_out.singles]
    for one, shares in zip(sorted_out.groups, shared, strict=True):
        corner = (one.corner[0] - _ROOM, one.corner[1] - _ROOM)
        found += [(s.part, corner) for s in shares if s.part.area > _LEAST_SEED * shape.area]
    seeds = len(found)
    thick = max((thickness(group, shape) for group in groups), default=0.0)
    if thick > max(0.5, 0.008 * seeds):
        raise MeasureError(Refusal.SEEDS_HEAPED)
    u = u_of_count(
        shared, n=seeds, by_area=sorted_out.by_area, thick=thick, left_out=sorted_out.left_out
    )
    flags = []
    if u > max(1.2, 0.02 * seeds) or thick > 0.3:
        flags.append(Flag.COUNT_UNSURE)
    if sorted_out.cut_off:
        flags.append(Flag.TOUCHES_EDGE)
    hulls = tuple(_hull(part, corner, shrink) for part, corner in found)
    alone = np.arange(seeds) < len(sorted_out.singles)
    reach = math.ceil(1.96 * u - 0.25)
    return SeedCount(
        seeds=seeds,
        by_area=sorted_out.by_area,
        hulls=hulls,
        ends=moved_out(np.array([tips_of(hull) for hull in hulls]), alone, contrast, shrink=shrink),
        alone=alone,
        u=u,
        interval95=(max(len(sorted_out.singles), seeds - reach), seeds + reach),
        edge_sigma_px=0.3 / shrink,
        flags=tuple(flags),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _SortedOut:
    """Seeds alone, groups, and how many usual seeds' areas meet the picture's edge uncounted."""

    singles: list[Share]
    groups: list[Apart]
    by_area: float
    left_out: float
    cut_off: bool


def _sorted_out(
    apart: list[Apart], shape: SeedShape, *, alone_below: float = 3.0, odd_from: float = 6.0
) -> _SortedOut:
    """Seeds alone and groups; dust is left out, and chaff, by its paler colour.

    What meets the edge of sheet, card or picture counts only where it looks like a seed: it may be
    the table.
    """
    chaff_below = _chaff_below([o for o in apart if o.part.area >= _LEAST_SEED * shape.area])
    singles, groups = [], []
    area, left_out, cut_off = 0.0, 0.0, False
    for one in apart:
        unlike = shape.unlike(one.part)
        # A pale seed has a seed's shape; what is much paler still is chaff, whatever its shape.
        paler = 1.0 if unlike > alone_below else 0.8
        if one.part.area < _LEAST_SEED * shape.area or one.contrast < paler * chaff_below:
            continue
        if not one.off_sheet:
            cut_off = cut_off or one.cut_off
        if (one.off_sheet or one.cut_off) and unlike > odd_from:
            left_out += 0.0 if one.off_sheet else min(one.part.area / shape.area, 3.0)
            continue
        area += one.part.area
        if unlike < alone_below:
            singles.append(Share(part=one.part, unlike=unlike, pieces=(0,)))
        else:
            groups.append(one)
    usual = float(np.mean([s.part.area for s in singles])) if singles else shape.area
    return _SortedOut(
        singles=singles, groups=groups, by_area=area / usual, left_out=left_out, cut_off=cut_off
    )


def _chaff_below(apart: list[Apart], *, paler: float = 0.3, scatters: float = 4.0) -> float:
    """The contrast below which something is chaff: much paler than most, by their own scatter."""
    contrasts = np.array([one.contrast for one in apart])
    usual = float(np.median(contrasts))
    scatter = 1.4826 * float(np.median(np.abs(contrasts - usual)))
    return usual - max(paler * usual, scatters * scatter)


def _likely(part: Part, px_per_mm: float | None) -> bool:
    """Whether it could be a seed by its length, where the scale is known: 2 to 40 mm."""
    return px_per_mm is None or 2.0 < part.axes()[0] / px_per_mm < 40.0


def _with_room(mask: NDArray[np.uint8]) -> NDArray[np.uint8]:
    room = (_ROOM, _ROOM, _ROOM, _ROOM)
    return np.asarray(cv2.copyMakeBorder(mask, *room, cv2.BORDER_CONSTANT, value=0), np.uint8)


def _hull(part: Part, corner: tuple[int, int], shrink: float) -> Points:
    hull: Points = (part.hull.reshape(-1, 2) + np.array(corner) + 0.5) / shrink - 0.5
    return hull
