"""One dome fitted to the outlines that several cameras saw of the same bloom, with all unknowns."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from measure.lift import on_level, touching
from measure.pose import Pose
from measure.results import Points

__all__ = [
    "HARMONICS",
    "JointDome",
    "SeenOutline",
    "Unknown",
    "fit_joint_dome",
    "harmonics_of",
]

Vector = NDArray[np.float64]

# Harmonics of the outline's support function that are compared: its mean width, its middle, and
# how oval, three-, and four-sided it is. Finer ones tell of single petals, not of place and height.
_ORDERS = 4
HARMONICS = 2 * _ORDERS + 1
_DIRECTIONS = 72
_TURN = np.linspace(0.0, 2.0 * math.pi, _DIRECTIONS, endpoint=False)
_UNIT = np.column_stack([np.cos(_TURN), np.sin(_TURN)])
_WAVES = np.column_stack(
    [np.full(_DIRECTIONS, 0.5)]
    + [f(m * _TURN) for m in range(1, _ORDERS + 1) for f in (np.cos, np.sin)]
) * (2.0 / _DIRECTIONS)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Unknown:
    """Something not known exactly beforehand: its cause's name and what one sigma of it shifts.

    Attributes
    ----------
    name : str
    dome : (4,) float array
        Height of the widest part (mm), logarithm of the half-height over the diameter, lean of the
        axis in x and y (tangents): what one standard uncertainty adds to each.
    states : mapping of int to (7,) float array
        What it adds to the pose of a shot, by the shot's place in the sequence.
    barrel : bool
        Whether it is the lens's distortion, which moves the pixels too.
    """

    name: str
    dome: Vector
    states: dict[int, Vector]
    barrel: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SeenOutline:
    """An outline in one shot: its pixels (N, 2), the pose, and its scatter.

    ``bias_mm`` is by how much the scatter makes the nine compared harmonics too large, (9,);
    ``covariances`` are those of the harmonics by cause, (9, 9) in mm squared.
    """

    pixels: Points
    pose: Pose
    bias_mm: Vector
    covariances: dict[str, NDArray[np.float64]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointDome:
    """The dome that all outlines agree on best.

    Attributes
    ----------
    diameter_mm, height_mm, half_height, lean
        Mean width of the bloom, height of its widest part above the card, half-height over the
        diameter, and lean of the axis (tangents).
    u_height_mm : float
    middle_mm : (2,) float array
        Middle of the bloom, in card positions.
    components : mapping of str to float
        Standard uncertainty of ``diameter_mm`` by cause, in mm.
    outlines_mm : tuple of (N, 2) float arrays
        Each shot's outline as seen along the card's normal.
    misfit : float
        Sum of squares of what doesn't fit, in standard uncertainties; of chi-square's distribution
        with ``freedom`` degrees when the bloom kept still.
    """

    diameter_mm: float
    height_mm: float
    u_height_mm: float
    half_height: float
    lean: tuple[float, float]
    middle_mm: Vector
    components: dict[str, float]
    outlines_mm: tuple[Points, ...]
    misfit: float
    freedom: int


def harmonics_of(outline_mm: Points) -> Vector:
    """(9,) mean radius, middle x and y, and three pairs of finer harmonics of the hull, in mm."""
    return np.asarray((outline_mm @ _UNIT.T).max(axis=0) @ _WAVES, dtype=np.float64)


def fit_joint_dome(
    shots: Sequence[SeenOutline],
    *,
    height_mm: float,
    half_height: float,
    behind: float,
    unknowns: Sequence[Unknown],
    steps: int = 25,
) -> JointDome:
    """Fit one dome to the outlines of two or more shots, and all unknowns along with it.

    The bloom's own outline is not told: where the shots' outlines, each brought down to the card's
    normal through its own pose, agree, the dome is right. Least squares over the unknowns (each
    held by its standard uncertainty) and the outline's harmonics (free).

    Parameters
    ----------
    shots : sequence of SeenOutline
    height_mm, half_height : float
        Where the unknowns of the dome start.
    behind : float
        As in ``DomeShape``.
    unknowns : sequence of Unknown
    steps : int

    Raises
    ------
    ValueError
        When nothing settles.
    """
    scatter = [sum(shot.covariances.values()) for shot in shots]
    whiten = [np.linalg.inv(np.linalg.cholesky(np.asarray(s))) for s in scatter]
    fit = _Fit(
        shots=tuple(shots),
        start=np.array([height_mm, math.log(half_height), 0.0, 0.0]),
        behind=behind,
        unknowns=tuple(unknowns),
        whiten=tuple(whiten),
    )
    known = np.zeros(len(unknowns))
    free = harmonics_of(on_level(*shots[0].pose.rays(shots[0].pixels), height_mm))
    n = len(free)
    left = fit.misfit(free, known)
    for _ in range(steps):
        slope = fit.slope(free, known)
        if not (np.isfinite(left).all() and np.isfinite(slope).all()):
            break
        step = np.linalg.lstsq(slope, -left, rcond=None)[0]
        # A first step from far off may overshoot; no unknown moves by more than three sigma.
        step /= max(1.0, float(np.abs(step[n:]).max(initial=0.0)) / 3.0)
        for _ in range(10):
            tried = fit.misfit(free + step[:n], known + step[n:])
            hoped = left @ left - np.sum((left + slope @ step) ** 2)
            # Less than half of what was hoped for says that the step runs past the best place.
            if np.isfinite(tried).all() and left @ left - tried @ tried > 0.5 * hoped:
                break
            step = step / 2.0
        else:
            # No step makes it better: this is the best, as far as the numbers go.
            return fit.result(free, known)
        free, known, gained = free + step[:n], known + step[n:], left @ left - tried @ tried
        left = tried
        if gained < 1e-4:
            return fit.result(free, known)
    msg = "no bloom can look like these outlines from where the camera stood"
    raise ValueError(msg)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    shots: tuple[SeenOutline, ...]
    start: Vector
    behind: float
    unknowns: tuple[Unknown, ...]
    whiten: tuple[NDArray[np.float64], ...]

    def outline(self, i: int, free: Vector, known: Vector) -> Points:
        """Shot i's outline as seen along the card's normal."""
        shot = self.shots[i]
        state = shot.pose.state.copy()
        dome = self.start.copy()
        pixels = shot.pixels
        for unknown, z in zip(self.unknowns, known, strict=True):
            dome += z * unknown.dome
            if i in unknown.states:
                state += z * unknown.states[i]
            if unknown.barrel and z != 0.0:
                pixels = pixels + z * (shot.pose.unbarrelled(shot.pixels) - shot.pixels)
        eye, directions = shot.pose.rays(pixels, state=state)
        centre = np.array([free[1], free[2], dome[0]])
        return free[1:3] + touching(
            eye - centre,
            directions,
            half_height_mm=math.exp(dome[1]) * 2.0 * max(free[0], 0.5),
            behind=self.behind,
            axis_lean=(float(dome[2]), float(dome[3])),
        )

    def harmonics(self, i: int, free: Vector, known: Vector) -> Vector:
        outline = self.outline(i, free, known)
        if not np.isfinite(outline).all():
            return np.full(len(free), np.nan)
        return harmonics_of(outline) - self.shots[i].bias_mm

    def misfit(self, free: Vector, known: Vector) -> Vector:
        """What each shot's harmonics are off, in standard uncertainties, then the unknowns."""
        off = [
            whiten @ (self.harmonics(i, free, known) - free) for i, whiten in enumerate(self.whiten)
        ]
        return np.concatenate([*off, known])

    def slope(self, free: Vector, known: Vector) -> NDArray[np.float64]:
        """Derivatives of ``misfit`` by the harmonics and the unknowns."""
        n = len(free)
        blocks = []
        for i, whiten in enumerate(self.whiten):
            block = np.zeros((n, n + len(known)))
            block[:, :n] = -np.eye(n)
            for k in range(3):
                step = np.zeros(n)
                step[k] = 0.01 * free[0]
                high = self.harmonics(i, free + step, known)
                low = self.harmonics(i, free - step, known)
                block[:, k] += (high - low) / (2.0 * step[k])
            for k, unknown in enumerate(self.unknowns):
                if not (unknown.dome.any() or unknown.barrel or i in unknown.states):
                    continue
                step = np.zeros(len(known))
                step[k] = 0.2
                high = self.harmonics(i, free, known + step)
                low = self.harmonics(i, free, known - step)
                block[:, n + k] = (high - low) / 0.4
            blocks.append(whiten @ block)
        held = np.hstack([np.zeros((len(known), n)), np.eye(len(known))])
        return np.vstack([*blocks, held])

    def result(self, free: Vector, known: Vector) -> JointDome:
        """The dome, and what each cause does to its diameter."""
        left, slope = self.misfit(free, known), self.slope(free, known)
        gain = np.linalg.pinv(slope)
        n = len(free)
        squares: dict[str, float] = {}
        for i, (shot, whiten) in enumerate(zip(self.shots, self.whiten, strict=True)):
            row = 2.0 * gain[0, i * n : (i + 1) * n] @ whiten
            for name, covariance in shot.covariances.items():
                squares[name] = squares.get(name, 0.0) + float(row @ covariance @ row)
        first = n * len(self.shots)
        for k, unknown in enumerate(self.unknowns):
            part = 2.0 * float(gain[0, first + k])
            squares[unknown.name] = squares.get(unknown.name, 0.0) + part**2
        dome = self.start + sum(
            (z * u.dome for u, z in zip(self.unknowns, known, strict=True)), np.zeros(4)
        )
        lifts = np.concatenate([np.zeros(n), [u.dome[0] for u in self.unknowns]])
        return JointDome(
            diameter_mm=2.0 * float(free[0]),
            height_mm=float(dome[0]),
            u_height_mm=float(np.linalg.norm(lifts @ gain)),
            half_height=math.exp(dome[1]),
            lean=(float(dome[2]), float(dome[3])),
            middle_mm=free[1:3],
            components={name: math.sqrt(v) for name, v in squares.items()},
            outlines_mm=tuple(self.outline(i, free, known) for i in range(len(self.shots))),
            misfit=float(left @ left),
            freedom=n * (len(self.shots) - 1),
        )
