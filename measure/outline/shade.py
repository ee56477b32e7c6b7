"""Shade cast on the ground beside a subject, told from the subject and taken off its region."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.regions import Mask, dilated, grown, reached
from measure.outline.window import Window

__all__ = ["without_plain_shade", "without_shade"]


def without_plain_shade(window: Window, mask: Mask, around: Mask) -> Mask:
    """The region without shadow at its rim: darker than the ground nearby, but of its colour."""
    if not mask.any() or not around.any():
        return mask
    linear = (window.rgb.astype(np.float32) / 255) ** 2.2
    total = linear.sum(axis=2) + 1e-4
    shares = linear / total[..., None]
    far = around & ~mask
    if far.sum() < 50:
        return mask
    own = np.median(shares[far], axis=0)
    spread = np.maximum(np.percentile(np.abs(shares[far] - own), 80, axis=0), 0.008)
    inner = grown(mask, -0.25)
    tuber = np.median(shares[inner if inner.any() else mask], axis=0)
    to_ground = np.sqrt((((shares - own) / spread) ** 2).sum(axis=2))
    to_tuber = np.sqrt((((shares - tuber) / spread) ** 2).sum(axis=2))
    dark = total < 0.75 * float(np.median(total[far]))
    shade = dark & (to_ground < 2.0) & (to_ground < to_tuber)
    shade = cv2.medianBlur(shade.astype(np.uint8), 3) > 0
    # Only shade that is open to the outside is cast on the ground.
    outside = ~mask | (mask & shade)
    return np.asarray(mask & ~(shade & reached(outside, ~mask)))


def without_shade(mask: Mask, flat: NDArray[np.float32]) -> Mask:
    """The region without the shade at its rim.

    What is darker than the ground and no redder than it shows what shade looks like here, the
    reddest part of the core what tubers look like; the rest goes to the nearer of the two. Where
    the subject is no redder than the ground nothing can be told, and all is kept.
    """
    core = grown(mask, -0.2)
    hues = cv2.GaussianBlur(flat[..., 1:], (0, 0), 0.8).astype(np.float64)
    dark = flat[..., 0] < -6
    own = float(np.median(hues[core, 0])) if core.any() else 0.0
    if own < 5.0:
        return mask
    surely_shade = dark & (flat[..., 0] < -12) & (hues[..., 0] < 0.1 * own)
    surely_shade &= dilated(mask, 0.1 * float(np.sqrt(mask.sum())))
    surely_tuber = mask & (hues[..., 0] > 0.55 * own)
    if surely_shade.sum() < 0.01 * mask.sum() or surely_tuber.sum() < 0.1 * mask.sum():
        return mask
    apart = np.median(hues[surely_tuber], axis=0) - np.median(hues[surely_shade], axis=0)
    scatter = np.std(hues[surely_shade], axis=0) + np.std(hues[surely_tuber], axis=0)
    if float(np.hypot(*(apart / np.maximum(scatter, 1.0)))) < 2.2:
        return mask
    doubt = _unlikeness(hues, surely_shade) - _unlikeness(hues, surely_tuber)
    shade = dark & (cv2.GaussianBlur(np.clip(doubt, -20, 20), (0, 0), 1.5) < -5.0)
    # Only shade that is open to the outside is cast on the ground.
    return np.asarray(mask & ~reached(~mask | (mask & shade), ~mask))


def _unlikeness(values: NDArray[np.float64], sample: Mask) -> NDArray[np.float64]:
    """Squared distance of each pixel from a sample in units of its scatter, plus its log size."""
    data = values[sample]
    middle = np.median(data, axis=0)
    off = data - middle
    cover = off.T @ off / len(off) + 2.0 * np.eye(values.shape[2])
    away = values - middle
    squared = np.einsum("hwi,ij,hwj->hw", away, np.linalg.inv(cover), away)
    return np.asarray(squared + np.linalg.slogdet(cover)[1])
