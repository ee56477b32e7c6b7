"""Fitting where the camera stood to the board's corners: rotation, place, focal length, a crop."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import cast

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import OptimizeResult, least_squares

from measure.focal import Focal
from measure.results import Points

__all__ = ["PoseFit", "axis_px", "fit_pose", "rotation_of", "unbarrelled"]

Vector = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PoseFit:
    """A state, its covariance, half its chi squared, and the root mean square misfit in pixels."""

    state: Vector
    covariance: NDArray[np.float64]
    cost: float
    rms_px: float


def fit_pose(
    places: Points, seen: Points, centre: Vector, focal: Focal, *, sigma_px: float
) -> PoseFit:
    """The state that fits the corners best.

    The focal length is fitted along, held by what the file says of it: seen at a slant the board
    itself tells the focal length well, seen square it tells nothing. So is the optical axis's place
    in a cropped picture.
    """
    camera = np.array([[focal.px, 0.0, centre[0]], [0.0, focal.px, centre[1]], [0.0, 0.0, 1.0]])
    flat = np.column_stack([places, np.zeros(len(places))])
    _, turns, moves, misfits = cv2.solvePnPGeneric(
        flat, seen.reshape(-1, 1, 2), camera, None, flags=cv2.SOLVEPNP_IPPE
    )
    misfit = np.ravel(np.asarray(misfits))
    fits = []
    for i in range(len(turns)):
        start = np.concatenate([np.ravel(turns[i]), np.ravel(moves[i]), [math.log(focal.px)]])
        if misfit[i] < 4.0 * misfit.min() + 0.5:
            fits.append(_refine(start, flat, seen, centre, focal, sigma_px=sigma_px))
    best = min(fits, key=lambda fit: float(fit.cost))
    count = len(places)
    residual = best.fun[: 2 * count] * sigma_px
    rms = float(np.sqrt(np.mean(residual**2) * 2.0))
    # Corners that fit worse than their least error say that the error is larger than that.
    spare = max(2 * count - 6, 1)
    worse = max(1.0, float(np.sum(residual**2)) / spare / sigma_px**2)
    jacobian = best.jac.copy()
    jacobian[: 2 * count] /= math.sqrt(worse)
    covariance = np.linalg.inv(jacobian.T @ jacobian)
    return PoseFit(
        state=best.x,
        covariance=(covariance + covariance.T) / 2.0,
        cost=float(best.cost),
        rms_px=rms,
    )


def rotation_of(vector: Vector) -> NDArray[np.float64]:
    """Rodrigues' formula."""
    angle = float(np.linalg.norm(vector))
    if angle < 1e-12:
        return np.eye(3)
    x, y, z = vector / angle
    skew = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return cast(
        "NDArray[np.float64]",
        np.eye(3) + math.sin(angle) * skew + (1.0 - math.cos(angle)) * (skew @ skew),
    )


def axis_px(state: Vector, middle: Vector) -> Vector:
    """Where the optical axis meets the picture."""
    return middle + state[7:9] if len(state) > 7 else middle


def unbarrelled(pixels: Points, centre: Vector, barrel: float) -> Points:
    """The pixels freed of a radial distortion of ``barrel`` at the picture's far corner."""
    off = pixels - centre
    far = float(np.sum((centre + 0.5) ** 2))
    return cast("Points", centre + off / (1.0 + barrel * np.sum(off**2, axis=1) / far)[:, None])


def _refine(
    start: Vector,
    places: NDArray[np.float64],
    seen: Points,
    centre: Vector,
    focal: Focal,
    *,
    sigma_px: float,
) -> OptimizeResult:
    away = float(np.linalg.norm(start[3:6]))
    scale = np.array([1.0, 1.0, 1.0, away, away, away, 1.0])
    off_u = np.array(focal.centre_u_px)
    free = bool(off_u.any())
    if free:
        start, scale = np.append(start, [0.0, 0.0]), np.append(scale, off_u)

    count = len(places)
    weights = np.concatenate([np.full(2 * count, 1.0 / sigma_px), [1.0 / focal.u_relative]])
    if free:
        weights = np.append(weights, 1.0 / off_u)

    def misfit(state: Vector) -> Vector:
        camera = places @ cv2.Rodrigues(state[:3])[0].T + state[3:6]
        pixels = camera[:, :2] / camera[:, 2:] * math.exp(state[6]) + axis_px(state, centre)
        told = np.append(state[6] - math.log(focal.px), state[7:9])
        return cast("Vector", np.concatenate([(pixels - seen).ravel(), told]) * weights)

    def slopes(state: Vector) -> NDArray[np.float64]:
        turn, turn_by = cv2.Rodrigues(state[:3])
        camera = places @ np.asarray(turn).T + state[3:6]
        # (N, axis, how the point in the camera moves with each of rotation and place).
        moves = np.zeros((count, 3, 6))
        moves[:, :, :3] = np.einsum(
            "nj,kij->nik", places, np.asarray(turn_by, np.float64).reshape(3, 3, 3)
        )
        moves[:, :, 3:] = np.eye(3)
        depth = camera[:, 2, None, None]
        flat = camera[:, :2, None] / depth
        long = math.exp(state[6])
        by = np.zeros((2 * count + len(state) - 6, len(state)))
        corners = by[: 2 * count].reshape(count, 2, len(state))
        corners[:, :, :6] = long / depth * (moves[:, :2] - flat * moves[:, 2:])
        corners[:, :, 6] = long * flat[:, :, 0]
        if free:
            corners[:, :, 7:] = np.eye(2)
        by[2 * count :, 6:] = np.eye(len(state) - 6)
        return cast("NDArray[np.float64]", by * weights[:, None])

    return least_squares(
        misfit, start, jac=slopes, method="lm", x_scale=scale, xtol=1e-12, ftol=1e-12
    )
