"""Narrow petals that cutting out lost: found by their colour, kept where they stand all round."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.colours import colour_index, colour_shares, looks_like
from measure.outline.neighbours import clip_to_ellipse, radii_about
from measure.outline.regions import Mask, grown, open_by, rough_parts

__all__ = ["with_tips"]


def with_tips(
    lab: NDArray[np.float32],
    mask: Mask,
    surroundings: Mask,
    *,
    reach: float = 0.75,
    share_needed: float = 0.75,
    all_round: float = 0.3,
    longer_by: float = 0.08,
) -> tuple[Mask, bool]:
    """The region with the rays of petals that run out from it.

    A smooth cut rounds off what is only a few pixels wide, which takes a third off a cactus
    dahlia. Pixels of the region's own colours that hang together with it are added when they do so
    in most directions; on one side only they are a neighbour or a leaf.

    Parameters
    ----------
    lab : (h, w, 3) float32 array
    mask : (h, w) bool array
        The region found.
    surroundings : (h, w) bool array
        What is certainly not subject.
    reach : float
        How far out to look, as a share of the region's radius.
    share_needed : float
        How much commoner a pixel's colour must be in the region than around it, 0.5 to 1.
    all_round : float
        Share of directions in which rays must run out; 0 takes them wherever they are.
    longer_by : float
        How far they must run out there, as a share of the region's radius.

    Returns
    -------
    the region, and whether rays were added.
    """
    core = grown(mask, -0.15)
    zone = grown(mask, reach)
    far = surroundings & ~zone
    if core.sum() < 50 or far.sum() < 50:
        return mask, False
    colours = colour_index(lab)
    inside, outside = colour_shares(colours, core), colour_shares(colours, far)
    likely = (inside / (inside + outside + 1e-9) > share_needed) & (inside > 2e-4)
    candidates = ((likely[colours] | _same_hue(lab, core, far)) & zone) | mask
    candidates = cv2.medianBlur(candidates.astype(np.uint8), 3) > 0
    labels, _, _ = rough_parts(candidates)
    joined = np.isin(labels, np.unique(labels[core & (labels > 0)])) | mask
    rows, columns = np.nonzero(core)
    centre = (float(columns.mean()), float(rows.mean()))
    size = float(np.sqrt(mask.sum() / np.pi))
    before = radii_about(mask, centre, directions=36)
    after = radii_about(joined, centre, directions=36)
    longer = after > before + max(1.5, longer_by * size)
    if not _all_round(longer, least=all_round):
        return mask, False
    # Rays end on a round; a stalk, or a neighbour that touches, goes on beyond it.
    clipped, _ = clip_to_ellipse(joined, beyond=0.1, rays=True)
    return np.asarray(clipped | open_by(mask, 1.0)), True


def _all_round(longer: NDArray[np.bool_], *, least: float) -> bool:
    """Whether rays run out in enough directions, in several places, and not to one side only."""
    if least <= 0:
        return True
    turns = np.exp(2j * np.pi * np.arange(len(longer)) / len(longer))
    runs = int(np.count_nonzero(longer & ~np.roll(longer, 1)))
    if float(np.mean(longer)) < least:
        return False
    return bool(abs(np.mean(turns[longer])) < 0.45 and (runs >= 4 or np.mean(longer) > 0.7))


def _same_hue(lab: NDArray[np.float32], core: Mask, far: Mask) -> Mask:
    """Pixels of the core's hue, paler perhaps, that are unlike everything around."""
    hue = np.degrees(np.arctan2(lab[..., 2], lab[..., 1]))
    chroma = np.hypot(lab[..., 1], lab[..., 2])
    vivid = core & (chroma > 12)
    if vivid.sum() < 0.5 * core.sum():
        return np.zeros(core.shape, dtype=bool)
    turned = np.mod(hue - float(np.median(hue[vivid])) + 180, 360) - 180
    low, high = np.percentile(turned[vivid], [3, 97])
    alike = (turned > low - 6) & (turned < high + 6) & (chroma > 9)
    return np.asarray(alike & (looks_like(lab, far, clusters=6) > 2.2))
