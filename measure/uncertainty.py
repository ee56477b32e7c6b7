"""Uncertainty of results from that of inputs: by propagation, and by drawing many times."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Drawn",
    "Inputs",
    "Propagated",
    "drawn_from",
    "even_draws",
    "independent_parts",
    "propagate",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """What many draws of one quantity say: its mean, standard uncertainty and 95 % interval.

    As many draws lie below the interval as above it.
    """

    mean: float
    u: float
    interval95: tuple[float, float]


class Inputs(Protocol):
    """Results as a function of independent standard normal inputs, many sets of them at once."""

    names: tuple[str, ...]
    """The cause that each input counts to; several may share one."""

    def sizes(self, inputs: NDArray[np.float64]) -> dict[str, NDArray[np.float64]]:
        """Results (B,) by name for inputs (B, n)."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Propagated:
    """What one standard uncertainty of each input does to one result.

    Attributes
    ----------
    central : float
        The result with all inputs at their best estimates.
    effects : (n,) float array
        Half the difference between an input's shift up and its shift down.
    bends : (n,) float array
        By how much the mean of both shifts lies above ``central``.
    """

    central: float
    effects: NDArray[np.float64]
    bends: NDArray[np.float64]

    @property
    def u(self) -> float:
        """Standard uncertainty to first order."""
        return float(np.linalg.norm(self.effects))


def propagate(inputs: Inputs) -> dict[str, Propagated]:
    """Shift each input by one standard uncertainty to both sides; results by name."""
    count = len(inputs.names)
    steps = np.eye(count)
    found = inputs.sizes(np.concatenate([np.zeros((1, count)), steps, -steps]))
    made = {}
    for name, values in found.items():
        central, high, low = values[0], values[1 : count + 1], values[count + 1 :]
        made[name] = Propagated(
            central=float(central),
            effects=(high - low) / 2.0,
            bends=(high + low) / 2.0 - central,
        )
    return made


def even_draws(draws: int, count: int, *, seed: int) -> NDArray[np.float64]:
    """(draws, count) standard normal draws whose means are 0 and whose covariance is exactly 1.

    Drawn at random in pairs of opposite signs, then brought to that covariance: what a result
    depends on in a straight line then comes out without sampling error, so that far fewer draws
    show what does not.
    """
    half = np.random.default_rng(seed).normal(size=((draws + 1) // 2, count))
    factor = np.linalg.cholesky(half.T @ half / len(half))
    even = np.linalg.solve(factor, half.T).T
    return np.concatenate([even, -even])[:draws]


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


def drawn_from(values: NDArray[np.float64]) -> Drawn:
    """What draws (N,) of one quantity say."""
    low, high = np.percentile(values, (2.5, 97.5))
    return Drawn(
        mean=float(np.mean(values)),
        u=float(np.std(values)),
        interval95=(float(low), float(high)),
    )
