"""The cut stem at a clump's crown: told from tubers by its greener colour, and left out."""

from __future__ import annotations

import cv2
import numpy as np

from measure.outline.regions import Mask, grown, open_by, rough_parts
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
    cut = mask.copy()
    rim = mask & ~grown(mask, -0.03)
    for part in np.flatnonzero((areas > (11 * scale) ** 2) & (areas < (75 * scale) ** 2)):
        piece = labels == part
        if not (piece & rim).any():
            continue
        # The opening rounded the stub's ends off; they come back from the coloured region.
        around = cv2.dilate(
            piece.astype(np.uint8), np.ones((3, 3), np.uint8), iterations=max(1, round(3 * scale))
        )
        cut &= ~((around > 0) & (apart | (hue > usual + 0.6 * hue_apart_deg)))
    return np.asarray(cut)
