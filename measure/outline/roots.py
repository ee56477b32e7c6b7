"""Hair roots at tubers' tips: the gaps between them opened, and what is thin left out."""

from __future__ import annotations

import cv2
import numpy as np

from measure.outline.colours import colour_index, colour_shares, levelled, stretched
from measure.outline.regions import Mask, open_by
from measure.outline.window import Window

__all__ = ["sorted_again", "without_roots"]


def sorted_again(window: Window, mask: Mask, *, band: float) -> Mask:
    """Pixels near the edge sorted anew by their colour, which opens the gaps between roots.

    Colours well inside are set against colours well outside; how far a pixel lies on either side
    of the edge counts as well, the more the less the two differ.
    """
    inward = cv2.distanceTransform(mask.astype(np.uint8), cv2.DIST_L2, 5)
    outward = cv2.distanceTransform((~mask).astype(np.uint8), cv2.DIST_L2, 5)
    depth = inward - outward
    inside = depth > band
    outside = (depth < -band) & (depth > -6 * band)
    if inside.sum() < 200 or outside.sum() < 200:
        return mask
    colours = colour_index(stretched(levelled(window.rgb, outside), outside))
    own, other = colour_shares(colours, inside), colour_shares(colours, outside)
    apart = 1.0 - float(np.minimum(own, other).sum())
    evidence = np.log((own + 1e-4) / (other + 1e-4))[colours].astype(np.float32)
    smooth = np.asarray(cv2.GaussianBlur(np.clip(evidence, -4, 4), (0, 0), 0.7))
    told = apart * smooth + depth / band
    return np.asarray(np.where(np.abs(depth) <= band, told > 0, mask))


def without_roots(mask: Mask, *, root: float, finer: int = 2) -> Mask:
    """The mask without what is thinner than ``root`` pixels.

    Ragged edges would make a tuber's tip look thinner than it is, so they are smoothed first, on a
    finer grid.
    """
    size = (mask.shape[1] * finer, mask.shape[0] * finer)
    soft = cv2.resize(mask.astype(np.uint8) * 255, size, interpolation=cv2.INTER_LINEAR)
    smooth = np.asarray(cv2.GaussianBlur(soft, (0, 0), 0.9 * finer)) > 127
    opened = open_by(smooth, root / 2 * finer).astype(np.uint8) * 255
    back = cv2.resize(opened, mask.shape[::-1], interpolation=cv2.INTER_AREA)
    return np.asarray(np.asarray(back) > 127)
