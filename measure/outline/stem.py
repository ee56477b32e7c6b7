"""The cut stem at a clump's crown: told from tubers by its greener colour, and left out."""

from __future__ import annotations

import cv2
import numpy as np

from measure.outline.regions import Mask, closed_by, open_by, rough_parts, round_kernel
from measure.outline.window import Window

__all__ = ["stem_in", "without_stem"]


def without_stem(window: Window, mask: Mask, *, scale: float) -> Mask:
    """The clump's region without the stub of its stem where that juts out.

    Parameters
    ----------
    window : Window
    mask : (h, w) bool array
        The clump in the window.
    scale : float
        Window pixels for each millimetre.
    """
    gone, _ = stem_in(window, mask, scale=scale)
    # Between tubers the stub stands on the crown, which is clump; only what juts out is not.
    return np.asarray(mask & (~gone | closed_by(mask & ~gone, 16 * scale)))


def stem_in(
    window: Window, mask: Mask, *, scale: float, hue_apart_deg: float = 9.0
) -> tuple[Mask, tuple[float, float] | None]:
    """The stem's region in a clump, and the middle of its largest piece; None where it has none.

    The stub is a compact piece, 11 to 75 mm across, whose hue lies further towards green than the
    tubers' by ``hue_apart_deg`` or more.
    """
    gone = np.zeros(mask.shape, dtype=bool)
    if not mask.any():
        return gone, None
    lab = cv2.GaussianBlur(window.lab, (0, 0), max(0.8, 1.0 * scale))
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1]))
    usual = float(np.median(hue[mask]))
    scatter = 1.4826 * float(np.median(np.abs(hue[mask] - usual)))
    apart = mask & (hue > usual + max(hue_apart_deg, 2.5 * scatter)) & (lab[..., 0] > 18)
    labels, areas, middles = rough_parts(open_by(apart, 4.5 * scale))
    pieces = np.flatnonzero((areas > (11 * scale) ** 2) & (areas < (75 * scale) ** 2))
    for part in pieces:
        # The opening rounded the stub's ends off; they come back from the coloured region.
        around = cv2.dilate((labels == part).astype(np.uint8), round_kernel(3 * scale))
        gone |= (around > 0) & (apart | (hue > usual + 0.6 * hue_apart_deg))
    if len(pieces) == 0:
        return gone, None
    x, y = middles[pieces[int(np.argmax(areas[pieces]))]]
    return gone, (float(x), float(y))
