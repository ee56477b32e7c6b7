"""Where the invented camera stands: a plain pinhole by the 35 mm equivalent, hand-held."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from meshes import Floats

__all__ = ["FULL_FRAME_DIAGONAL_MM", "HEIGHT_PX", "WIDTH_PX", "Camera", "aim", "focal_px"]

WIDTH_PX, HEIGHT_PX = 1600, 1200
FULL_FRAME_DIAGONAL_MM = math.hypot(36.0, 24.0)


def focal_px(focal35_mm: float) -> float:
    """Focal length in pixels, by the diagonal convention."""
    return focal35_mm / FULL_FRAME_DIAGONAL_MM * math.hypot(WIDTH_PX, HEIGHT_PX)


@dataclass(frozen=True, kw_only=True, eq=False)
class Camera:
    """Eye and the picture's directions in scene coordinates (mm, z towards the camera)."""

    eye: Floats
    right: Floats
    down: Floats
    focal35_mm: float
    focus_mm: float

    @property
    def ahead(self) -> Floats:
        """Unit vector along the line of sight."""
        return np.cross(self.right, self.down)

    def project(self, points: Floats) -> Floats:
        """(N, 2) picture positions, pixel centres at integers."""
        ray = points - self.eye
        depth = ray @ self.ahead
        f = focal_px(self.focal35_mm)
        x = f * (ray @ self.right) / depth + (WIDTH_PX - 1) / 2
        y = f * (ray @ self.down) / depth + (HEIGHT_PX - 1) / 2
        return np.column_stack([x, y])


def _placed(
    target: Floats,
    distance: float,
    *,
    tilt: float,
    tilt_from: float,
    turn: float,
    focal35_mm: float,
) -> Camera:
    t, a, r = np.radians([tilt, tilt_from, turn])
    back = np.array([np.sin(t) * np.cos(a), np.sin(t) * np.sin(a), np.cos(t)])
    up = np.array([np.sin(r), np.cos(r), 0.0])
    right = np.cross(up, back)
    right /= np.linalg.norm(right)
    down = -np.cross(back, right)
    return Camera(
        eye=target + back * distance,
        right=right,
        down=down,
        focal35_mm=focal35_mm,
        focus_mm=distance,
    )


def aim(
    in_frame: Floats,
    *,
    tilt: float,
    tilt_from: float,
    turn: float,
    focal35_mm: float,
    distance_mm: float = 0.0,
    margin: float = 0.06,
    off: tuple[float, float] = (0.0, 0.0),
) -> Camera:
    """The camera that takes in all points of ``in_frame``, with a margin as a share of the frame.

    With ``distance_mm`` it stands there instead, aimed at their middle. ``off`` shifts the aim, in
    mm along x and y, as a hand does.
    """
    target = (in_frame.min(0) + in_frame.max(0)) / 2
    target = np.array([target[0] + off[0], target[1] + off[1], 0.0])
    hand = {"tilt": tilt, "tilt_from": tilt_from, "turn": turn, "focal35_mm": focal35_mm}
    if distance_mm:
        return _placed(target, distance_mm, **hand)
    distance = 300.0
    for _ in range(3):
        while True:
            camera = _placed(target, distance, **hand)
            seen = camera.project(in_frame)
            spare = np.array([WIDTH_PX, HEIGHT_PX]) * margin
            if (np.ptp(seen, axis=0) <= np.array([WIDTH_PX, HEIGHT_PX]) - 2 * spare).all():
                break
            distance += 4.0
        # Bring the middle of what is seen to the middle of the frame.
        middle = (seen.min(0) + seen.max(0)) / 2 - np.array(
            [(WIDTH_PX - 1) / 2, (HEIGHT_PX - 1) / 2]
        )
        step = middle * distance / focal_px(focal35_mm)
        target = target + camera.right * step[0] + camera.down * step[1]
        target[2] = 0.0
        distance -= 24.0
    distance += 24.0
    return _placed(target + np.array([off[0], off[1], 0.0]), distance, **hand)
