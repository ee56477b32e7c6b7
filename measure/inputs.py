"""The card's pose in many variants at once: scatter of the board's corners, focal length, lens."""

from __future__ import annotations

from typing import cast

import numpy as np
from numpy.typing import NDArray

from measure.pose import Pose
from measure.results import Points

__all__ = ["PoseInputs"]

Floats = NDArray[np.float64]


class PoseInputs:
    """What is unsure of a pose, as independent standard normal inputs: their names, and the rays.

    The last input is the lens's distortion, the others are those of ``Pose.shifts``.
    """

    def __init__(self, pose: Pose, pixels: Points) -> None:
        shifts = pose.shifts()
        self.names = (*(name for name, _ in shifts), "lens")
        bent = pose.barrel_state - pose.state
        self._pose = pose
        self._steps = np.array([*(shift for _, shift in shifts), bent])
        self._off = pixels - pose.centre_px
        far = float(np.sum((pose.centre_px + 0.5) ** 2))
        self._outwards = pose.barrel * np.sum(self._off**2, axis=1) / far

    def rays(self, inputs: Floats) -> tuple[Floats, Floats]:
        """Cameras (B, 3) and ray directions (B, N, 3) for inputs (B, n), card axes, heights up."""
        states = self._pose.state + inputs @ self._steps
        # Distance and focal length go together by their ratio, so far shifts are taken as ratios.
        away = self._pose.state[5]
        states[:, 5] = away * np.exp(states[:, 5] / away - 1.0)
        bent = 1.0 / (1.0 + inputs[:, -1:] * self._outwards)
        flat = bent[..., None] * self._off / np.exp(states[:, 6])[:, None, None]
        turns = _rotations(states[:, :3])
        directions = np.matmul(flat, turns[:, :2]) + turns[:, 2:]
        eyes = -np.einsum("bji,bj->bi", turns, states[:, 3:6])
        flip = np.array([1.0, 1.0, -1.0])
        return eyes * flip, directions * flip


def _rotations(vectors: Floats) -> Floats:
    """(B, 3, 3) by Rodrigues' formula."""
    angle = np.linalg.norm(vectors, axis=1)
    x, y, z = (vectors / np.maximum(angle, 1e-12)[:, None]).T
    nought = np.zeros_like(x)
    skew = np.stack(
        [
            np.stack([nought, -z, y], axis=-1),
            np.stack([z, nought, -x], axis=-1),
            np.stack([-y, x, nought], axis=-1),
        ],
        axis=-2,
    )
    sine, cosine = np.sin(angle)[:, None, None], np.cos(angle)[:, None, None]
    return cast("Floats", np.eye(3) + sine * skew + (1.0 - cosine) * (skew @ skew))
