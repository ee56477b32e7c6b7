"""The two tips of each seed, moved out to where its contrast ends."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.seeds_paper import Contrast
from measure.results import Points

__all__ = ["moved_out", "tips_of"]


def tips_of(hull: Points) -> Points:
    """(2, 2) the two points of a hull that lie furthest apart."""
    apart = np.linalg.norm(hull[:, None] - hull[None], axis=2)
    i, j = np.unravel_index(int(apart.argmax()), apart.shape)
    return hull[[i, j]]


def moved_out(
    ends: Points,
    alone: NDArray[np.bool_],
    contrast: Contrast,
    *,
    shrink: float,
    tip_level: float = 0.5,
    reach: float = 0.12,
) -> Points:
    """Tips moved out to where the contrast ends, from the last pixel that was surely seed.

    Each tip of a seed alone along its own seed's length, to ``tip_level`` of the way from paper to
    seed, at most by ``reach`` of the length; tips in groups, where a neighbour may follow, by as
    much as those.
    """
    along = ends - ends[:, ::-1]
    length = np.linalg.norm(along, axis=2, keepdims=True)
    unit = along / length
    step = np.linspace(-0.02, reach, 40)
    where = ends[:, :, None, :] + step[None, None, :, None] * along[:, :, None, :]
    places = ((where + 0.5) * shrink - 0.5).astype(np.float32).reshape(len(ends) * 2, -1, 2)
    level = cv2.remap(
        contrast.values, places[..., 0], places[..., 1], cv2.INTER_LINEAR, borderValue=0.0
    )
    below = np.asarray(level).reshape(len(ends), 2, -1) < contrast.on_the_way(tip_level)
    # The first step that is below, and none when it never is.
    first = np.where(below.any(axis=2), below.argmax(axis=2), len(step) - 1)
    moved = step[first][..., None] * length
    usual = np.median(moved[alone] if alone.any() else moved)
    out = np.where(alone[:, None, None], moved, usual)
    made: Points = ends + out * unit
    return made
