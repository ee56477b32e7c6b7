"""Tubers counted along a clump's outline, and the longest of them measured from the crown."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

from measure.outline.regions import Mask, widest_of
from measure.outline.stem import stem_in
from measure.outline.window import Window, window_of
from measure.results import Outline, Picture, Points

__all__ = ["TuberCount", "count_tubers"]


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
    longest_px, longest_u_px : float
        Length of the longest tuber in pixels, along its middle from where it leaves the crown,
        and its standard uncertainty; NaN where none was told apart.
    """

    seen: int
    interval95: tuple[int, int]
    u: float
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
    picture: Picture,
    outline: Outline,
    *,
    px_per_mm: float,
    grid_px_per_mm: float = 1.5,
    least_relief: float = 0.022,
) -> TuberCount:
    """Count the arms of the outline, and those that the picture shows to be two side by side.

    Parameters
    ----------
    picture : (H, W, 3) uint8 RGB array
    outline : Outline
        Of the clump, without stem and roots.
    px_per_mm : float
        Scale at the clump.
    grid_px_per_mm : float
        Fineness at which the work is done.
    least_relief : float
        How far an arm must stand out from the notches beside it, as a share of the spread.
    """
    margin = 4 * px_per_mm
    low, high = outline.points.min(axis=0) - margin, outline.points.max(axis=0) + margin
    window = window_of(
        picture,
        box=(float(low[0]), float(low[1]), float(high[0]), float(high[1])),
        side_px=max(16, round(float(np.max(high - low)) * grid_px_per_mm / px_per_mm)),
        enlarge=True,
    )
    ring = window.from_picture(outline.points)
    region = np.zeros(window.shape, np.uint8)
    cv2.fillPoly(region, [np.round(ring * 16).astype(np.int32).reshape(-1, 1, 2)], 1, cv2.LINE_8, 4)
    spread = widest_of(ring)
    scale = px_per_mm * window.scale_x
    height, width = picture.shape[:2]
    centre = window.from_picture(np.array([[(width - 1) / 2, (height - 1) / 2]]))[0]
    stem = _foot_of_stem(window, region > 0, centre=centre, scale=scale)
    crown, arms = _arms_about_crown(
        ring, region > 0, stem=stem, spread=spread, least_relief=least_relief
    )
    grey = np.ascontiguousarray(window.lab[..., 0])
    doubles = sum(_is_double(arm, arms, grey) for arm in arms)
    seen = len(arms) + doubles
    longest, longest_u = _longest(arms, crown, spread=spread)
    # Judgement from drawn and rendered clumps: the more tubers, the more of them lie over others.
    u = 0.5 + 0.12 * max(0, seen - 3) + 0.3 * doubles
    return TuberCount(
        seen=seen,
        interval95=(max(0, seen - max(1, round(1.2 * u))), seen + max(1, round(2.4 * u))),
        u=u,
        longest_px=longest / window.scale_x,
        longest_u_px=longest_u / window.scale_x,
    )


def _foot_of_stem(
    window: Window, region: Mask, *, centre: NDArray[np.float64], scale: float
) -> tuple[float, float] | None:
    """Where the stem leaves the crown: it stands up, so the foot is nearer the picture's centre."""
    piece, middle = stem_in(window, region, scale=scale)
    if middle is None:
        return None
    rows, columns = np.nonzero(piece)
    way = centre - np.array(middle)
    way /= max(float(np.hypot(*way)), 1e-9)
    along = (columns - middle[0]) * way[0] + (rows - middle[1]) * way[1]
    # The crown's middle is some 10 mm in from the near edge of the stem.
    step = max(0.0, float(np.percentile(along, 95)) - 10 * scale)
    return middle[0] + step * way[0], middle[1] + step * way[1]


def _arms_about_crown(
    ring: Points,
    region: Mask,
    *,
    stem: tuple[float, float] | None,
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
    peaks, _ = find_peaks(round_thrice, prominence=least_relief * spread)
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


def _is_double(
    arm: _Arm,
    arms: list[_Arm],
    grey: NDArray[np.float32],
    *,
    wider: float = 1.35,
    seam_depth: float = 0.10,
) -> bool:
    """Whether an arm is two tubers side by side: wider than the others, with a dark seam along it.

    ``seam_depth`` is how much darker the seam must be than both sides, as a share.
    """
    usual = float(np.median([np.max(a.widths) for a in arms]))
    if float(np.max(arm.widths)) < wider * usual:
        return False
    seams = []
    for step in range(len(arm.widths) // 6, 2 * len(arm.widths) // 3):
        way = arm.course[step + 1] - arm.course[step]
        way = way / max(float(np.hypot(*way)), 1e-9)
        across = np.array([-way[1], way[0]]) * arm.widths[step] / 2
        at = arm.course[step] + np.linspace(-0.8, 0.8, 33)[:, None] * across
        row = cv2.remap(
            grey, at[:, :1].astype(np.float32), at[:, 1:].astype(np.float32), cv2.INTER_LINEAR
        )
        profile = cv2.GaussianBlur(np.asarray(row, dtype=np.float32), (0, 0), 1.2).ravel()
        dips = [
            1 - profile[k] / max(min(profile[:k].max(), profile[k + 1 :].max()), 1.0)
            for k in range(6, 27)
        ]
        seams.append(max(dips) > seam_depth)
    return bool(np.mean(seams) > 0.6) if seams else False


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
