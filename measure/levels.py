"""What every unsure input does to a clump's sizes: one plane under many variants at once."""

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

    The inputs are those of the pose, then the share of its spread at which the plane lies above
    the card, and the millimetres beyond that. ``names`` are the causes they count to.
    """

    def __init__(
        self,
        pixels: Points,
        *,
        pose: Pose,
        outline_mm: Points,
        share: tuple[float, float],
        gap_mm: tuple[float, float],
    ) -> None:
        corners = support_points(outline_mm)
        self._pose = PoseInputs(pose, pixels[corners])
        self._picks = picks_of(outline_mm[corners])
        self._share, self._gap_mm = share, gap_mm
        self.names = (*self._pose.names, "lift", "lift")

    def sizes(self, inputs: Floats) -> Many:
        """Sizes for inputs (B, n)."""
        eyes, directions = self._pose.rays(inputs[:, :-2])
        share = self._share[0] + inputs[:, -2] * self._share[1]
        gap = self._gap_mm[0] + inputs[:, -1] * self._gap_mm[1]
        slopes = directions[..., :2] / directions[..., 2:]
        on_card = eyes[:, None, :2] - eyes[:, None, 2:] * slopes
        flat = sizes_of_many(on_card, self._picks, kind="clump")
        # A plane at h shrinks all by 1 - h / Z, and h is the gap and a share of the shrunk spread.
        height, spread = eyes[:, 2], flat["spread_mm"]
        shrunk = (1.0 - gap / height) / (1.0 + share * spread / height)
        return {
            name: value * (shrunk**2 if name.endswith("cm2") else shrunk)
            for name, value in flat.items()
        }
