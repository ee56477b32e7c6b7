"""Correlated inputs taken apart into independent ones, and uncertainty by drawing many times."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Drawn", "draw", "independent_parts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What many draws of one quantity say: its mean, standard uncertainty and 95 % interval.

    As many draws lie below the interval as above it.
    """

    mean: float
    u: float
    interval95: tuple[float, float]


def independent_parts(covariance: NDArray[np.float64]) -> list[NDArray[np.float64]]:
    """Changes of all inputs at once, each by one standard uncertainty of an independent cause.

    Correlated inputs can't be shifted one by one. The changes along the covariance's principal
    axes are independent, so what they do to a result adds in quadrature.

    Parameters
    ----------
    covariance : (N, N) float array
        Symmetric, positive semi-definite.

    Returns
    -------
    list of (N,) float arrays
        At most N; directions in which nothing varies are left out.

    Raises
    ------
    ValueError
        When it is not square and symmetric, or not a covariance (a part of negative variance).
    """
    if covariance.ndim != 2 or covariance.shape[0] != covariance.shape[1]:
        msg = f"a covariance is square, got shape {covariance.shape}"
        raise ValueError(msg)
    # Inputs of different units (volts, milliamperes) differ by powers of ten: the axes are found
    # on the correlations, where rounding treats all inputs alike.
    scale = np.sqrt(np.maximum(np.diag(covariance), 0.0))
    safe = np.where(scale > 0.0, scale, 1.0)
    correlation = covariance / np.outer(safe, safe)
    if not np.allclose(correlation, correlation.T, rtol=0.0, atol=1e-6):
        msg = "a covariance is symmetric: what goes with what goes both ways"
        raise ValueError(msg)
    values, vectors = np.linalg.eigh((correlation + correlation.T) / 2.0)
    most = float(np.abs(values).max(initial=0.0))
    if values.min(initial=0.0) < -1e-6 * most:
        msg = "these variances and correlations can't belong together: one part has none left"
        raise ValueError(msg)
    return [
        math.sqrt(value) * vectors[:, i] * scale
        for i, value in enumerate(values)
        if value > 1e-12 * most
    ]


def draw(
    once: Callable[[np.random.Generator], Mapping[str, float]], *, draws: int, seed: int
) -> dict[str, Drawn]:
    """Monte Carlo: draw the inputs and compute the results ``draws`` times, the same each run.

    ``once`` draws its inputs from the generator and gives its results by name.
    """
    if draws < 2:
        msg = f"scatter needs at least two draws, got {draws}"
        raise ValueError(msg)
    rng = np.random.default_rng(seed)
    found: dict[str, list[float]] = {}
    for _ in range(draws):
        for name, value in once(rng).items():
            found.setdefault(name, []).append(value)
    made = {}
    for name, values in found.items():
        low, high = np.percentile(values, (2.5, 97.5))
        made[name] = Drawn(
            mean=float(np.mean(values)),
            u=float(np.std(values)),
            interval95=(float(low), float(high)),
        )
    return made
