"""How far a count of seeds can be trusted: heaps, odd shapes, and what areas alone would say."""

from __future__ import annotations

import math

import cv2
import numpy as np

from measure.outline.seeds_choosing import SeedShape, Share
from measure.outline.seeds_cutting import Pieces

__all__ = ["thickness", "u_of_count"]


def thickness(group: Pieces, shape: SeedShape) -> float:
    """How much of a group lies further inside than a seed is wide, in areas of a seed.

    Seeds side by side leave gaps where they taper; where they lie over one another none is left.
    """
    inside = cv2.distanceTransform((group.labels > 0).astype(np.uint8), cv2.DIST_L2, 5)
    return float(np.count_nonzero(inside > shape.width)) / shape.area


def u_of_count(
    shared: list[list[Share]],
    *,
    n: int,
    by_area: float,
    thick: float,
    left_out: float,
    u_none: float = 0.3,
    variance_in_group: float = 0.02,
    variance_odd: float = 0.15,
    odd_from: float = 6.0,
    area_excess: float = 0.08,
) -> float:
    """Standard uncertainty of a count.

    Each seed in a group may be one of two, each odd one more likely so; what the areas say beyond
    the usual excess of groups over single seeds counts for a tenth; where a group is thick two may
    hide for each seed's area; and so may three tenths of what is left out at the picture's edge.
    Fitted to drawn sheets, as the benchmark tells.
    """
    seeds = [share for shares in shared for share in shares]
    odd = sum(share.unlike > odd_from for share in seeds)
    apart = max(0.0, abs(by_area - (1.0 + area_excess / 2.0) * n) - area_excess * n)
    variance = u_none**2 + variance_in_group * len(seeds) + variance_odd * odd
    return math.sqrt(variance + (0.1 * apart) ** 2 + (2.0 * thick) ** 2 + (0.3 * left_out) ** 2)
