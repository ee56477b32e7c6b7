"""One figure from several that differ by more than their own uncertainties: random effects."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

from scipy.special import stdtrit

__all__ = ["Pooled", "fixed_effect", "normal_quantile", "pool_random_effects", "t_quantile"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pooled:
    """Several values pooled by random effects.

    Attributes
    ----------
    n : int
        How many values went in.
    mean : float
        The pooled value (DerSimonian-Laird weights).
    se_normal, interval_normal : float, (float, float)
        Its standard error and interval, taking the weights as known (normal quantile).
    se_hk, interval_hk : float, (float, float)
        The same after Hartung and Knapp: from the scatter found, t quantile with n - 1 degrees.
    interval : (float, float)
        The interval to use: Hartung and Knapp's, but never narrower than the normal one.
    tau2 : float
        Variance between the true values, at least 0.
    q, i2_percent : float
        Cochran's Q, and the share of the scatter that is not explained by the uncertainties.
    weights : tuple of float
        What each value weighs in the mean; they sum to 1.
    """

    n: int
    mean: float
    se_normal: float
    interval_normal: tuple[float, float]
    se_hk: float
    interval_hk: tuple[float, float]
    interval: tuple[float, float]
    tau2: float
    q: float
    i2_percent: float
    weights: tuple[float, ...]


def normal_quantile(confidence: float = 0.95) -> float:
    """How many standard errors a two-sided normal interval reaches either way."""
    return NormalDist().inv_cdf(0.5 + confidence / 2)


def t_quantile(degrees: float, confidence: float = 0.95) -> float:
    """How many standard errors a two-sided t interval reaches; infinite degrees give the normal."""
    if math.isinf(degrees):
        return normal_quantile(confidence)
    return float(stdtrit(degrees, 0.5 + confidence / 2))


def fixed_effect(values: Sequence[float], variances: Sequence[float]) -> tuple[float, float]:
    """Mean weighted by inverse variance, and its standard error, as if all were the same thing.

    ``ValueError`` when the lengths differ, nothing is given, or a variance is not above zero.
    """
    _check(values, variances)
    total = math.fsum(1 / v for v in variances)
    mean = math.fsum(y / v for y, v in zip(values, variances, strict=True)) / total
    return mean, math.sqrt(1 / total)


def pool_random_effects(
    values: Sequence[float], variances: Sequence[float], *, confidence: float = 0.95
) -> Pooled:
    """Pool by random effects: DerSimonian-Laird, with the Hartung-Knapp interval.

    The variance between the true values is DerSimonian and Laird's moment estimate. The interval
    is Hartung and Knapp's, except that it is never narrower than the normal interval of the same
    weights: with few values their scatter can come out far smaller by chance than what the
    values' own uncertainties make possible, and then the plain interval claims too much.

    Needs at least two values: one has no scatter to look at. ``ValueError`` when there are fewer,
    when the lengths differ, or when a variance is not above zero.
    """
    n = len(values)
    if n < 2:
        msg = f"pooling needs at least two values, got {n}"
        raise ValueError(msg)
    fixed, _ = fixed_effect(values, variances)
    inverse = [1 / v for v in variances]
    total = math.fsum(inverse)
    q = math.fsum(w * (y - fixed) ** 2 for w, y in zip(inverse, values, strict=True))
    spare = total - math.fsum(w * w for w in inverse) / total
    tau2 = max(0.0, (q - (n - 1)) / spare)
    widened = [v + tau2 for v in variances]
    mean, se_normal = fixed_effect(values, widened)
    weight_sum = math.fsum(1 / v for v in widened)
    scatter = math.fsum((y - mean) ** 2 / v for y, v in zip(values, widened, strict=True))
    se_hk = math.sqrt(scatter / ((n - 1) * weight_sum))
    half_normal = normal_quantile(confidence) * se_normal
    half_hk = t_quantile(n - 1, confidence) * se_hk
    half = max(half_hk, half_normal)
    return Pooled(
        n=n,
        mean=mean,
        se_normal=se_normal,
        interval_normal=(mean - half_normal, mean + half_normal),
        se_hk=se_hk,
        interval_hk=(mean - half_hk, mean + half_hk),
        interval=(mean - half, mean + half),
        tau2=tau2,
        q=q,
        i2_percent=max(0.0, (q - (n - 1)) / q * 100) if q > 0 else 0.0,
        weights=tuple(1 / v / weight_sum for v in widened),
    )


def _check(values: Sequence[float], variances: Sequence[float]) -> None:
    if len(values) != len(variances):
        msg = f"{len(values)} values but {len(variances)} variances"
        raise ValueError(msg)
    if not values:
        msg = "there is nothing to average"
        raise ValueError(msg)
    for y, v in zip(values, variances, strict=True):
        if not math.isfinite(y):
            msg = f"a value must be a finite number, got {y}"
            raise ValueError(msg)
        if not (math.isfinite(v) and v > 0):
            msg = f"a variance must be above zero and finite, got {v}"
            raise ValueError(msg)
