"""A clump's outline on any ground, without its cut stem and its hair roots, and its tubers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from measure.outline.clump_looks import (
    LARGEST_MM,
    SMALLEST_MM,
    Chances,
    Look,
    gathered,
    look_at,
    look_closely,
    look_from_afar,
)
from measure.outline.colours import colour_ratio
from measure.outline.edge import Edge, refine_edge
from measure.outline.regions import (
    Mask,
    bridged,
    dilated,
    filled,
    grown,
    longest_contour,
    open_by,
    overlap,
    reached,
    rough_parts,
    spread_of,
    touch_length,
    widest_of,
)
from measure.outline.roots import sorted_again, without_roots
from measure.outline.verdict import outline_of
from measure.outline.window import Window, carried, window_of
from measure.outline.witness import Witness, colour_witness
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Picture, Points

__all__ = ["FoundClump", "find_clump"]

# Colours of clump and ground less apart than this are alike; that matters unless all else agrees.
_ALIKE = 0.6
_SURE_THOUGH_ALIKE = 0.85
# Chance from which a pixel is clump, and pixels a millimetre at which its edge is looked at. At 0.5
# more shade is taken in than tuber is lost.
_LEVEL = 0.6
_FINE_PX_PER_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundClump:
    """A clump found in a picture.

    ``window`` is the close look at it, and ``cores`` and ``stem`` are the chances, (h, w) from 0
    to 1, that a pixel of it lies well inside a tuber of its own, or on the stem.
    """

    outline: Outline
    window: Window
    cores: Chances
    stem: Chances


def find_clump(
    picture: Picture,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    root_mm: float = 4.0,
    unsure_below: float = 0.6,
) -> FoundClump:
    """Find the clump nearest to a point and follow its edge.

    A network looks at the surroundings of the point, then closely at what it found; the edge is
    then followed at full size. What the colours alone say bears witness for or against it.

    Parameters
    ----------
    picture : (H, W, 3) uint8 RGB array
    keep_out : (H, W) bool array
        The card and tags; never clump.
    near : (x, y) in pixels
        Where the clump is expected.
    px_per_mm : float
        Scale at the clump.
    root_mm : float
        What is thinner than this is hair root and left out.
    unsure_below : float
        Confidence under which the outline is flagged.

    Raises
    ------
    MeasureError
        NO_SUBJECT, OUTLINE_FAILED or SUBJECT_CUT_OFF.
    """
    height, width = picture.shape[:2]
    far, part = look_from_afar(picture, keep_out=keep_out, near=near, px_per_mm=px_per_mm)
    try:
        seen, mask = look_closely(picture, far.window, part, keep_out=keep_out, px_per_mm=px_per_mm)
    except MeasureError as error:
        if _runs_off(far, part, picture):
            raise MeasureError(Refusal.SUBJECT_CUT_OFF) from error
        raise
    scale = px_per_mm * seen.window.scale_x
    stout = open_by(mask, 1.4 * scale)
    if not stout.any():
        raise MeasureError(Refusal.OUTLINE_FAILED)
    if not SMALLEST_MM * scale <= spread_of(stout) <= LARGEST_MM * scale:
        raise MeasureError(Refusal.NO_SUBJECT)
    edge = _followed(picture, seen, mask, px_per_mm=px_per_mm, root_mm=root_mm)
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    if _cut_off(points, picture):
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    witness = colour_witness(
        seen.window, mask, never=seen.window.shrink_mask(keep_out) | (seen.stem > 0.4), scale=scale
    )
    outline = outline_of(
        edge,
        points,
        confidence=_confidence(seen, mask, far, part, witness, scale=scale),
        touching_px=touch_length(points, width=width, height=height),
        others=_others(picture, far, seen.window, mask, keep_out=keep_out),
        unsure_below=unsure_below,
    )
    if outline.confidence < unsure_below and _runs_off(far, part, picture):
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    if witness.apart < _ALIKE and outline.confidence < _SURE_THOUGH_ALIKE:
        outline = replace(outline, flags=(*outline.flags, Flag.LIKE_GROUND))
    return FoundClump(outline=outline, window=seen.window, cores=seen.cores, stem=seen.stem)


def _cut_off(points: Points, picture: Picture) -> bool:
    """Whether so much of an outline runs along the picture's edge that part of it is missing."""
    height, width = picture.shape[:2]
    return touch_length(points, width=width, height=height) > 0.2 * widest_of(points)


def _runs_off(far: Look, part: Mask, picture: Picture) -> bool:
    """Whether what was found from afar, and all of its colours beside it, is cut off."""
    window = far.window
    alike = colour_ratio(window.lab, part.astype(np.float32), ~grown(part, 1.5)) > 0.5
    whole = reached(open_by(alike, 2.0) | part, part)
    return _cut_off(window.to_picture(longest_contour(whole)), picture)


def _followed(
    picture: Picture, seen: Look, mask: Mask, *, px_per_mm: float, root_mm: float
) -> Edge:
    """The clump's edge at full size, without what is thinner than a root."""
    window = seen.window
    rows, columns = np.nonzero(mask)
    ends = np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]], dtype=np.float64)
    low, high = window.to_picture(ends)
    room = 4 * px_per_mm + 2 / window.scale_x
    low, high = low - room, high + room
    # Two pixels a millimetre are fine enough to tell 4 mm, and fewer are not.
    fine = window_of(
        picture,
        box=(float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        side_px=round(float(np.max(high - low)) * _FINE_PX_PER_MM / px_per_mm),
        enlarge=True,
    )
    scale = px_per_mm * fine.scale_x
    near = carried(dilated(mask, 1.5), window, fine)
    solid = (carried(seen.body, window, fine) > _LEVEL) & (near > 0.5)
    solid = _sorted(fine, solid, scale=scale)
    solid = without_roots(_mended(solid, scale=scale), root=root_mm * scale)
    middle = fine.from_picture(((low + high) / 2)[None])[0]
    solid = gathered(solid, at=(float(middle[0]), float(middle[1])), scale=scale)
    if not solid.any():
        raise MeasureError(Refusal.OUTLINE_FAILED)
    whole = fine.to_picture(longest_contour(bridged(solid, width=6.0 * scale)))
    return refine_edge(
        picture,
        whole,
        band_px=max(2.0, 1.0 / window.scale_x),
        step_px=max(1.0, 0.5 * px_per_mm),
    )


def _sorted(fine: Window, solid: Mask, *, scale: float) -> Mask:
    """The region with the pixels near its edge sorted by colour, where that takes no tuber away."""
    again = sorted_again(fine, solid, band=max(3.0, 4.0 * scale))
    before, after = (int(open_by(m, 2 * scale).sum()) for m in (solid, again))
    return again if after >= 0.95 * before else np.asarray(again | solid)


def _mended(mask: Mask, *, scale: float) -> Mask:
    """The mask with specks filled; a larger hole may be the gap between two roots that touch."""
    labels, areas, _ = rough_parts(filled(mask) & ~mask)
    small = np.flatnonzero(areas < (4 * scale) ** 2)
    return np.asarray(mask | (np.isin(labels, small) & (labels > 0)))


def _confidence(
    seen: Look, mask: Mask, far: Look, part: Mask, witness: Witness, *, scale: float
) -> float:
    """From 0 to 1: how little the size hangs on what the network was in doubt about.

    The spread and the area at chances of 0.3 and 0.7, in the mirror and from afar are set against
    those taken, and so is what the colours say. A doubt of 5 % of the spread gives 0.7.
    """
    rows, columns = np.nonzero(mask)
    at = (float(columns.mean()), float(rows.mean()))
    own = open_by(mask, 1.4 * scale)
    widest, area = spread_of(own), float(own.sum())
    doubts = []
    for chances, level in ((seen.body, 0.3), (seen.body, 0.7), (seen.other, 0.5)):
        other = open_by(gathered(chances > level, at=at, scale=scale), 1.4 * scale)
        doubts.append(abs(spread_of(other) / widest - 1))
        doubts.append(0.4 * abs(float(other.sum()) / area - 1))
    coarse = carried(part, far.window, seen.window) > 0.5
    afar = 0.3 * (1 - overlap(coarse, mask))
    doubt = max(*doubts, afar, witness.doubt)
    return 1.0 / (1.0 + max(0.0, doubt - 0.015) / 0.08)


def _others(picture: Picture, far: Look, close: Window, mask: Mask, *, keep_out: Mask) -> int:
    """Further clumps in the wide window: of the same colours, and clumps by the network's word."""
    wide = far.window
    own = carried(mask, close, wide) > 0.5
    if own.sum() < 30:
        return 0
    free = ~grown(own, 0.15) & ~wide.shrink_mask(keep_out)
    ratio = colour_ratio(wide.lab, own.astype(np.float32), free)
    alike = open_by((ratio > 0.75) & free, 0.08 * float(np.sqrt(own.sum())))
    labels, areas, middles = rough_parts(alike)
    found = 0
    for part in np.flatnonzero(areas > 0.15 * own.sum()):
        middle = wide.to_picture(middles[part][None])[0]
        side = 1.6 * spread_of(labels == part) / wide.scale_x
        seen = look_at(picture, middle=(float(middle[0]), float(middle[1])), side=side, twice=False)
        there = carried(labels == part, wide, seen.window) > 0.5
        _, cores, _ = rough_parts((seen.cores > 0.5) & there)
        # A leaf or a stray tuber is no clump.
        several = np.count_nonzero(cores > 8) > 1
        found += bool(several and np.mean(seen.body[there] > 0.5) > 0.5)
    return found
