"""A subject cut out by colour from a first guess."""

from __future__ import annotations

import cv2
import numpy as np

from measure.outline.regions import Mask
from measure.results import Picture

__all__ = ["grab"]

# Any fixed number will do: OpenCV starts its colour clusters from its own generator, so without
# it the same picture would give another outline each time.
_RNG_SEED = 20


def grab(
    rgb: Picture,
    *,
    surely: Mask,
    surely_not: Mask,
    start: Mask,
    iterations: int = 2,
    room: int = 12,
) -> Mask:
    """GrabCut from a starting guess; empty when there is nothing on one of the two sides.

    Only what may be subject is looked at, and ``room`` pixels round it: they show the background's
    colours.
    """
    rows, columns = (np.flatnonzero((~surely_not).any(axis=axis)) for axis in (1, 0))
    whole = np.zeros(start.shape, dtype=bool)
    if not len(rows):
        return whole
    part = np.s_[
        max(0, rows[0] - room) : rows[-1] + room + 1,
        max(0, columns[0] - room) : columns[-1] + room + 1,
    ]
    whole[part] = _grabbed(
        np.ascontiguousarray(rgb[part]),
        surely=surely[part],
        surely_not=surely_not[part],
        start=start[part],
        iterations=iterations,
    )
    return whole


def _grabbed(rgb: Picture, *, surely: Mask, surely_not: Mask, start: Mask, iterations: int) -> Mask:
    labels = np.where(start, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    labels[surely] = cv2.GC_FGD
    labels[surely_not] = cv2.GC_BGD
    inside = (labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)
    # GrabCut needs enough pixels on either side for its five colours.
    if inside.sum() < 20 or (~inside).sum() < 20:
        return np.zeros(labels.shape, dtype=bool)
    cv2.setRNGSeed(_RNG_SEED)
    no_box = (0, 0, 0, 0)
    models = np.zeros((1, 65)), np.zeros((1, 65))
    cut, _, _ = cv2.grabCut(rgb, labels, no_box, *models, iterations, cv2.GC_INIT_WITH_MASK)
    return np.asarray((cut == cv2.GC_FGD) | (cut == cv2.GC_PR_FGD))
