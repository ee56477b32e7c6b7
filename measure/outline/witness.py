"""What colours alone say of a region that was found otherwise."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from measure.outline.colours import colour_index, colour_shares, levelled
from measure.outline.regions import Mask, grown, open_by, reached, spread_of
from measure.outline.window import Window

__all__ = ["Witness", "colour_witness"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """What the colours say.

    ``doubt`` is by what share the spread would change were the colours right; ``apart`` how well
    subject and ground can be told by colour, from 0 (not at all) to 1.
    """

    doubt: float
    apart: float


def colour_witness(
    window: Window,
    mask: Mask,
    *,
    never: Mask,
    scale: float,
    thin_mm: float = 7.0,
    apart_least: float = 0.6,
) -> Witness:
    """Set a region against the colours of what lies well inside it and well outside.

    What has the inside's colours and hangs together with the region may have been left out; what
    lies at its rim and has the ground's colours may be shade or ground. Where the colours of the
    two are too much alike (less than ``apart_least`` apart) they bear no witness.

    Parameters
    ----------
    mask : (h, w) bool array
        The region in the window.
    never : (h, w) bool array
        Card, tags and stem: neither side.
    scale : float
        Window pixels for each millimetre.
    thin_mm : float
        Threads and rims thinner than this are not what is meant.
    """
    inside = grown(mask, -0.12) & ~never
    outside = ~grown(mask, 0.15) & ~never
    if inside.sum() < 50 or outside.sum() < 50:
        return Witness(doubt=0.0, apart=0.0)
    flat = levelled(window.rgb, outside)
    low, high = np.percentile(flat[~never][::4], [1, 99], axis=0)
    spread = np.maximum(high - low, 1e-3)
    # The coarse colours' cube is that of CIELAB; the levelled ones are stretched over it.
    cube = (flat - low) / spread * np.array([100, 168, 168]) - np.array([0, 84, 84])
    colours = colour_index(cube.astype(np.float32))
    own, ground = colour_shares(colours, inside), colour_shares(colours, outside)
    apart = 1.0 - float(np.minimum(own, ground).sum())
    if apart < apart_least:
        return Witness(doubt=0.0, apart=apart)
    evidence = np.log((own + 1e-4) / (ground + 1e-4))[colours].astype(np.float32)
    smooth = np.asarray(cv2.GaussianBlur(np.clip(evidence, -4, 4), (0, 0), 1.2))
    thin = thin_mm / 2 * scale
    missed = open_by((smooth > 1.0) & ~mask & ~never, thin)
    missed = reached(missed | mask, mask) & missed
    wrong = open_by((smooth < -1.0) & mask & ~never, thin)
    wrong = reached(wrong | ~mask, ~mask) & wrong
    stout = open_by(mask, thin)
    if not stout.any():
        return Witness(doubt=0.0, apart=apart)
    widest = spread_of(stout)
    more = spread_of(stout | missed) / widest - 1 if missed.any() else 0.0
    left = open_by(mask & ~wrong, thin)
    less = 1 - spread_of(left) / widest if wrong.any() else 0.0
    return Witness(doubt=max(more, less), apart=apart)
