"""Colours of a window compared: how common each is in the subject and round it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from measure.outline.regions import Mask
from measure.results import Picture

__all__ = [
    "colour_index",
    "colour_ratio",
    "colour_shares",
    "levelled",
    "stretched",
]

_HUES = 14
# Light of each grey value, in hundredths of a natural logarithm.
_LOGS = (100.0 * np.log((np.arange(256) / 255) ** 2.2 + 0.004)).astype(np.float32)


def colour_index(lab: NDArray[np.float32]) -> NDArray[np.int64]:
    """Number of the coarse colour that each pixel has: 6 lightnesses, 14 by 14 hues."""
    steps = np.array([6, _HUES, _HUES], dtype=np.float32)
    low = np.array([0, -84, -84], dtype=np.float32)
    size = np.array([100, 168, 168], dtype=np.float32)
    index = np.clip((lab - low) * (steps / size), 0, steps - 1).astype(np.int64)
    return np.asarray((index[..., 0] * _HUES + index[..., 1]) * _HUES + index[..., 2])


def colour_shares(colours: NDArray[np.int64], mask: Mask) -> NDArray[np.float64]:
    """Share of the mask's pixels in each coarse colour, blurred a little over like colours."""
    cube = np.bincount(colours[mask], minlength=6 * _HUES**2).astype(np.float64)
    cube = cube.reshape(6, _HUES, _HUES)
    for axis in range(3):
        padded = np.concatenate([cube.take([0], axis), cube, cube.take([-1], axis)], axis)
        count = cube.shape[axis]
        beside = padded.take(range(count), axis) + padded.take(range(2, count + 2), axis)
        cube = 0.5 * cube + 0.25 * beside
    return np.asarray(cube.ravel() / max(cube.sum(), 1e-9))


def colour_ratio(
    lab: NDArray[np.float32], nearness: NDArray[np.float32], surroundings: Mask
) -> NDArray[np.float32]:
    """How much commoner each pixel's colour is near the point than in the surroundings, 0 to 1."""
    colours = colour_index(lab)
    here = colour_shares(colours, nearness > 0.5)
    there = colour_shares(colours, surroundings)
    share = here / (here + there + 1e-6)
    return share[colours].astype(np.float32)


def levelled(rgb: Picture, ground: Mask) -> NDArray[np.float32]:
    """Lightness and two colour ratios, each freed of its slow change over the ground.

    All are in hundredths of a natural logarithm. Shade moves the first alone; a window on one side
    and a lamp on the other are taken out by a curved surface fitted to most of the ground.

    Parameters
    ----------
    rgb : (h, w, 3) uint8
    ground : (h, w) bool array
        Where ground may be seen; what does not fit the surface is left out by itself.
    """
    red, green, blue = (_LOGS[rgb[..., channel]] for channel in range(3))
    parts = np.stack([(red + green + blue) / 3, red - green, blue - (red + green) / 2])
    height, width = ground.shape
    rows = np.flatnonzero(ground.ravel())
    rows = rows[:: max(1, len(rows) // 4000)]
    if len(rows) < 100:
        return np.ascontiguousarray(np.moveaxis(parts, 0, -1))
    along, down = np.linspace(-1, 1, width), np.linspace(-1, 1, height)
    x, y = along[rows % width], down[rows // width]
    design = np.stack([np.ones_like(x), x, y, x * x, x * y, y * y], axis=-1)
    values = parts.reshape(3, -1)[:, rows].T.astype(np.float64)
    kept = np.ones(len(rows), dtype=bool)
    fit: NDArray[np.float64] = np.zeros((6, 3))
    for _ in range(4):
        some = design[kept]
        normal = some.T @ some + 1e-6 * np.eye(6)
        fit = np.asarray(np.linalg.solve(normal, some.T @ values[kept]), dtype=np.float64)
        off = values - design @ fit
        scale = 1.4826 * np.median(np.abs(off[kept]), axis=0) + 0.5
        kept = np.all(np.abs(off) < 2.5 * scale, axis=1)
    level, by_x, by_y, by_xx, by_xy, by_yy = fit.astype(np.float32)[:, :, None, None]
    x, y = along.astype(np.float32)[None, :], down.astype(np.float32)[:, None]
    surface = (level + x * (by_x + x * by_xx)) + y * (by_y + y * by_yy + x * by_xy)
    return np.ascontiguousarray(np.moveaxis(parts - surface, 0, -1))


def stretched(
    colours: NDArray[np.float32],
    sample: Mask,
    *,
    spread: float = 10.0,
    shade: tuple[float, float, float] = (35.0, 2.5, 12.0),
) -> NDArray[np.float32]:
    """Levelled colours stretched so that the ground spreads equally in every direction.

    A weathered board varies in lightness and hardly in hue; stretched by its own scatter, a tuber
    of nearly the same brown stands out. Shade on the ground counts as scatter of its own.

    Parameters
    ----------
    colours : (h, w, 3) float32
        From ``levelled``.
    sample : (h, w) bool array
        The ground.
    spread : float
        Standard deviation of the ground in the result, whose middle is (50, 0, 0).
    shade : three floats
        Usual depth of a shadow, in hundredths of a natural logarithm: darker, and by the sky's
        light bluer too.
    """
    off = colours[sample]
    off = off[:: max(1, len(off) // 8000)].astype(np.float64)
    middle = np.median(off, axis=0)
    off = off - middle
    least = np.diag([9.0, 4.0, 4.0]) + np.diag(np.square(shade))
    for _ in range(2):
        cover = off.T @ off / max(1, len(off)) + least
        far = np.sum((off @ np.linalg.inv(cover)) * off, axis=1)
        # The farthest tenth may be twine, crumbs, another card: not the ground.
        off = off[far <= np.quantile(far, 0.9)]
    values, axes = np.linalg.eigh(1.3 * off.T @ off / max(1, len(off)) + least)
    turn = axes @ np.diag(1 / np.sqrt(values)) @ axes.T
    result = (colours - middle.astype(np.float32)) @ (spread * turn).astype(np.float32)
    return np.asarray(result + np.array([50, 0, 0], dtype=np.float32), dtype=np.float32)
