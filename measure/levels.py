"""What every unsure input does to a clump's sizes: many variants of its outline at once."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from measure.inputs import PoseInputs
from measure.pose import Pose
from measure.results import Points
from measure.variants import Many, picks_of, sizes_of_many, support_points

__all__ = ["ClumpInputs"]

Floats = NDArray[np.float64]


class ClumpInputs:
    """A clump's sizes as a function of independent standard normal inputs.

    The inputs are those of the pose, then what is unsure of all heights together. ``names`` are the
    causes they count to.
    """

    def __init__(
        self,
        pixels: Points,
        *,
        pose: Pose,
        outline_mm: Points,
        heights_mm: Floats,
        u_height_mm: float,
    ) -> None:
        corners = support_points(outline_mm)
        self._pose = PoseInputs(pose, pixels[corners])
        self._picks = picks_of(outline_mm[corners])
        self._heights_mm, self._u_height_mm = heights_mm[corners], u_height_mm
        self.names = (*self._pose.names, "lift")

    def sizes(self, inputs: Floats) -> Many:
        """Sizes for inputs (B, n)."""
        eyes, directions = self._pose.rays(inputs[:, :-1])
        heights = self._heights_mm + inputs[:, -1:] * self._u_height_mm
        reach = (heights - eyes[:, 2:]) / directions[..., 2]
        outlines = eyes[:, None, :2] + reach[..., None] * directions[..., :2]
        return sizes_of_many(outlines, self._picks, kind="clump")
