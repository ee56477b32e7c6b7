"""A bloom's outline in front of its card, leaves, soil or sky, and how far to trust it."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.edge import Edge, refine_edge
from measure.outline.regions import (
    Mask,
    Window,
    border_of,
    clip_to_ellipse,
    disc,
    filled,
    grab,
    longest_contour,
    looks_like,
    nearest_part,
    open_by,
    overlap,
    rough_parts,
    widest_of,
    window_of,
)
from measure.quality import Flag, MeasureError, Refusal
from measure.results import Outline, Picture

__all__ = ["outline_bloom"]

# Largest bloom looked for; the largest dahlias reach some 350 mm.
_LARGEST_MM = 360.0
_SMALLEST_MM = 12.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """One hypothesis of where the bloom is, in a window."""

    mask: Mask
    widest: float
    score: float


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
        _carried(best.mask, wide, close), close.shape[::-1], interpolation=cv2.INTER_LINEAR
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
    mask, agreement = _agreed(found)
    edge = _refined(picture, close, mask)
    points = np.clip(edge.points, [-0.5, -0.5], [width - 0.5, height - 0.5])
    touching = _touch_length(points, width=width, height=height)
    widest = widest_of(points)
    if touching > 0.25 * widest:
        raise MeasureError(Refusal.SUBJECT_CUT_OFF)
    flags = []
    others = _others(wide, close, mask, keep_out=keep_out)
    solid = max(f.score for f in found)
    confidence = float(np.clip(agreement * min(1.0, solid / 0.6) * min(1.0, edge.sharp_share / 0.85), 0, 1))
    if confidence < 0.25:
        raise MeasureError(Refusal.OUTLINE_FAILED)
    if confidence < unsure_below:
        flags.append(Flag.OUTLINE_UNSURE)
    if touching > 0:
        flags.append(Flag.TOUCHES_EDGE)
    if others:
        flags.append(Flag.OTHERS_IN_VIEW)
    return Outline(
        points=points,
        confidence=confidence,
        edge_sigma_px=edge.sigma_px,
        flags=tuple(flags),
        others=others,
    )


def _carried(mask: Mask, source: Window, target: Window) -> NDArray[np.float32]:
    """A mask of one window as grey values of another."""
    height, width = target.shape
    grid_y, grid_x = np.indices((height, width), dtype=np.float64)
    points = np.stack([grid_x.ravel(), grid_y.ravel()], axis=1)
    there = source.from_picture(target.to_picture(points)).astype(np.float32)
    return np.asarray(
        cv2.remap(
            mask.astype(np.float32),
            there[:, 0].reshape(height, width),
            there[:, 1].reshape(height, width),
            cv2.INTER_LINEAR,
        ),
        dtype=np.float32,
    )


def _paper(window: Window, card: Mask) -> Mask:
    """Pixels that look like printed card: hardly any colour, judged against the card's own white.

    White balance differs from picture to picture, so the card's bright pixels say what white is.
    """
    chroma_a, chroma_b = window.lab[..., 1], window.lab[..., 2]
    light = window.lab[..., 0]
    white_a = white_b = 0.0
    if np.count_nonzero(card) > 50:
        bright = card & (light >= np.percentile(light[card], 60))
        white_a, white_b = float(np.median(chroma_a[bright])), float(np.median(chroma_b[bright]))
    # A cast scales with lightness: black print shows less of it than paper.
    share = light / max(1.0, float(np.percentile(light, 98)))
    return np.asarray(np.hypot(chroma_a - white_a * share, chroma_b - white_b * share) < 9.0)


def _look(
    window: Window,
    *,
    keep_out: Mask,
    near: tuple[float, float],
    px_per_mm: float,
    known: Mask | None,
) -> list[_Found]:
    """Every hypothesis that holds up in this window, best first.

    ``known`` is the result of an earlier, coarser look; it then guides all guesses.
    """
    shape = window.shape
    scale = px_per_mm * window.scale_x
    at_x, at_y = window.from_picture(np.array([near], dtype=np.float64))[0]
    at = (float(np.clip(at_x, 0, shape[1] - 1)), float(np.clip(at_y, 0, shape[0] - 1)))
    card = window.shrink_mask(keep_out)
    paper = _paper(window, card)
    barred = card & paper
    frame = border_of(shape, max(2, round(0.05 * max(shape))))
    if known is not None:
        frame = ~_grown(known, 0.35)
    surroundings = frame | barred
    unlike = looks_like(window.lab, surroundings, clusters=9)
    found: list[_Found] = []
    for start in _guesses(window, at=at, unlike=unlike, surroundings=surroundings, known=known,
                          scale=scale):
        mask = _cut_out(window, start & ~barred, at=at, barred=barred, known=known, scale=scale)
        if mask.sum() < 60:
            continue
        widest = widest_of(longest_contour(mask))
        if not _SMALLEST_MM * scale <= widest <= _LARGEST_MM * scale:
            continue
        score = _rim_score(mask, unlike)
        found.append(_Found(mask=mask, widest=widest, score=score))
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
    apart = distinct > _otsu(distinct)
    not_green = ~green & (light > 25) & (chroma > 14) & (away < reach)
    if known is not None:
        inner = _grown(known, -0.15)
        rim = _grown(known, 0.12)
        return [known, apart & rim | inner, (not_green & rim) | inner, _grown(known, -0.3)]
    ratio = _colour_ratio(window.lab, nearness, surroundings)
    return [
        apart,
        not_green,
        disc(shape, at, max(6.0, min(0.2 * min(shape), 40 * scale))),
        ratio * nearness > _otsu(ratio * nearness),
    ]


def _colour_ratio(
    lab: NDArray[np.float32], nearness: NDArray[np.float32], surroundings: Mask
) -> NDArray[np.float32]:
    """How much commoner each pixel's colour is near the point than in the surroundings, 0 to 1."""
    bins = 12
    low = np.array([0, -80, -80], dtype=np.float32)
    index = np.clip((lab - low) / np.array([100, 160, 160], dtype=np.float32) * bins, 0, bins - 1)
    index = index.astype(np.int64)
    flat = (index[..., 0] * bins + index[..., 1]) * bins + index[..., 2]

    def histogram(weight: NDArray[np.float32]) -> NDArray[np.float64]:
        counts = np.bincount(flat.ravel(), weight.ravel(), minlength=bins**3)
        cube = counts.reshape(bins, bins, bins)
        for axis in range(3):
            cube = cube + 0.5 * (np.roll(cube, 1, axis) + np.roll(cube, -1, axis))
        return cube.ravel() / max(cube.sum(), 1e-9)

    here = histogram(np.where(nearness > 0.5, nearness, 0).astype(np.float32))
    there = histogram(surroundings.astype(np.float32))
    share = here / (here + there + 1e-6)
    return share[flat].astype(np.float32)


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
    # The bloom may reach the picture's own edge, but a window's edge inside the picture is far away.
    nothing = np.zeros(shape, dtype=bool)
    if known is None:
        never = barred
        surely = nothing
    else:
        never = barred | ~_grown(known, 0.3)
        surely = _grown(known, -0.5) & ~barred
    if known is None:
        start = start & ~edge
    mask = grab(window.rgb, surely=surely, surely_not=never, start=start)
    mask = _meant(mask, at=at, reach=max(4.0, 25 * scale))
    if not mask.any():
        return mask
    clipped, cut, fit = clip_to_ellipse(mask, beyond=0.16)
    # Cut nearly all round, it was the tips of petals.
    if cut > 0.55:
        clipped = mask
    core = _grown(clipped, -0.4)
    again = grab(
        window.rgb,
        surely=core & ~barred,
        surely_not=never | ~_grown(clipped, 0.25),
        start=clipped,
        iterations=1,
    )
    again = _meant(again, at=at, reach=max(4.0, 25 * scale))
    if not again.any():
        return again
    final, cut, fit = clip_to_ellipse(again, beyond=0.22)
    return again if cut > 0.4 else _meant(final, at=at, reach=max(4.0, 25 * scale))


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
    back = cv2.dilate(core.astype(np.uint8), _round(2.2 * radius)) > 0
    return filled(nearest_part(part & back, at, reach=reach))


def _round(radius: float) -> NDArray[np.uint8]:
    size = 2 * max(1, round(radius)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), dtype=np.uint8)


def _grown(mask: Mask, share: float) -> Mask:
    """The mask grown (or shrunk, negative) by a share of its own radius."""
    radius = float(np.sqrt(max(1, mask.sum()) / np.pi)) * abs(share)
    if radius < 0.5:
        return mask
    source = mask if share > 0 else ~mask
    distance = cv2.distanceTransform((~source).astype(np.uint8), cv2.DIST_L2, 3)
    near = distance <= radius
    return np.asarray(near if share > 0 else ~near)


def _otsu(values: NDArray[np.float32]) -> float:
    """Threshold that parts the values best in two (Otsu), robust against a few extremes."""
    top = float(np.percentile(values[np.isfinite(values)], 99.5)) if np.isfinite(values).any() else 1.0
    if top <= 0:
        return 0.0
    bytes_ = np.clip(np.nan_to_num(values, posinf=top) / top * 255, 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(bytes_, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    return float(level) / 255 * top


def _rim_score(mask: Mask, unlike: NDArray[np.float32]) -> float:
    """How well a region's rim parts subject from surroundings, 0 to 1.

    A band just outside must look like the surroundings and a band just inside must not; the disc
    of a single flower fails at the outside, since petals are no background.
    """
    inside = mask & ~_grown(mask, -0.22)
    outside = _grown(mask, 0.16) & ~_grown(mask, 0.03)
    if not inside.any() or not outside.any():
        return 0.0
    alien = 1 - np.exp(-((unlike / 2.2) ** 2))
    return float(np.clip(np.mean(alien[inside]) - np.mean(alien[outside]), 0, 1))


def _agreed(found: list[_Found]) -> tuple[Mask, float]:
    """What the hypotheses agree on, and the share of them that do."""
    weights = np.array([max(f.score, 0.05) for f in found])
    support = np.zeros(len(found))
    for i, one in enumerate(found):
        for j, other in enumerate(found):
            alike = abs(other.widest / one.widest - 1) < 0.03 and overlap(one.mask, other.mask) > 0.9
            support[i] += weights[j] * alike
    lead = int(np.argmax(support + weights))
    side = [
        f.mask
        for f in found
        if abs(f.widest / found[lead].widest - 1) < 0.03 and overlap(f.mask, found[lead].mask) > 0.9
    ]
    votes = np.sum(side, axis=0)
    share = float(support[lead] / weights.sum()) * len(found) / max(4, len(found))
    return np.asarray(votes * 2 > len(side)), share


def _refined(picture: Picture, window: Window, mask: Mask) -> Edge:
    """The mask's edge followed to a fraction of a pixel, first on a smaller picture, then in full."""
    outline = window.to_picture(longest_contour(mask))
    pixel = 1 / window.scale_x
    edge = refine_edge(picture, outline, band_px=max(3.0, 2.5 * pixel), step_px=max(1.0, 0.7 * pixel))
    if pixel > 2:
        edge = refine_edge(picture, edge.points, band_px=max(3.0, pixel), step_px=max(1.0, 0.5 * pixel))
    return edge


def _touch_length(points: NDArray[np.float64], *, width: int, height: int) -> float:
    """Length of the outline that runs along the picture's edge, in pixels."""
    margin = 2.0
    x, y = points.T
    at_edge = (x < margin) | (y < margin) | (x > width - 1 - margin) | (y > height - 1 - margin)
    step = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    return float(step[at_edge].sum())


def _others(wide: Window, close: Window, mask: Mask, *, keep_out: Mask) -> int:
    """Further blooms of the same colours in the wide window."""
    own = _carried(mask, close, wide) > 0.5
    if own.sum() < 30:
        return 0
    around = _grown(own, 0.15)
    inside = looks_like(wide.lab, own, clusters=5)
    barred = wide.shrink_mask(keep_out)
    outside = looks_like(wide.lab, _grown(own, 0.6) & ~around, clusters=6)
    alike = (inside < 1.5) & (inside < 0.8 * outside) & ~around & ~barred
    alike = open_by(alike, 0.12 * float(np.sqrt(own.sum() / np.pi)))
    _, areas, _ = rough_parts(alike)
    return int(np.count_nonzero(areas > 0.1 * own.sum()))
