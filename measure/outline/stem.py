"""The cut stem at a clump's crown: told from tubers by its greener colour, and left out."""

from __future__ import annotations

import cv2
import numpy as np

from measure.outline.regions import Mask, closed_by, open_by, rough_parts, round_kernel
from measure.outline.window import Window

__all__ = ["without_stem"]


def without_stem(window: Window, mask: Mask, *, scale: float, hue_apart_deg: float = 9.0) -> Mask:
    """The clump's region without the stub of its stem.

    The stub is a compact piece at the outline, 12 to 40 mm across, whose hue lies further towards
    green than the tubers' by ``hue_apart_deg`` or more.

    Parameters
    ----------
    window : Window
    mask : (h, w) bool array
        The clump in the window.
    scale : float
        Window pixels for each millimetre.
    """
    if not mask.any():
        return mask
    lab = cv2.GaussianBlur(window.lab, (0, 0), max(0.8, 1.0 * scale))
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1]))
    usual = float(np.median(hue[mask]))
    scatter = 1.4826 * float(np.median(np.abs(hue[mask] - usual)))
    apart = mask & (hue > usual + max(hue_apart_deg, 2.5 * scatter)) & (lab[..., 0] > 18)
    stub = open_by(apart, 4.5 * scale)
    labels, areas, _ = rough_parts(stub)
    gone = np.zeros(mask.shape, dtype=bool)
    for part in np.flatnonzero((areas > (11 * scale) ** 2) & (areas < (75 * scale) ** 2)):
        # The opening rounded the stub's ends off; they come back from the coloured region.
        around = cv2.dilate((labels == part).astype(np.uint8), round_kernel(3 * scale))
        gone |= (around > 0) & (apart | (hue > usual + 0.6 * hue_apart_deg))
    # Between tubers the stub stands on the crown, which is clump; only what juts out is not.
    return np.asarray(mask & (~gone | closed_by(mask & ~gone, 16 * scale)))
