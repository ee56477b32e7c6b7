"""What every unsure input does to a clump's sizes: many variants of its outline at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from measure.inputs import PoseInputs
from measure.pose import Pose
from measure.results import Points
from measure.standing import rises, together, usual_rise
from measure.variants import (
    Many,
    areas_of_many,
    least_widths_of_many,
    picks_of,
    sizes_of_many,
    spreads_of_many,
    support_points,
)

__all__ = ["ClumpInputs", "EndsInputs"]

Floats = NDArray[np.float64]

# By what share of an outermost end's rise other parts do. A width is least where no end stands
# high, which would be seen far out; flanks and crown, which bound the area, stand lower than ends.
# Our judgement, from drawn clumps.
_SIDES_RISE = 0.85
_FLANKS_RISE = 0.6


class ClumpInputs:
    """A clump's sizes as a function of independent standard normal inputs.

    The inputs are those of the pose, what is unsure of all heights together, and, unless ``share``
    is None, how far single tubers stand off the ground: ``share`` of them do. ``heights_mm`` (N,)
    are the usual ones. ``names`` are the causes they count to.
    """

    def __init__(
        self,
        pixels: Points,
        *,
        pose: Pose,
        outline_mm: Points,
        heights_mm: Floats,
        u_height_mm: float,
        spread_mm: float,
        share: float | None,
    ) -> None:
        corners = support_points(outline_mm)
        places = outline_mm[corners]
        self._pose = PoseInputs(pose, pixels[corners])
        # An end that stands high is seen so far out that quite another may be the widest.
        self._picks = picks_of(places) if share is None else picks_of(places, near=0.85, pairs=240)
        self._heights_mm, self._u_height_mm = heights_mm[corners], u_height_mm
        self._share, self._spread_mm = share, spread_mm
        self._parts = np.zeros((len(places), 0))
        if share is not None:
            self._parts = together(places, spread_mm=spread_mm)
        uneven = ("depth times tilt",) * self._parts.shape[1]
        self.names = (*self._pose.names, "lift", *uneven)

    def sizes(self, inputs: Floats) -> Many:
        """Sizes for inputs (B, n)."""
        own = len(self._pose.names)
        eyes, directions = self._pose.rays(inputs[:, :own])
        heights = self._heights_mm + inputs[:, own : own + 1] * self._u_height_mm
        if self._share is None:
            return sizes_of_many(_cast(eyes, directions, heights), self._picks, kind="clump")
        drawn = inputs[:, own + 1 :] @ self._parts.T
        raised = _above_usual(drawn, self._share) * self._spread_mm
        ends, sides, flanks = (
            _cast(eyes, directions, heights + part * raised)
            for part in (1.0, _SIDES_RISE, _FLANKS_RISE)
        )
        return {
            "spread_mm": spreads_of_many(ends, self._picks),
            "width_mm": least_widths_of_many(sides, self._picks),
            "area_cm2": areas_of_many(flanks),
        }


class EndsInputs:
    """The spread between two ends of a clump as a function of independent standard normal inputs.

    As ``ClumpInputs``: pose, both heights together, each end by itself. Heights are shares of what
    is between the ends.
    """

    def __init__(
        self, ends_px: Points, *, pose: Pose, height: float, u_height: float, share: float
    ) -> None:
        self._pose = PoseInputs(pose, ends_px)
        self._height, self._u_height, self._share = height, u_height, share
        self.names = (*self._pose.names, "lift", "depth times tilt", "depth times tilt")

    def sizes(self, inputs: Floats) -> Many:
        """Sizes for inputs (B, n)."""
        own = len(self._pose.names)
        eyes, directions = self._pose.rays(inputs[:, :own])
        shares = self._height + inputs[:, own : own + 1] * self._u_height
        shares = shares + _above_usual(inputs[:, own + 1 :], self._share)
        usual = np.zeros((len(inputs), 1))
        # Each round leaves a tenth of what the last left. The shares are of the usual spread.
        for _ in range(8):
            ends = _cast(eyes, directions, self._height * usual)
            usual = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)[:, None]
        ends = _cast(eyes, directions, shares * usual)
        return {"spread_mm": np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)}


def _cast(eyes: Floats, directions: Floats, heights: Floats) -> Floats:
    """(B, N, 2) where rays (B, N, 3) from cameras (B, 3) reach these heights (B, N)."""
    reach = (heights - eyes[:, 2:]) / directions[..., 2]
    return np.asarray(eyes[:, None, :2] + reach[..., None] * directions[..., :2], dtype=np.float64)


def _above_usual(drawn: Floats, share: float) -> Floats:
    return rises(drawn, share) - usual_rise(share)
