"""A bloom's outline in front of its card, leaves, soil or sky, and how far to trust it."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.colours import (
    colour_index,
    colour_ratio,
    colour_shares,
    looks_like,
    otsu,
    paper_like,
    rim_score,
)
from measure.outline.cutting import Found, agreed, grab, support
from measure.outline.edge import Edge, refine_edge
from measure.outline.neighbours import clip_to_ellipse, parted
from measure.outline.regions import (
    Mask,
    border_of,
    disc,
    filled,
    grown,
    length_over_width,
    longest_contour,
    nearest_part,
    open_by,
    rough_parts,
    round_kernel,
    spread_of,
    touch_length,
    widest_of,
)
from measure.outline.tips import with_tips
from measure.outline.verdict import outline_of
from measure.outline.window import Window, carried, window_of
from measure.quality import MeasureError, Refusal
from measure.results import Outline, Picture, Points

__all__ = ["outline_bloom"]

# Largest and smallest bloom looked for; the largest dahlias reach some 350 mm.
_LARGEST_MM = 360.0
_SMALLEST_MM = 12.0


def outline_bloom(
    picture: Picture,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    search_px: int = 200,
    close_px: int = 240,
    unsure_below: float = 0.7,
) -> Outline:
    """Find the bloom nearest to a point and follow its edge.

    The picture is shrunk, the bloom cut out from several different starting guesses, each result
    judged by how unlike the surroundings its rim is, and what the good ones agree on is refined at
    full size.

    Parameters
    ----------
    picture : (H, W, 3) uint8 RGB array
    keep_out : (H, W) bool array
        The card and tags. The bloom may overlap them, but what looks like paper or print there is
        never bloom.
    near : (x, y) in pixels
        Where the bloom is expected.
    px_per_mm : float
        Rough scale at the bloom; only bounds the sizes that are looked for.
    search_px, close_px : int
        Size to which the picture is shrunk for the first and for the closer look.
    unsure_below : float
        Confidence under which the outline is flagged.

    Raises
    ------
    MeasureError
        NO_SUBJECT when nothing stands out near the point, OUTLINE_FAILED when the guesses
        contradict each other, SUBJECT_CUT_OFF when a good part of the bloom is outside the picture.
    """
    height, width = picture.shape[:2]
    reach = _LARGEST_MM * px_per_mm
    box = (near[0] - reach, near[1] - reach, near[0] + reach, near[1] + reach)
    wide = window_of(picture, box=box, side_px=search_px)
    first = _look(wide, keep_out=keep_out, near=near, px_per_mm=px_per_mm, known=None)
    if not first:
        raise MeasureError(Refusal.NO_SUBJECT)
    best = first[0]
    rows, columns = np.nonzero(best.mask)
    corners = wide.to_picture(
        np.array([[columns.min(), rows.min()], [columns.max(), rows.max()]], dtype=np.float64)
    )
    middle = corners.mean(axis=0)
    half = 0.95 * float(np.max(corners[1] - corners[0])) + 2 / wide.scale_x
    close = window_of(
        picture,
        box=(middle[0] - half, middle[1] - half, middle[0] + half, middle[1] + half),
        side_px=close_px,
    )
    seen_before = cv2.resize(
        carried(best.mask, wide, close), close.shape[::-1], interpolation=cv2.INTER_LINEAR
    )
    found = _look(
        close,
        keep_out=keep_out,
        near=(float(middle[0]), float(middle[1])),
        px_per_mm=px_per_mm,
        known=np.asarray(seen_before > 0.5),
    )
    if not found:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    mask, agreement = agreed(found, guesses=4)
    edge = _refined(picture, close, mask, keep_out=keep_out, rays=_rays_lost(found, mask))
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    touching = touch_length(points, width=width, height=height)
    widest = widest_of(points)
    if touching > 0.25 * widest:
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    others = _others(wide, close, mask, keep_out=keep_out)
    confidence = (
        agreement
        * (0.6 + 0.4 * support(first, carried(mask, close, wide) > 0.5))
        * min(1.0, max(f.score for f in found) / 0.6)
        * min(1.0, edge.sharp_share / 0.85)
        * (0.6 if length_over_width(mask) > 1.45 else 1.0)
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
    """Every hypothesis that holds up in this window, best first.

    ``known`` is the result of an earlier, coarser look; it then guides all guesses.
    """
    shape = window.shape
    scale = px_per_mm * window.scale_x
    at = window.nearest_to(near)
    card = window.shrink_mask(keep_out)
    paper = paper_like(window, card)
    barred = card & paper
    frame = border_of(shape, max(2, round(0.05 * max(shape))))
    if known is not None:
        frame = ~grown(known, 0.35)
    surroundings = frame | barred
    unlike = looks_like(window.lab, surroundings, clusters=9)
    colours = colour_index(window.lab)
    found: list[Found] = []
    for start in _guesses(
        window, at=at, unlike=unlike, surroundings=surroundings, known=known, scale=scale
    ):
        mask = _cut_out(window, start & ~barred, at=at, barred=barred, known=known, scale=scale)
        if mask.sum() < 60:
            continue
        mask, rayed = with_tips(window.lab, mask, surroundings)
        widest = spread_of(mask)
        if not _SMALLEST_MM * scale <= widest <= _LARGEST_MM * scale:
            continue
        score = rim_score(mask, surroundings, colours)
        found.append(Found(mask=mask, widest=widest, score=score, rayed=rayed))
    return sorted(found, key=lambda f: -f.score)


def _guesses(
    window: Window,
    *,
    at: tuple[float, float],
    unlike: NDArray[np.float32],
    surroundings: Mask,
    known: Mask | None,
    scale: float,
) -> list[Mask]:
    """Different first guesses of the bloom; they fail in different pictures."""
    shape = window.shape
    rows, columns = np.indices(shape)
    away = np.hypot(columns - at[0], rows - at[1])
    reach = 0.5 * min(shape) if known is None else 0.6 * max(shape)
    nearness = np.exp(-((away / (0.7 * reach)) ** 2)).astype(np.float32)
    light, a, b = window.lab[..., 0], window.lab[..., 1], window.lab[..., 2]
    hue = np.degrees(np.arctan2(b, a))
    chroma = np.hypot(a, b)
    green = (hue > 95) & (hue < 190) & (chroma > 8)
    distinct = unlike * nearness
    apart = distinct > otsu(distinct)
    not_green = ~green & (light > 25) & (chroma > 14) & (away < reach)
    if known is not None:
        inner = grown(known, -0.15)
        rim = grown(known, 0.12)
        return [known, apart & rim | inner, (not_green & rim) | inner, grown(known, -0.3)]
    ratio = colour_ratio(window.lab, nearness, surroundings)
    return [
        apart,
        not_green,
        disc(shape, at, max(6.0, min(0.2 * min(shape), 40 * scale))),
        ratio * nearness > otsu(ratio * nearness),
    ]


def _cut_out(
    window: Window,
    start: Mask,
    *,
    at: tuple[float, float],
    barred: Mask,
    known: Mask | None,
    scale: float,
) -> Mask:
    """Cut out, keep the part that is meant, clip what sticks out on one side, learn again."""
    shape = window.shape
    edge = border_of(shape, 2)
    nothing = np.zeros(shape, dtype=bool)
    if known is None:
        never = barred
        surely = nothing
    else:
        never = barred | ~grown(known, 0.3)
        surely = grown(known, -0.5) & ~barred
    if known is None:
        start = start & ~edge
    mask = grab(window.rgb, surely=surely, surely_not=never, start=start)
    mask = _meant(mask, at=at, reach=max(4.0, 25 * scale))
    if not mask.any():
        return mask
    clipped, all_round = clip_to_ellipse(mask, beyond=0.16)
    if all_round:
        clipped = mask
    core = grown(clipped, -0.4)
    again = grab(
        window.rgb,
        surely=core & ~barred,
        surely_not=never | ~grown(clipped, 0.25),
        start=clipped,
        iterations=1,
    )
    again = _meant(again, at=at, reach=max(4.0, 25 * scale))
    if not again.any():
        return again
    final, all_round = clip_to_ellipse(again, beyond=0.22)
    return again if all_round else _meant(final, at=at, reach=max(4.0, 25 * scale))


def _meant(mask: Mask, *, at: tuple[float, float], reach: float) -> Mask:
    """The part near the point, without stalks and threads, with its holes filled."""
    if not mask.any():
        return mask
    part = nearest_part(mask, at, reach=reach)
    radius = max(1.0, 0.06 * float(np.sqrt(part.sum())))
    opened = open_by(part, radius)
    if opened.sum() < 0.5 * part.sum():
        return filled(part)
    core = nearest_part(opened, at, reach=reach)
    # Tips of petals belong to it, as far as they come back within a short way of the core.
    back = cv2.dilate(core.astype(np.uint8), round_kernel(2.2 * radius)) > 0
    return parted(filled(nearest_part(part & back, at, reach=reach)), at)


def _rays_lost(found: list[Found], mask: Mask) -> float:
    """How far beyond the mask narrow petals may run, as a share of its radius; 0 for broad ones."""
    if sum(f.rayed for f in found) * 2 >= len(found):
        return 0.3
    thin = mask & ~open_by(mask, 0.06 * float(np.sqrt(mask.sum() / np.pi)))
    # Then only their tips were rounded off.
    return 0.06 if thin.sum() > 0.06 * mask.sum() else 0.0


def _refined(picture: Picture, window: Window, mask: Mask, *, keep_out: Mask, rays: float) -> Edge:
    """The mask's edge followed to a fraction of a pixel, in a wide band and then a narrow one."""
    outline = window.to_picture(longest_contour(mask))
    pixel = 1 / window.scale_x
    if rays > 0:
        outline, pixel = _with_rays(picture, outline, window, mask, keep_out=keep_out, reach=rays)
        # Narrow petals lie closer together than a wide band reaches.
        return refine_edge(picture, outline, band_px=1.5 * pixel, step_px=0.7 * pixel)
    band, step = max(3.0, 2.5 * pixel), max(1.0, 0.7 * pixel)
    edge = refine_edge(picture, outline, band_px=band, step_px=step)
    if pixel > 2:
        edge = refine_edge(picture, edge.points, band_px=pixel, step_px=0.5 * pixel)
    return edge


def _with_rays(
    picture: Picture,
    outline: Points,
    window: Window,
    mask: Mask,
    *,
    keep_out: Mask,
    reach: float,
    side_px: int = 520,
) -> tuple[Points, float]:
    """The outline of a bloom with narrow petals, and picture pixels for each pixel worked on."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    room = 0.3 * float(np.max(high - low))
    fine = window_of(
        picture,
        box=(low[0] - room, low[1] - room, high[0] + room, high[1] + room),
        side_px=side_px,
    )
    start = carried(mask, window, fine) > 0.5
    card = fine.shrink_mask(keep_out)
    surroundings = ~grown(start, 0.2) | (card & paper_like(fine, card))
    longer, _ = with_tips(
        fine.lab, start, surroundings, reach=reach, share_needed=0.6, all_round=0.0
    )
    x, y = fine.from_picture(outline).mean(axis=0)
    part = nearest_part(longer, (float(x), float(y)), reach=30.0)
    return fine.to_picture(longest_contour(part)), 1 / fine.scale_x


def _others(wide: Window, close: Window, mask: Mask, *, keep_out: Mask) -> int:
    """Further blooms of the same colours in the wide window."""
    own = carried(mask, close, wide) > 0.5
    if own.sum() < 30:
        return 0
    around = grown(own, 0.15)
    barred = wide.shrink_mask(keep_out)
    colours = colour_index(wide.lab)
    here = colour_shares(colours, own)
    there = colour_shares(colours, ~around & ~barred)
    alike = (here > 0.7 * (here + there))[colours] & ~around & ~barred
    alike = open_by(alike, 0.12 * float(np.sqrt(own.sum() / np.pi)))
    _, areas, _ = rough_parts(alike)
    return int(np.count_nonzero(areas > 0.07 * own.sum()))
