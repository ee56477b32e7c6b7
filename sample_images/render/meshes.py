"""Plain meshes in millimetres: grids, tubes, blocks and plates, before any renderer sees them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

__all__ = ["Floats", "Mesh", "block", "grid_faces", "lumps", "moved", "plate", "rotation", "tube"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Mesh:
    """One object: (N, 3) points in mm, (M, 4) quads, and per point uv and a linear colour.

    ``material`` names the renderer's material; ``part`` says what it is for the truth ("petal",
    "disc", "tuber 3", "crown", "stalk", "root", "clutter" ...).
    """

    part: str
    material: str
    points: Floats
    quads: NDArray[np.int64]
    uv: Floats | None = None
    colour: Floats | None = None
    smooth: bool = True


def grid_faces(rows: int, columns: int, *, closed: bool = False) -> NDArray[np.int64]:
    """Quads of a rows x columns grid of points; ``closed`` joins the last column to the first."""
    last = columns if closed else columns - 1
    r, c = np.meshgrid(np.arange(rows - 1), np.arange(last), indexing="ij")
    d = (c + 1) % columns
    quads = np.stack(
        [r * columns + c, r * columns + d, (r + 1) * columns + d, (r + 1) * columns + c]
    )
    return quads.reshape(4, -1).T.astype(np.int64)


def rotation(axis: str, degrees: float) -> Floats:
    """Rotation matrix about x, y or z."""
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    if axis == "x":
        return np.array([[1, 0, 0], [0, c, -s], [0, s, c]])
    if axis == "y":
        return np.array([[c, 0, s], [0, 1, 0], [-s, 0, c]])
    return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])


def moved(
    mesh: Mesh, turn: Floats | None = None, by: tuple[float, float, float] | Floats = (0, 0, 0)
) -> Mesh:
    """The mesh turned about the origin, then shifted."""
    points = mesh.points if turn is None else mesh.points @ turn.T
    return replace(mesh, points=points + np.asarray(by, float))


def lumps(
    rng: np.random.Generator, where: Floats, *, wavelength: float, octaves: int = 3
) -> Floats:
    """Smooth noise of about unit size at (N, 3) points: a few random waves per octave."""
    total = np.zeros(len(where))
    for octave in range(octaves):
        directions = rng.normal(size=(5, 3))
        directions /= np.linalg.norm(directions, axis=1, keepdims=True)
        phases = rng.uniform(0, 2 * np.pi, 5)
        k = 2 * np.pi / wavelength * 2.0**octave
        total += np.sin(where @ directions.T * k + phases).sum(1) / 5**0.5 * 0.55**octave
    return total


def tube(
    centre: Floats,
    radius: Floats,
    *,
    part: str,
    material: str,
    sides: int = 24,
    flatten: float = 1.0,
    capped: bool = True,
    colour: tuple[float, float, float] | None = None,
) -> Mesh:
    """A round skin about a (N, 3) centre line; ``flatten`` squeezes it along z."""
    tangent = np.gradient(centre, axis=0)
    tangent /= np.linalg.norm(tangent, axis=1, keepdims=True)
    up = (
        np.array([0.0, 0.0, 1.0])
        if np.abs(tangent[:, 2]).max() < 0.9
        else np.array([1.0, 0.31, 0.0])
    )
    side = np.cross(tangent, up)
    side /= np.linalg.norm(side, axis=1, keepdims=True)
    other = np.cross(side, tangent)
    if capped:
        centre = np.vstack([centre[:1], centre, centre[-1:]])
        radius = np.concatenate([[radius[0] * 0.02], radius, [radius[-1] * 0.02]])
        side, other = (np.vstack([v[:1], v, v[-1:]]) for v in (side, other))
    turn = np.linspace(0, 2 * np.pi, sides, endpoint=False)
    ring = (
        np.cos(turn)[None, :, None] * side[:, None]
        + np.sin(turn)[None, :, None] * other[:, None] * flatten
    )
    points = centre[:, None] + ring * radius[:, None, None]
    rows = len(centre)
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(centre, axis=0), axis=1))])
    uv = np.stack(np.broadcast_arrays(along[:, None], turn[None, :]), -1).reshape(-1, 2)
    flat = points.reshape(-1, 3)
    paint = None if colour is None else np.tile(np.asarray(colour, float), (len(flat), 1))
    return Mesh(
        part=part,
        material=material,
        points=flat,
        quads=grid_faces(rows, sides, closed=True),
        uv=uv,
        colour=paint,
    )


def plate(
    width: float,
    height: float,
    *,
    part: str,
    material: str,
    top: float = 0.0,
    left_top: tuple[float, float] = (0.0, 0.0),
) -> Mesh:
    """A flat sheet facing +z in card coordinates (x right, y down becomes world -y), uv 0 to 1."""
    x, y = left_top
    points = np.array(
        [[x, -y - height, top], [x + width, -y - height, top], [x + width, -y, top], [x, -y, top]]
    )
    uv = np.array([[0.0, 0], [1, 0], [1, 1], [0, 1]])
    return Mesh(
        part=part,
        material=material,
        points=points,
        quads=np.array([[0, 1, 2, 3]]),
        uv=uv,
        smooth=False,
    )


def block(low: Floats, high: Floats, material: str) -> Mesh:
    x, y, z = np.meshgrid(*zip(low, high, strict=True), indexing="ij")
    points = np.stack([x.ravel(), y.ravel(), z.ravel()], 1)
    quads = np.array(
        [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
    )
    return Mesh(
        part="block",
        material=material,
        points=points,
        quads=quads,
        uv=points[:, :2].copy(),
        smooth=False,
    )
