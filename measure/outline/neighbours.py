"""What touches the subject and is not of it: another bloom, a leaf, cut off by shape."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.regions import Mask, closed_by, length_over_width, open_by

__all__ = ["clip_to_ellipse", "parted", "radii_about"]


def clip_to_ellipse(
    mask: Mask, *, beyond: float, directions: int = 72, rays: bool = False
) -> tuple[Mask, bool]:
    """Cut what sticks out beyond a smooth round fitted to the mask.

    A curve of few waves is fitted to the radii, outliers weighing little, and what lies more than
    ``beyond`` (a share) outside it is cut: a neighbour that touches, a leaf of the same colour.
    With ``rays`` the curve runs through the tips of narrow petals, not through their roots.

    Returns
    -------
    the clipped mask, and whether what was cut lies all round: then it was the tips of petals.
    """
    rows, columns = np.nonzero(mask)
    centre = (float(np.median(columns)), float(np.median(rows)))
    radii = radii_about(mask, centre, directions=directions)
    angles = (np.arange(directions) + 0.5) * 2 * np.pi / directions
    waves = [np.ones(directions)]
    for k in (1, 2):
        waves += [np.cos(k * angles), np.sin(k * angles)]
    design = np.stack(waves, axis=1)
    if rays:
        radii = np.max([np.roll(radii, k) for k in range(-3, 4)], axis=0)
    weight = np.ones(directions)
    fit = np.full(directions, float(np.median(radii)))
    for _ in range(12):
        root = np.sqrt(weight)
        solution, *_ = np.linalg.lstsq(design * root[:, None], radii * root, rcond=None)
        fit = np.maximum(design @ solution, 1.0)
        # Outward excess is what is doubted, so it loses its weight first.
        excess = (radii - fit) / fit
        weight = 1.0 / (1.0 + (np.maximum(excess, 0) / 0.06) ** 2 + (excess / 0.2) ** 2)
    grid_y, grid_x = np.indices(mask.shape)
    dx, dy = grid_x - centre[0], grid_y - centre[1]
    turn = np.mod(np.arctan2(dy, dx), 2 * np.pi) / (2 * np.pi) * directions - 0.5
    limit = np.interp(turn, np.arange(-1, directions + 1), np.r_[fit[-1], fit, fit[0]])
    out = radii > fit * (1 + beyond)
    runs = int(np.count_nonzero(out & ~np.roll(out, 1)))
    lopsided = abs(np.mean(np.exp(1j * angles[out]))) if out.any() else 1.0
    all_round = bool(np.mean(out) > 0.55 or (runs >= 4 and lopsided < 0.4))
    return np.asarray(mask & (np.hypot(dx, dy) <= limit * (1 + beyond))), all_round


def parted(mask: Mask, near: tuple[float, float], *, drawn_out: float = 1.4) -> Mask:
    """One of two round things that touch: the one nearest to ``near``.

    Only a region longer than ``drawn_out`` times its width is looked at. Its smoothed outline's
    deep dents are tried in pairs, and it is cut across the shortest neck that leaves both sides
    round. Where no such neck exists the mask comes back whole.
    """
    if not mask.any() or length_over_width(mask) < drawn_out:
        return mask
    size = float(np.sqrt(mask.sum() / np.pi))
    radius = 0.12 * size
    smooth = open_by(closed_by(mask, radius), radius)
    grey = smooth.astype(np.uint8)
    contours, _ = cv2.findContours(grey, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return mask
    dents = _dents(np.asarray(max(contours, key=len), dtype=np.int32).reshape(-1, 2), 0.12 * size)
    best: tuple[float, Mask] | None = None
    for one in range(len(dents)):
        for other in range(one + 1, len(dents)):
            neck = float(np.hypot(*(dents[one] - dents[other])))
            piece = _cut_between(mask, dents[one], dents[other], near=near, neck=neck)
            if piece is not None and (best is None or neck < best[0]):
                best = (neck, piece)
    return mask if best is None else best[1]


def _dents(contour: NDArray[np.int32], depth: float) -> NDArray[np.int32]:
    """The deepest point of each dent of a closed contour that is deeper than ``depth``."""
    index = np.asarray(cv2.convexHull(contour, returnPoints=False)).ravel()
    corners = np.unique(index)
    found = []
    for start, end in zip(corners, np.r_[corners[1:], corners[0] + len(contour)], strict=True):
        chord = contour[end % len(contour)] - contour[start]
        length = float(np.hypot(*chord))
        between = contour[np.arange(start, end) % len(contour)]
        if length < 1 or len(between) < 3:
            continue
        offset = between - contour[start]
        away = np.abs(offset[:, 0] * chord[1] - offset[:, 1] * chord[0]) / length
        if away.max() > depth:
            found.append(between[int(np.argmax(away))])
    return np.array(found, dtype=np.int32).reshape(-1, 2)


def _cut_between(
    mask: Mask,
    one: NDArray[np.int32],
    other: NDArray[np.int32],
    *,
    near: tuple[float, float],
    neck: float,
) -> Mask | None:
    """The side of a straight cut that is meant, or None where either side is small or long."""
    rows, columns = np.indices(mask.shape)
    along = (other - one).astype(float)
    side = (columns - one[0]) * along[1] - (rows - one[1]) * along[0] > 0
    pieces = (mask & side, mask & ~side)
    for half in pieces:
        if half.sum() < 0.25 * mask.sum() or neck > 1.7 * np.sqrt(half.sum() / np.pi):
            return None
        if length_over_width(half) > 1.5:
            return None
    mine = (near[0] - one[0]) * along[1] - (near[1] - one[1]) * along[0] > 0
    return np.asarray(pieces[0] if mine else pieces[1])


def radii_about(mask: Mask, centre: tuple[float, float], *, directions: int) -> NDArray[np.float64]:
    """Distance from the centre to the outermost pixel of the mask in each direction."""
    rows, columns = np.nonzero(mask)
    dx, dy = columns - centre[0], rows - centre[1]
    sector = np.floor(np.mod(np.arctan2(dy, dx), 2 * np.pi) / (2 * np.pi) * directions)
    radii = np.zeros(directions)
    np.maximum.at(radii, sector.astype(np.int64) % directions, np.hypot(dx, dy))
    return radii
