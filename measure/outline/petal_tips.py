"""The last bit of narrow petals, which a network's coarse pixels round off."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Picture, Points

__all__ = ["with_petal_tips"]


def with_petal_tips(
    picture: Picture, points: Points, *, reach_px: float, contrast_least: float = 25.0
) -> Points:
    """Move the tips of narrow petals out along the petal to where its colour ends.

    A tip is a point further out than all within ``3 * reach_px`` along the outline to either side,
    by at least ``reach_px``. Its petal runs from the middle of its two flanks to it; along that
    line the colour a little inside is told from the colour beyond, and the tip goes to halfway.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    points : (N, 2) array
        A refined outline, closed and evenly spaced, (x, y) in pixels.
    reach_px : float
        How far out a tip may be moved.
    contrast_least : float
        Least difference of petal and background over the three channels, steps of 0 to 255.
    """
    steps = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    aside = max(2, round(3 * reach_px / max(float(np.median(steps)), 1e-6)))
    if len(points) < 4 * aside:
        return points
    far = np.hypot(*(points - points.mean(axis=0)).T)
    around = np.stack([np.roll(far, k) for k in range(-aside, aside + 1)])
    flanks = (np.roll(points, aside, axis=0) + np.roll(points, -aside, axis=0)) / 2
    axis = points - flanks
    length = np.hypot(*axis.T)
    tips = np.flatnonzero((far >= around.max(axis=0)) & (length > reach_px))
    if not len(tips):
        return points
    direction = axis[tips] / length[tips, None]
    ahead = _ends(picture, points[tips], direction, reach_px=reach_px, least=contrast_least)
    moved = points.copy()
    moved[tips] += ahead[:, None] * direction
    return moved


def _ends(
    picture: Picture,
    tips: Points,
    direction: Points,
    *,
    reach_px: float,
    least: float,
) -> NDArray[np.float64]:
    """How far ahead of each tip its petal's colour ends; 0 where it can't be told."""
    offsets = np.linspace(-2 * reach_px, 2 * reach_px, 65)
    where = tips[:, None, :] + offsets[None, :, None] * direction[:, None, :]
    line = cv2.remap(
        picture,
        where[..., 0].astype(np.float32),
        where[..., 1].astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    ).astype(np.float64)
    inner = line[:, offsets < -0.75 * reach_px].mean(axis=1)
    outer = line[:, offsets > 1.25 * reach_px].mean(axis=1)
    unit = inner - outer
    contrast = np.hypot.reduce(unit, axis=1)
    level = np.einsum("nkc,nc->nk", line - (inner + outer)[:, None, :] / 2, unit)
    ahead = (offsets >= 0) & (offsets <= reach_px)
    still = np.cumprod(level[:, ahead] > 0, axis=1).sum(axis=1)
    far = still * (offsets[1] - offsets[0])
    # A petal that does not end within reach is another petal, or a leaf of its colour.
    ends = (contrast >= least) & (still < np.count_nonzero(ahead))
    return np.where(ends, far, 0.0)
