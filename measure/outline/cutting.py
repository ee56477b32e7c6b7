"""A subject cut out from a first guess, and what several such results agree on."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np

from measure.outline.regions import Mask, open_by, overlap, spread_of
from measure.results import Picture

__all__ = ["Found", "agreed", "grab", "outvoted", "support"]

# Any fixed number will do: OpenCV starts its colour clusters from its own generator, so without
# it the same picture would give another outline each time.
_RNG_SEED = 20


def grab(rgb: Picture, *, surely: Mask, surely_not: Mask, start: Mask, iterations: int = 2) -> Mask:
    """GrabCut from a starting guess; empty when there is nothing on one of the two sides."""
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """One hypothesis of where the subject is, in a window.

    ``rayed`` says that narrow petals were added to what was cut out.
    """

    mask: Mask
    widest: float
    score: float
    rayed: bool = False


def agreed(found: list[Found], *, guesses: int) -> tuple[Mask, float]:
    """What the hypotheses agree on, and the share of them that do."""
    weights = np.array([max(f.score, 0.05) for f in found])
    alike = np.array(
        [
            [
                abs(other.widest / one.widest - 1) < 0.03 and overlap(one.mask, other.mask) > 0.9
                for other in found
            ]
            for one in found
        ]
    )
    backing = alike @ weights
    lead = int(np.argmax(backing + weights))
    votes = np.sum([f.mask for f, sides in zip(found, alike[lead], strict=True) if sides], axis=0)
    # A guess that came to nothing counts as one that disagrees.
    share = float(backing[lead] / weights.sum()) * min(1.0, len(found) / guesses)
    return np.asarray(votes * 2 > np.count_nonzero(alike[lead])), share


def outvoted(found: list[Found], *, guesses: int, without: float = 0.0) -> tuple[Mask, float]:
    """What most hypotheses hold, pixel by pixel, and the share of them that come near it.

    For subjects with arms, of which one guess may lose one and another guess another. What is
    thinner than twice ``without`` pixels does not count when they are compared.
    """
    weights = np.array([max(f.score, 0.05) for f in found])
    votes = sum((w * f.mask for w, f in zip(weights, found, strict=True)), np.zeros(1))
    mask = np.asarray(votes > 0.5 * weights.sum())
    if not mask.any():
        return found[0].mask, 0.0
    return mask, support(found, mask, without=without) * min(1.0, len(found) / guesses)


def support(
    found: list[Found],
    mask: Mask,
    *,
    widest_within: float = 0.05,
    shared: float = 0.8,
    without: float = 0.0,
) -> float:
    """Share of hypotheses, weighted by their score, that come near a region.

    Their widest measures must agree within ``widest_within`` (a share), and ``shared`` of the
    joint area; what is thinner than twice ``without`` pixels does not count.
    """
    stout = open_by(mask, without)
    if not stout.any():
        return 0.0
    widest = spread_of(stout)
    weights = np.array([max(f.score, 0.05) for f in found])
    alike = [
        abs(f.widest / widest - 1) < widest_within
        and overlap(open_by(f.mask, without), stout) > shared
        for f in found
    ]
    return float(weights[alike].sum() / weights.sum())
