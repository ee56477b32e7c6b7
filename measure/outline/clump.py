"""A clump's outline on bench, sacking, slate or soil, without its cut stem and its hair roots."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.colours import (
    colour_index,
    colour_ratio,
    levelled,
    otsu,
    rim_score,
    stretched,
)
from measure.outline.cutting import Found, grab, outvoted, support
from measure.outline.edge import Edge, refine_edge
from measure.outline.regions import (
    Mask,
    border_of,
    bridged,
    closed_by,
    dilated,
    filled,
    grown,
    longest_contour,
    nearest_part,
    open_by,
    reached,
    rough_parts,
    spread_of,
    touch_length,
    widest_of,
)
from measure.outline.roots import sorted_again, without_roots
from measure.outline.shade import without_plain_shade, without_shade
from measure.outline.stem import without_stem
from measure.outline.verdict import outline_of
from measure.outline.window import Window, carried, window_of
from measure.quality import MeasureError, Refusal
from measure.results import Outline, Picture

__all__ = ["outline_clump"]

# Largest and smallest clump looked for.
_LARGEST_MM = 900.0
_SMALLEST_MM = 60.0


def outline_clump(
    picture: Picture,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    root_mm: float = 4.0,
    search_px: int = 240,
    close_px: int = 320,
    unsure_below: float = 0.7,
) -> Outline:
    """Find the clump nearest to a point and follow its edge.

    As for a bloom the picture is shrunk, the clump is cut out from several starting guesses, and
    what they agree on is refined. Shadow is told from tuber by its colour, which is the ground's
    own, only darker.

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
    search_px, close_px : int
        Size to which the picture is shrunk for the first and for the closer look.
    unsure_below : float
        Confidence under which the outline is flagged.

    Raises
    ------
    MeasureError
        NO_SUBJECT, OUTLINE_FAILED or SUBJECT_CUT_OFF.
    """
    height, width = picture.shape[:2]
    reach = _LARGEST_MM * px_per_mm
    box = (near[0] - reach, near[1] - reach, near[0] + reach, near[1] + reach)
    wide = window_of(picture, box=box, side_px=search_px)
    first = _look(wide, keep_out=keep_out, near=near, px_per_mm=px_per_mm, known=None)
    if not first:
        raise MeasureError(Refusal.NO_SUBJECT)
    thin = 2.8 * px_per_mm * wide.scale_x
    start, _ = outvoted(first, guesses=3, without=thin)
    rows, columns = np.nonzero(start)
    ends = np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]], dtype=np.float64)
    low, high = wide.to_picture(ends)
    room = 0.18 * float(np.max(high - low)) + 2 / wide.scale_x
    close = window_of(
        picture,
        box=(low[0] - room, low[1] - room, high[0] + room, high[1] + room),
        side_px=close_px,
    )
    found = _look(
        close,
        keep_out=keep_out,
        near=near,
        px_per_mm=px_per_mm,
        known=np.asarray(carried(start, wide, close) > 0.5),
    )
    if not found:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    mask, agreement = outvoted(found, guesses=3, without=2.8 * px_per_mm * close.scale_x)
    edge = _trimmed(picture, close, mask, px_per_mm=px_per_mm, root_mm=root_mm)
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    touching = touch_length(points, width=width, height=height)
    if touching > 0.2 * widest_of(points):
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    others = _others(wide, close, mask, keep_out=keep_out)
    seen = carried(mask, close, wide) > 0.5
    confidence = (
        agreement
        * (0.7 + 0.3 * support(first, seen, widest_within=0.12, shared=0.6, without=thin))
        * min(1.0, max(f.score for f in found) / 0.5)
        * min(1.0, edge.sharp_share / 0.8)
    )
    return outline_of(
        edge,
        points,
        confidence=confidence,
        touching_px=touching,
        others=others,
        unsure_below=unsure_below,
    )


def _look(
    window: Window,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    known: Mask | None,
) -> list[Found]:
    """Every hypothesis that holds up in this window, best first."""
    shape = window.shape
    scale = px_per_mm * window.scale_x
    at = window.nearest_to(near)
    barred = window.shrink_mask(keep_out)
    if known is None:
        around = border_of(shape, max(3, round(0.07 * min(shape)))) & ~barred
    else:
        around = ~grown(known, 0.12) & ~barred
    if around.sum() < 100:
        return []
    flat = levelled(window.rgb, ~barred)
    smooth = cv2.GaussianBlur(flat[..., 1:], (0, 0), 1.0)
    grain = float(np.median(np.abs(flat[..., 1:] - smooth)[~barred]))
    if grain > 2.5:
        # In the dark hue is noisy, and it needs less sharpness than lightness does.
        flat[..., 1:] = smooth
    own = stretched(flat, around)
    colours = colour_index(own)
    guesses = _guesses(own, flat, at=at, around=around, known=known, scale=scale)
    picture = np.clip(own * 1.4 + np.array([60, 128, 128]), 0, 255).astype(np.uint8)
    found: list[Found] = []
    for start in guesses:
        mask = _cut_out(picture, start & ~barred, at=at, barred=barred, known=known, scale=scale)
        # From afar shade is only looked for where it is plain: tubers lost here stay lost.
        if known is None:
            mask = without_plain_shade(window, mask, around)
        else:
            mask = without_shade(mask, flat)
        mask = _meant(mask, at=at, scale=scale)
        if mask.sum() < 60:
            continue
        stout = open_by(mask, 2.8 * scale)
        if not stout.any():
            continue
        widest = spread_of(stout)
        if not _SMALLEST_MM * scale <= widest <= _LARGEST_MM * scale:
            continue
        found.append(Found(mask=mask, widest=widest, score=rim_score(mask, around, colours)))
    return sorted(found, key=lambda f: -f.score)


def _guesses(
    own: NDArray[np.float32],
    flat: NDArray[np.float32],
    *,
    at: tuple[float, float],
    around: Mask,
    known: Mask | None,
    scale: float,
) -> list[Mask]:
    """Different first guesses of the clump.

    ``flat`` are levelled colours and ``own`` the same stretched by the ground's scatter. Tubers are
    redder than nearly every ground, and shade, lit by the sky, is bluer: in one of the guesses what
    is darker and no redder than the ground starts as background.
    """
    shape = (own.shape[0], own.shape[1])
    rows, columns = np.indices(shape)
    away = np.hypot(columns - at[0], rows - at[1])
    reach = max(220 * scale, 0.35 * min(shape))
    nearness = np.exp(-((away / reach) ** 2)).astype(np.float32)
    apart = np.sqrt(np.sum((own - np.array([50, 0, 0], np.float32)) ** 2, axis=2)) * nearness
    redness = flat[..., 1]
    if known is not None:
        ratio = colour_ratio(own, known.astype(np.float32), around)
        shade = (flat[..., 0] < -8) & (redness < 0)
        return [known, (ratio > 0.6) & grown(known, 0.1), known & ~shade]
    redder = np.asarray(np.maximum(redness, 0) * nearness, dtype=np.float32)
    close = np.where(away < 0.4 * reach, 1.0, 0.0).astype(np.float32)
    ratio = colour_ratio(own, close, around) * nearness
    # One standard deviation of the ground is 10: less than half of that is no subject.
    return [
        apart > max(5.0, otsu(apart)),
        redder > max(2.0, otsu(redder)),
        ratio > max(0.5, otsu(ratio)),
    ]


def _cut_out(
    rgb: Picture,
    start: Mask,
    *,
    at: tuple[float, float],
    barred: Mask,
    known: Mask | None,
    scale: float,
) -> Mask:
    """Cut out and keep the part that is meant."""
    shape = (rgb.shape[0], rgb.shape[1])
    if known is None:
        never = barred
        start = start & ~border_of(shape, 2)
    else:
        never = barred | ~grown(known, 0.3)
    nothing = np.zeros(shape, dtype=bool)
    cut = grab(rgb, surely=nothing, surely_not=never, start=start)
    return _meant(cut, at=at, scale=scale)


def _meant(mask: Mask, *, at: tuple[float, float], scale: float) -> Mask:
    """The part near the point, without crumbs and threads, small holes filled."""
    part = _gathered(open_by(mask, 1.85 * scale), at=at, scale=scale)
    if not part.any():
        return part
    # What the opening rounded off comes back, but not the roots at the tips.
    tips = open_by(mask & dilated(part, 4.0 * scale), 1.5 * scale)
    kept = bridged(part, width=6.0 * scale) | tips
    return _mended(reached(kept, part), scale=scale)


def _mended(mask: Mask, *, scale: float) -> Mask:
    """The mask with specks filled; a larger hole may be the gap between two roots that touch."""
    labels, areas, _ = rough_parts(filled(mask) & ~mask)
    small = np.flatnonzero(areas < (4 * scale) ** 2)
    return np.asarray(mask | (np.isin(labels, small) & (labels > 0)))


def _gathered(mask: Mask, *, at: tuple[float, float], scale: float) -> Mask:
    """The pieces that make up the clump near the point.

    Shade at the crown can part a tuber from the rest: pieces as large as a tuber belong together
    over gaps of up to 24 mm, if they run towards the middle; a leaf that lies near a tip does not.
    """
    labels, areas, _ = rough_parts(mask)
    large = np.isin(labels, np.flatnonzero(areas > (15 * scale) ** 2)) & (labels > 0)
    together = closed_by(large, 12.0 * scale)
    chosen = large & nearest_part(together, at, reach=max(6.0, 120 * scale))
    labels, areas, _ = rough_parts(chosen)
    if np.count_nonzero(areas) < 2:
        return chosen
    rows, columns = np.nonzero(chosen)
    away = np.hypot(columns - columns.mean(), rows - rows.mean())
    piece = labels[rows, columns]
    nearest, farthest = np.full(len(areas), np.inf), np.zeros(len(areas))
    np.minimum.at(nearest, piece, away)
    np.maximum.at(farthest, piece, away)
    running_in = nearest < 0.6 * farthest
    running_in[int(np.argmax(areas))] = True
    return np.asarray(chosen & running_in[labels])


def _trimmed(
    picture: Picture, window: Window, mask: Mask, *, px_per_mm: float, root_mm: float
) -> Edge:
    """The mask's edge at full size, then without stem and without what is thinner than a root."""
    pixel = 1 / window.scale_x
    outline = window.to_picture(longest_contour(mask))
    edge = refine_edge(
        picture, outline, band_px=max(3.0, 2.0 * pixel), step_px=max(1.0, 0.7 * pixel)
    )
    # Two pixels a millimetre is fine enough to tell 4 mm, and less is not.
    low = edge.points.min(axis=0) - 3 * px_per_mm
    high = edge.points.max(axis=0) + 3 * px_per_mm
    side = round(float(np.max(high - low)) * 2.0 / px_per_mm)
    box = (float(low[0]), float(low[1]), float(high[0]), float(high[1]))
    fine = window_of(picture, box=box, side_px=side, enlarge=True)
    scale = px_per_mm * fine.scale_x
    solid = sorted_again(fine, carried(mask, window, fine) > 0.5, band=max(3.0, 4.0 * scale))
    solid = without_shade(solid, levelled(fine.rgb, ~solid))
    solid = without_stem(fine, solid, scale=scale)
    opened = without_roots(_mended(solid, scale=scale), root=root_mm * scale)
    middle = fine.from_picture(outline).mean(axis=0)
    solid = _gathered(opened, at=(float(middle[0]), float(middle[1])), scale=scale)
    if not solid.any():
        raise MeasureError(Refusal.OUTLINE_FAILED)
    whole = fine.to_picture(longest_contour(bridged(solid, width=6.0 * scale)))
    final = refine_edge(
        picture, whole, band_px=max(2.0, 0.8 * px_per_mm), step_px=max(1.0, 0.5 * px_per_mm)
    )
    return Edge(points=final.points, sigma_px=final.sigma_px, sharp_share=edge.sharp_share)


def _others(wide: Window, close: Window, mask: Mask, *, keep_out: Mask) -> int:
    """Further clumps of the same colours in the wide window."""
    own = carried(mask, close, wide) > 0.5
    if own.sum() < 30:
        return 0
    around = grown(own, 0.15)
    barred = wide.shrink_mask(keep_out)
    ratio = colour_ratio(wide.lab, own.astype(np.float32), ~around & ~barred)
    alike = open_by((ratio > 0.75) & ~around & ~barred, 0.08 * float(np.sqrt(own.sum())))
    _, areas, _ = rough_parts(alike)
    return int(np.count_nonzero(areas > 0.15 * own.sum()))
