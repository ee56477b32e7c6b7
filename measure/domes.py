"""What every unsure input does to a bloom's sizes: the dome fitted to many variants at once."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from measure.inputs import PoseInputs
from measure.lift import Dome, FittedDome, touching
from measure.pose import Pose
from measure.results import Points
from measure.variants import Many, picks_of, sizes_of_many, support_points

__all__ = ["BloomInputs"]

Floats = NDArray[np.float64]

_BLOCK = 250


class BloomInputs:
    """A bloom's sizes as a function of independent standard normal inputs.

    The inputs are those of the pose, then the dome's half-height, its rise, the gap, and the lean
    of the bloom's axis each way. ``names`` are the causes they count to.
    """

    def __init__(
        self,
        pixels: Points,
        *,
        pose: Pose,
        dome: Dome,
        fitted: FittedDome,
        axis_lean_deg: float,
    ) -> None:
        corners = support_points(fitted.outline_mm)
        self._pose = PoseInputs(pose, pixels[corners])
        self._dome = dome
        self._lean = math.tan(math.radians(axis_lean_deg))
        outline = fitted.outline_mm[corners]
        self._picks = picks_of(outline)
        self.names = (*self._pose.names, "depth", "lift", "lift", "bloom's lean", "bloom's lean")
        # Middle and diameter, and how they follow each input: a dome is sooner found from there.
        count = len(self.names)
        self._start = np.column_stack(_middles_and_diameters(outline[None]))
        self._slopes = np.zeros((count, 3))
        _, high = self._fitted(np.eye(count))
        _, low = self._fitted(-np.eye(count))
        self._slopes = np.nan_to_num((high - low) / 2.0)

    def sizes(self, inputs: Floats) -> Many:
        """Sizes for inputs (B, n); NaN where no bloom can look like the outline."""
        # So many at a time as the processor's own store holds.
        blocks = [inputs[i : i + _BLOCK] for i in range(0, len(inputs), _BLOCK)]
        found = [
            sizes_of_many(self._fitted(block)[0], self._picks, kind="bloom") for block in blocks
        ]
        return {name: np.concatenate([part[name] for part in found]) for name in found[0]}

    def _fitted(self, inputs: Floats) -> tuple[Floats, Floats]:
        dome, shape = self._dome, self._dome.shape
        eyes, directions = self._pose.rays(inputs[:, :-5])
        depth, rise, gap = inputs[:, -5:-2].T
        return _fit_many(
            eyes,
            directions,
            start=self._start + inputs @ self._slopes,
            gap_mm=dome.gap_mm + gap * dome.u_gap_mm,
            rise=dome.rise + rise * dome.u_rise,
            half_height=np.maximum(shape.half_height + depth * shape.u_half_height, 0.02),
            behind=shape.behind,
            axis_lean=inputs[:, -2:] * self._lean,
        )


def _fit_many(
    eyes: Floats,
    directions: Floats,
    *,
    start: Floats,
    gap_mm: Floats,
    rise: Floats,
    half_height: Floats,
    behind: float,
    axis_lean: Floats,
    tolerance_mm: float = 0.02,
) -> tuple[Floats, Floats]:
    """Outlines (B, N, 2) of domes as in ``measure.lift.fit_dome``, whose hull all points are on.

    With them the domes' middles and diameters (B, 3); ``start`` is where to look for those.
    """
    settled, last = start.copy(), np.zeros_like(start)
    outlines = np.full((*directions.shape[:2], 2), np.nan)
    # Most settle long before the last: each goes on for as long as it has to.
    on = np.arange(len(start))
    with np.errstate(invalid="ignore", over="ignore", divide="ignore"):
        for _ in range(30):
            middle, diameter = settled[on, :2], settled[on, 2]
            centre = np.column_stack([middle, gap_mm[on] + rise[on] * diameter])
            outline = middle[:, None] + touching(
                eyes[on] - centre,
                directions[on],
                half_height_mm=np.maximum(half_height[on] * diameter, 0.5),
                behind=behind,
                axis_lean=axis_lean[on],
            )
            step = np.column_stack(_middles_and_diameters(outline)) - settled[on]
            left = np.abs(step).sum(axis=1)
            done = left < tolerance_mm
            outlines[on[done]] = outline[done]
            going = np.isfinite(left) & ~done
            if not going.any():
                break
            step, on = step[going], on[going]
            # As in ``fit_dome``: halfway where each step overshoots the last.
            share = np.where(np.einsum("bk,bk->b", step, last[on]) < 0.0, 0.5, 1.0)
            settled[on] += share[:, None] * step
            last[on] = step
    return outlines, settled


def _middles_and_diameters(outlines: Floats) -> tuple[Floats, Floats]:
    """Centroids (B, 2) of convex outlines (B, N, 2), and mean widths: perimeters over pi."""
    base = outlines.mean(axis=1)
    x, y = outlines[..., 0] - base[:, :1], outlines[..., 1] - base[:, 1:]
    x1, y1 = np.roll(x, -1, axis=1), np.roll(y, -1, axis=1)
    cross = x * y1 - x1 * y
    total = 3.0 * cross.sum(axis=1)
    middle = np.column_stack(
        [((x + x1) * cross).sum(axis=1) / total, ((y + y1) * cross).sum(axis=1) / total]
    )
    return base + middle, np.hypot(x1 - x, y1 - y).sum(axis=1) / math.pi
