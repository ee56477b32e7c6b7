"""Tubers of a clump counted, and the longest of them measured from the crown."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.clump import FoundClump
from measure.outline.regions import Mask, rough_parts, widest_of
from measure.results import Points

__all__ = ["TuberCount", "count_tubers", "peaks_of"]

_LEVELS = (0.3, 0.5, 0.65, 0.8)
_SURE = 0.8
_LEAST_MM = 9.0
# By the number seen (the last for all above): how many fewer and more there may be at 95 %; how
# many more lie hidden, its standard uncertainty, and how many more than seen are there in all. From
# drawn scenes that the network was not trained on, see tests/benchmarks/bench_clumps.py.
_MISCOUNTED = (
    (0, 2), (1, 1), (1, 1), (1, 2), (1, 2), (1, 2), (1, 2), (1, 2), (2, 2), (2, 3), (2, 3), (3, 3),
    (3, 3),
)  # fmt: skip
_HIDDEN = (
    (0.3, 0.5, 2), (0.3, 0.5, 2), (0.3, 0.5, 2), (0.3, 0.5, 2), (0.4, 0.7, 3), (0.6, 0.8, 3),
    (0.8, 1.1, 3), (0.8, 1.1, 3), (0.9, 1.2, 4), (1.0, 1.5, 5), (1.8, 1.6, 5), (2.2, 1.9, 5),
    (2.2, 1.9, 5),
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class TuberCount:
    """Tubers of one clump.

    Attributes
    ----------
    seen : int
        Tubers told apart.
    interval95 : tuple of two ints
        Interval said to hold the number at least a third visible with 95 % probability.
    u : float
        Standard uncertainty of the number.
    hidden, u_hidden : float
        How many more are usually hidden, less than a third of them visible, and its standard
        uncertainty.
    all95 : tuple of two ints
        Interval said to hold the number of all tubers, those hidden too, with 95 % probability.
    longest_px, longest_u_px : float
        Length of the longest tuber in pixels, along its middle from where it leaves the crown,
        and its standard uncertainty; NaN where none was told apart.
    """

    seen: int
    interval95: tuple[int, int]
    u: float
    hidden: float
    u_hidden: float
    all95: tuple[int, int]
    longest_px: float
    longest_u_px: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Arm:
    """One arm of the outline: its tip, and its course and width at rising distances."""

    tip: NDArray[np.float64]
    course: Points
    widths: NDArray[np.float64]
    start: float
    end: float


def count_tubers(
    found: FoundClump,
    *,
    px_per_mm: float,
    grid_px_per_mm: float = 1.5,
    least_relief: float = 0.022,
) -> TuberCount:
    """Count the tubers that the network told apart; measure the longest along the outline.

    Parameters
    ----------
    found : FoundClump
        Outline, and where the network saw tubers' middles and stem.
    px_per_mm : float
        Scale at the clump.
    grid_px_per_mm : float
        Fineness at which the longest tuber is measured.
    least_relief : float
        How far an arm must stand out from the notches beside it, as a share of the spread.
    """
    seen, unsure = _told_apart(found.cores, scale=px_per_mm * found.window.scale_x)
    longest, longest_u = _longest_tuber(
        found, grid=grid_px_per_mm / px_per_mm, least_relief=least_relief
    )
    fewer, more = _MISCOUNTED[min(seen, len(_MISCOUNTED) - 1)]
    hidden, u_hidden, at_most = _HIDDEN[min(seen, len(_HIDDEN) - 1)]
    return TuberCount(
        seen=seen,
        interval95=(max(0, seen - fewer), seen + more + (unsure > 1.5)),
        u=max(0.3, (fewer + more) / 4),
        hidden=hidden,
        u_hidden=u_hidden,
        all95=(max(0, seen - fewer), seen + max(at_most, more)),
        longest_px=longest,
        longest_u_px=longest_u,
    )


def _told_apart(cores: NDArray[np.float32], *, scale: float) -> tuple[int, float]:
    """Number of middles of tubers, and how many more or fewer it might be for faint ones."""
    smooth = np.asarray(cv2.GaussianBlur(cores, (0, 0), 1.0), dtype=np.float32)
    least = max(4.0, (_LEAST_MM * scale) ** 2)
    labels, areas, _ = rough_parts(smooth > _LEVELS[0])
    seen, unsure = 0, 0.0
    for part in np.flatnonzero(areas >= least):
        own = np.where(labels == part, smooth, 0.0).astype(np.float32)
        peak = float(own.max())
        if peak < _SURE:
            unsure += peak
            continue
        unsure += 1.0 - peak
        seen += _leaves(own, 1, least=0.8 * least)
    return seen, unsure


def _leaves(chances: NDArray[np.float32], level: int, *, least: float) -> int:
    """Into how many parts a patch falls when only its surer pixels are kept."""
    for k in range(level, len(_LEVELS)):
        labels, areas, _ = rough_parts(chances > _LEVELS[k])
        parts = np.flatnonzero(areas >= least)
        if len(parts) > 1:
            return sum(
                _leaves(np.where(labels == p, chances, 0.0).astype(np.float32), k + 1, least=least)
                for p in parts
            )
    return 1


def _longest_tuber(found: FoundClump, *, grid: float, least_relief: float) -> tuple[float, float]:
    """Length of the longest tuber and its standard uncertainty, in pixels of the picture.

    ``grid`` is the fineness of the work, in its own pixels for each of the picture's.
    """
    low, high = found.outline.points.min(axis=0), found.outline.points.max(axis=0)
    ring = (found.outline.points - low) * grid + 4.0
    columns, rows = np.ceil((high - low) * grid).astype(int) + 9
    region = np.zeros((rows, columns), np.uint8)
    cv2.fillPoly(region, [np.round(ring * 16).astype(np.int32).reshape(-1, 1, 2)], 1, cv2.LINE_8, 4)
    spread = widest_of(ring)
    stem = _foot_of_stem(found)
    if stem is not None:
        stem = (np.asarray(stem) - low) * grid + 4.0
    crown, arms = _arms_about_crown(
        ring, region > 0, stem=stem, spread=spread, least_relief=least_relief
    )
    longest, longest_u = _longest(arms, crown, spread=spread)
    return longest / grid, longest_u / grid


def _foot_of_stem(found: FoundClump) -> Points | None:
    """Where the stem leaves the crown (x, y in the picture): its end nearest the clump's middle."""
    labels, areas, _ = rough_parts(found.stem > 0.5)
    if not areas.any() or areas.max() < 12:
        return None
    rows, columns = np.nonzero(labels == int(np.argmax(areas)))
    points = found.window.to_picture(np.stack([columns, rows], axis=1).astype(np.float64))
    middle = found.outline.points.mean(axis=0)
    away = np.hypot(*(points - middle).T)
    near = away <= np.percentile(away, 30)
    return np.asarray(points[near].mean(axis=0), dtype=np.float64)


def _arms_about_crown(
    ring: Points,
    region: Mask,
    *,
    stem: Points | None,
    spread: float,
    least_relief: float,
) -> tuple[NDArray[np.float64], list[_Arm]]:
    """The crown, and the arms about it.

    The crown is where the arms' courses meet, and not far from where the stem stands.
    """
    depth = cv2.distanceTransform(region.astype(np.uint8), cv2.DIST_L2, 5)
    rows, columns = np.nonzero(region)
    weight = depth[rows, columns].astype(np.float64)
    crown = np.array([np.average(columns, weights=weight), np.average(rows, weights=weight)])
    reach = 0.2 * spread
    if stem is not None:
        crown, reach = np.array(stem), 0.05 * spread
    arms = _arms(ring, crown, spread=spread, least_relief=least_relief)
    for _ in range(2):
        if len(arms) < 3:
            break
        crown = _meeting_point(arms, crown, reach=reach)
        arms = _arms(ring, crown, spread=spread, least_relief=least_relief)
    return crown, arms


def _meeting_point(
    arms: list[_Arm], crown: NDArray[np.float64], *, reach: float
) -> NDArray[np.float64]:
    """The point nearest to all arms' axes, far-off ones weighing little."""
    starts = np.array([arm.course[len(arm.course) // 3] for arm in arms])
    ways = np.array([arm.course[-1] - arm.course[len(arm.course) // 3] for arm in arms])
    ways /= np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-9)
    across = np.stack([-ways[:, 1], ways[:, 0]], axis=1)
    point = crown
    for _ in range(5):
        gaps = np.sum(across * (point - starts), axis=1)
        weight = 1 / (1 + (gaps / (0.15 * reach)) ** 2)
        # A little pull to the middle keeps the solution where all arms are nearly parallel.
        normal = (across * weight[:, None]).T @ across + 0.15 * np.eye(2)
        target = (across * weight[:, None]).T @ np.sum(across * starts, axis=1) + 0.15 * crown
        point = np.linalg.solve(normal, target)
    away = point - crown
    length = float(np.linalg.norm(away))
    return crown + away * min(1.0, reach / max(length, 1e-9))


def _arms(
    ring: Points,
    crown: NDArray[np.float64],
    *,
    spread: float,
    least_relief: float,
) -> list[_Arm]:
    """The parts of the outline that stand out from the notches beside them."""
    away = np.hypot(*(ring - crown).T)
    count = len(away)
    round_thrice = np.concatenate([away, away, away])
    kernel = np.hanning(max(3, 2 * round(0.012 * count) + 1))
    round_thrice = np.convolve(round_thrice, kernel / kernel.sum(), mode="same")
    peaks = peaks_of(round_thrice, prominence=least_relief * spread)
    peaks = peaks[(peaks >= count) & (peaks < 2 * count)]
    peaks = peaks[round_thrice[peaks] > 0.17 * spread]
    arms = []
    for index, peak in enumerate(peaks):
        before = peaks[index - 1] - (count if index == 0 else 0)
        after = peaks[(index + 1) % len(peaks)] + (count if index == len(peaks) - 1 else 0)
        left = before + int(np.argmin(round_thrice[before : peak + 1]))
        right = peak + int(np.argmin(round_thrice[peak : after + 1]))
        arm = _arm_between(
            ring[np.arange(left, peak + 1) % count],
            ring[np.arange(peak, right + 1) % count],
            crown,
        )
        if arm is not None:
            arms.append(arm)
    return arms


def peaks_of(values: NDArray[np.float64], *, prominence: float) -> NDArray[np.intp]:
    """Where values (N,) are higher than their neighbours and stand out by ``prominence`` at least.

    How far a peak stands out is its height over the higher of the two lowest places between it and
    the next higher ground to either side. As ``scipy.signal.find_peaks`` has it, which takes longer
    to import than a clump to measure.
    """
    inner = values[1:-1]
    peaks = np.flatnonzero((inner > values[:-2]) & (inner > values[2:])) + 1
    kept = []
    for peak in peaks:
        higher = np.flatnonzero(values > values[peak])
        place = np.searchsorted(higher, peak)
        left = higher[place - 1] + 1 if place else 0
        right = higher[place] if place < len(higher) else len(values)
        foot = max(values[left : peak + 1].min(), values[peak:right].min())
        if values[peak] - foot >= prominence:
            kept.append(peak)
    return np.array(kept, dtype=np.intp)


def _arm_between(one: Points, other: Points, crown: NDArray[np.float64]) -> _Arm | None:
    """An arm from its two flanks, each running between notch and tip."""
    tip = one[-1]
    far = float(np.hypot(*(tip - crown)))
    reach_one, reach_other = np.hypot(*(one - crown).T), np.hypot(*(other - crown).T)
    start = max(float(reach_one.min()), float(reach_other.min()))
    if far - start < 4:
        return None
    levels = np.linspace(start, far, 24)[:-1]
    first = one[[int(np.argmax(reach_one >= level)) for level in levels]]
    last_index = [len(other) - 1 - int(np.argmax(reach_other[::-1] >= level)) for level in levels]
    last = other[last_index]
    course = np.vstack([(first + last) / 2, tip[None]])
    return _Arm(
        tip=tip,
        course=course,
        widths=np.hypot(*(first - last).T),
        start=start,
        end=far,
    )


def _longest(arms: list[_Arm], crown: NDArray[np.float64], *, spread: float) -> tuple[float, float]:
    """Length of the longest arm from the crown's edge to its tip, along its bend."""
    if not arms:
        return float("nan"), float("nan")
    # Where two tubers part cleanly the notch reaches the crown; elsewhere they hide it.
    notches = np.array([arm.start for arm in arms])
    crown_radius = float(np.clip(np.percentile(notches, 25), 0.085 * spread, 0.11 * spread))
    lengths = []
    for arm in arms:
        third = len(arm.course) // 3
        elbow = arm.course[third : 2 * third].mean(axis=0)
        bent = float(np.hypot(*(arm.tip - elbow)) + np.hypot(*(elbow - crown)))
        lengths.append(bent - crown_radius)
    return max(lengths), 0.04 * spread
