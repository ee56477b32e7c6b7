"""The outline of a region moved to the true edge, to a fraction of a pixel, in a narrow band."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Picture, Points

__all__ = ["Edge", "refine_edge", "resample_closed"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edge:
    """A refined outline.

    Attributes
    ----------
    points : (N, 2) float array
        (x, y) in pixels of the picture, closed.
    sigma_px : float
        Standard error of one end of a length, in pixels of the picture.
    sharp_share : float
        Share of the outline along which a clear edge was found.
    """

    points: Points
    sigma_px: float
    sharp_share: float


def resample_closed(points: Points, *, step_px: float, least: int = 90) -> Points:
    """The closed outline with points evenly spaced along it."""
    ring = np.vstack([points, points[:1]])
    along = np.r_[0.0, np.cumsum(np.hypot(*np.diff(ring, axis=0).T))]
    keep = np.r_[True, np.diff(along) > 0]
    ring, along = ring[keep], along[keep]
    count = max(least, round(along[-1] / step_px))
    wanted = np.linspace(0, along[-1], count, endpoint=False)
    return np.stack([np.interp(wanted, along, ring[:, axis]) for axis in (0, 1)], axis=1)


def _smoothed(values: NDArray[np.float64], width: float) -> NDArray[np.float64]:
    """Gaussian smoothing round a closed curve; ``width`` in points, one sigma."""
    if width <= 0:
        return values
    reach = max(1, int(3 * width))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / width) ** 2)
    kernel /= kernel.sum()
    ring = np.concatenate([values[-reach:], values, values[:reach]])
    if values.ndim == 1:
        return np.convolve(ring, kernel, mode="valid")
    return np.stack([np.convolve(c, kernel, mode="valid") for c in ring.T], axis=1)


def _outward_normals(points: Points) -> Points:
    tangent = np.roll(points, -2, axis=0) - np.roll(points, 2, axis=0)
    tangent = _smoothed(tangent, 1.0)
    length = np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-9)
    tangent = tangent / length[:, None]
    normal = np.stack([tangent[:, 1], -tangent[:, 0]], axis=1)
    x, y = points.T
    signed_area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    # With y down, a positive sum means clockwise to the eye, where (ty, -tx) points outwards.
    return normal if signed_area > 0 else -normal


def refine_edge(
    picture: Picture,
    points: Points,
    *,
    band_px: float,
    step_px: float,
    contrast_least: float = 12.0,
) -> Edge:
    """Move each point of a rough outline along its normal to where the colour changes.

    On each normal the colours at the inner and outer ends of the band stand for subject and
    background; the edge is where the colour passes halfway between them, nearest to the rough
    outline. Points whose two ends look alike follow their neighbours.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
        What ``points`` are in pixels of.
    band_px : float
        How far to look on either side.
    step_px : float
        Spacing of the outline's points.
    contrast_least : float
        Least difference of the two ends, in steps of 0 to 255 over the three channels together.
    """
    rough = resample_closed(points, step_px=step_px)
    normal = _outward_normals(rough)
    half = max(6, min(24, round(2 * band_px)))
    offsets = np.linspace(-band_px, band_px, 2 * half + 1)
    where = rough[:, None, :] + offsets[None, :, None] * normal[:, None, :]
    left, top = np.floor(where.reshape(-1, 2).min(axis=0)).astype(int) - 2
    right, bottom = np.ceil(where.reshape(-1, 2).max(axis=0)).astype(int) + 3
    left, top = max(0, left), max(0, top)
    part = picture[top:bottom, left:right]
    spacing = 2 * band_px / (2 * half)
    if spacing > 1.5:
        part = np.asarray(cv2.GaussianBlur(part, (0, 0), spacing / 2.5), dtype=np.uint8)
    profile = np.asarray(
        cv2.remap(
            part,
            (where[..., 0] - left).astype(np.float32),
            (where[..., 1] - top).astype(np.float32),
            cv2.INTER_LINEAR,
            borderMode=cv2.BORDER_REPLICATE,
        ),
        dtype=np.float64,
    )
    # Neighbouring normals share their ends' colours, which steadies a speckled background.
    ends = max(2, half // 2)
    spread = max(1.0, 0.004 * len(rough))
    inner = _smoothed(profile[:, :ends].mean(axis=1), spread)
    outer = _smoothed(profile[:, -ends:].mean(axis=1), spread)
    axis = inner - outer
    contrast = np.sqrt(np.sum(axis**2, axis=1))
    middle = (inner + outer) / 2
    unit = axis / np.maximum(contrast, 1e-6)[:, None]
    level = np.einsum("nkc,nc->nk", profile - middle[:, None, :], unit)
    level /= np.maximum(contrast, 1e-6)[:, None]
    shift = _crossings(level, offsets)
    good = np.isfinite(shift) & (contrast >= contrast_least)
    moved = np.where(good, shift, np.nan)
    settled, scatter = _settled(moved)
    outline = rough + settled[:, None] * normal
    # A soft edge leaves open which of its shades is the edge: a quarter either way is taken as
    # the bounds of an even spread.
    early, late = _crossings(level - 0.25, offsets), _crossings(level + 0.25, offsets)
    gap = np.abs(late - early)[good]
    softness = float(np.nanmedian(gap)) if np.isfinite(gap).any() else 2 * band_px
    return Edge(
        points=outline,
        sigma_px=float(np.hypot(scatter, softness / np.sqrt(12))),
        sharp_share=float(np.mean(good)),
    )


def _crossings(level: NDArray[np.float64], offsets: NDArray[np.float64]) -> NDArray[np.float64]:
    """Where each profile falls through zero, nearest to offset 0; NaN where it never does."""
    falls = (level[:, :-1] > 0) & (level[:, 1:] <= 0)
    drop = np.where(falls, level[:, :-1] - level[:, 1:], 1.0)
    at = offsets[:-1] + np.where(falls, level[:, :-1], 0.0) / drop * (offsets[1] - offsets[0])
    at = np.where(falls, at, np.inf)
    best = np.take_along_axis(at, np.argmin(np.abs(at), axis=1)[:, None], axis=1).ravel()
    return np.where(np.isfinite(best), best, np.nan)


def _settled(shift: NDArray[np.float64]) -> tuple[NDArray[np.float64], float]:
    """Shifts with gaps filled and jumps against both neighbours removed, and their scatter."""
    count = len(shift)
    known = np.flatnonzero(np.isfinite(shift))
    if len(known) < 0.1 * count:
        return np.zeros(count), 1.0
    at = np.arange(count)
    whole = np.interp(at, known, shift[known], period=count)
    stack = np.stack([np.roll(whole, k) for k in range(-2, 3)])
    median = np.median(stack, axis=0)
    # The scatter about the neighbours' median is the noise of one point.
    scatter = 1.4826 * float(np.median(np.abs(whole - median)))
    return _smoothed(median, 1.0), scatter
