"""The sheet of paper told from the table it lies on, in a coarse picture."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["sheet_in"]

Floats = NDArray[np.float32]
Mask = NDArray[np.bool_]


def sheet_in(
    picture: Floats,
    *,
    known: Mask,
    step: float = 0.13,
    least_share: float = 0.01,
    grey_within: float = 0.10,
) -> tuple[Mask, Mask]:
    """The sheet that the card lies on, or the largest where there is no card, and bare paper.

    Both are (H, W), true there. What is said to be bare paper hangs together without a sharp step,
    so that a shadow with soft edges belongs to it; it need not be all.

    Parameters
    ----------
    picture : (H, W, 3) float32 array
        A coarse picture.
    known : (H, W) bool array
        False where the card and tags lie.
    step : float
        Share by which colours change from one pixel to the next where a sheet ends, or a seed; a
        shadow's soft edge changes by less.
    least_share : float
        Smaller regions are no sheets, by their share of the picture.
    grey_within : float
        Beyond a sharp edge the sheet goes on, in shadow, where all three colours change by the
        same share to within this, and the ground there is as plain.
    """
    fine = np.log(np.maximum(picture, 8.0))
    logs = cv2.GaussianBlur(fine, (0, 0), 0.8)
    slope = np.zeros(picture.shape[:2], np.float32)
    for channel in range(3):
        one = np.ascontiguousarray(logs[..., channel])
        across = cv2.Sobel(one, cv2.CV_32F, 1, 0) / 8.0
        down = cv2.Sobel(one, cv2.CV_32F, 0, 1) / 8.0
        slope = np.maximum(slope, np.hypot(across, down))
    even = (slope < step / 2.0) & known
    count, labels, stats, _ = cv2.connectedComponentsWithStats(
        even.astype(np.uint8), connectivity=4
    )
    areas = stats[:, cv2.CC_STAT_AREA].astype(float)
    areas[0] = 0.0
    large = [i for i in range(1, count) if areas[i] >= least_share * known.size]
    if not large:
        return known, np.zeros_like(known)
    beside = cv2.dilate((~known).astype(np.uint8), np.ones((7, 7), np.uint8)) > 0
    contact = np.bincount(labels[beside & even], minlength=count).astype(float)
    if contact[large].max() > 0:
        most = contact[large].max()
        likely = [i for i in large if contact[i] >= 0.25 * most]
    else:
        likely = large
    main = max(likely, key=lambda i: areas[i])
    grain = np.abs(fine - cv2.GaussianBlur(fine, (0, 0), 2.0)).mean(axis=2)
    sheet = labels == main
    bare = sheet.copy()
    own_colour, own_grain = np.median(logs[sheet], axis=0), float(np.median(grain[sheet]))
    for i in large:
        region = labels == i
        change = np.median(logs[region], axis=0) - own_colour
        plain = float(np.median(grain[region])) < 2.0 * own_grain + 0.004
        if i != main and plain and np.ptp(change) < grey_within:
            sheet |= region
            if areas[i] >= 5.0 * least_share * known.size:
                bare |= region
    whole = _whole(sheet, known)
    return whole, bare & whole


def _whole(sheet: Mask, known: Mask) -> Mask:
    """The sheet with what lies on it: paper has no bays, and no slivers stick out of it."""
    pad = 4
    solid = cv2.copyMakeBorder(sheet.astype(np.uint8), pad, pad, pad, pad, cv2.BORDER_REPLICATE)
    outlines, _ = cv2.findContours(solid, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    cv2.drawContours(solid, outlines, -1, 1, -1)
    solid = cv2.morphologyEx(solid, cv2.MORPH_OPEN, np.ones((7, 7), np.uint8))
    places = cv2.findNonZero(solid)
    if places is None:
        return known
    filled = np.zeros_like(solid)
    cv2.fillConvexPoly(filled, cv2.convexHull(places), 1)
    inner = cv2.erode(filled, np.ones((3, 3), np.uint8))[pad:-pad, pad:-pad]
    return np.asarray((inner > 0) & known)
