"""What the light did to a picture: glare on the card, a shadow's edge, too dark, too bright."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.greys import GreyPlaces
from measure.results import Picture, Points

__all__ = ["cut_off_inside", "glare_on", "paper_level", "shadow_edge", "shadow_on"]

Floats = NDArray[np.float64]

_CUT_OFF = 252


def shadow_edge(picture: Picture, outline: Points, *, side_px: int = 96) -> float:
    """The strongest straight step of light across a subject, as a natural logarithm.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    outline : (N, 2) float array
        The subject's, in pixels.
    side_px : int
        The subject is shrunk to this before it is looked at.

    Returns
    -------
    float
        0 where there is none; 0.7 where one side of a line gets half the other's light.

    Four fifths of the line's way through the subject must show the step in one direction. Petals,
    tubers and a disc step up and down along a line; the shading of a globe rises over more than
    the few per cent of its width that lie between the two strips compared.
    """
    logs, mask = _inside(picture, outline, side_px=side_px)
    if mask.sum() < 200:
        return 0.0
    size = logs.shape[0]
    best = 0.0
    for turn in range(0, 180, 12):
        to = cv2.getRotationMatrix2D(((size - 1) / 2.0, (size - 1) / 2.0), float(turn), 1.0)
        light = cv2.warpAffine(logs, to, (size, size), flags=cv2.INTER_LINEAR)
        there = cv2.warpAffine(mask.astype(np.float32), to, (size, size), flags=cv2.INTER_LINEAR)
        best = max(best, _step_down(np.asarray(light, np.float64), np.asarray(there) > 0.99))
    return best


def _step_down(light: Floats, there: NDArray[np.bool_], *, strip: int = 5, gap: int = 2) -> float:
    """The best column's step between the strips on its two sides, along four fifths of it."""
    width = light.shape[1]
    sums = np.pad(np.cumsum(np.where(there, light, 0.0), axis=1), ((0, 0), (1, 0)))
    counts = np.pad(np.cumsum(there, axis=1), ((0, 0), (1, 0)))
    columns = np.arange(strip + gap, width - strip - gap)
    left, right = columns - gap, columns + gap + 1
    full: NDArray[np.bool_] = (counts[:, left] - counts[:, left - strip] == strip) & (
        counts[:, right + strip - 1] - counts[:, right - 1] == strip
    )
    step = (
        sums[:, left] - sums[:, left - strip] - sums[:, right + strip - 1] + sums[:, right - 1]
    ) / strip
    long_enough = np.count_nonzero(full, axis=0) >= 0.45 * np.count_nonzero(there.any(axis=1))
    if not long_enough.any():
        return 0.0
    some = np.where(full, step, np.nan)[:, long_enough]
    low, high = (_share_of(some, share) for share in (0.2, 0.8))
    return float(max(low.max(), -high.min(), 0.0))


def _share_of(columns: Floats, share: float) -> Floats:
    """The value under which this share of each column lies, gaps (NaN) left out.

    As ``np.nanpercentile`` has it, which takes the columns one by one.
    """
    ordered = np.sort(columns, axis=0)
    last = np.count_nonzero(np.isfinite(ordered), axis=0) - 1
    at = share * last
    below = np.floor(at).astype(int)
    every = np.arange(columns.shape[1])
    low, high = ordered[below, every], ordered[np.minimum(below + 1, last), every]
    return np.asarray(low + (high - low) * (at - below))


def _inside(
    picture: Picture, outline: Points, *, side_px: int
) -> tuple[NDArray[np.float32], NDArray[np.bool_]]:
    """Logarithm of the light on a square window about the subject, and where the subject is."""
    middle = (outline.min(axis=0) + outline.max(axis=0)) / 2.0
    half = float(np.ptp(outline, axis=0).max()) / 2.0 + 1.0
    scale = (side_px - 1) / (2.0 * half)
    to = np.array(
        [
            [scale, 0.0, (side_px - 1) / 2.0 - scale * middle[0]],
            [0.0, scale, (side_px - 1) / 2.0 - scale * middle[1]],
        ]
    )
    height, width = picture.shape[:2]
    low = np.clip(np.floor(middle - half).astype(int), 0, [width - 1, height - 1])
    high = np.clip(np.ceil(middle + half).astype(int) + 1, low + 1, [width, height])
    part = picture[low[1] : high[1], low[0] : high[0]]
    gray = cv2.cvtColor(part, cv2.COLOR_RGB2GRAY)
    # Averaged before it is sampled: a petal's texture is no step of light.
    soft = cv2.blur(gray, (max(1, round(1.0 / scale)),) * 2)
    to[:, 2] += to[:, :2] @ low
    seen = cv2.warpAffine(soft, to, (side_px, side_px), flags=cv2.INTER_LINEAR)
    logs = 2.2 * np.log((np.asarray(seen, np.float32) + 2.0) / 257.0)
    mask = np.zeros((side_px, side_px), np.uint8)
    polygon = (outline - low) @ to[:, :2].T + to[:, 2]
    cv2.fillPoly(mask, [np.round(polygon * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return logs.astype(np.float32), np.asarray(cv2.erode(mask, np.ones((3, 3), np.uint8))) > 0


def shadow_on(places: GreyPlaces, *, fewest: int = 3) -> float:
    """The step of light on the card's paper, as a natural logarithm; 0 where there is none.

    It is the widest gap between places of bare paper ordered by their light, with at least
    ``fewest`` of them on either side: a gradient leaves no gap. A tenth of the places may lie on
    the shadow's edge itself and so within the gap.
    """
    paper = places.values[places.greys == 1.0].mean(axis=1)
    light = np.sort(2.2 * np.log((paper + 2.0) / 257.0))
    within = 1 + len(light) // 10
    gaps = (light[within:] - light[:-within])[fewest - 1 : len(light) - within - fewest + 1]
    return float(gaps.max()) if len(gaps) else 0.0


def glare_on(places: GreyPlaces, *, least_share: float = 0.3) -> bool:
    """Whether something shines on the card: black print that comes out grey or white.

    ``least_share`` is how far up from black to white print has to come. What is coloured other
    than the card's paper is something lying on it, and no shine.
    """
    black = places.greys == 0.0
    white = places.greys == 1.0
    if np.count_nonzero(black) < 2 or not white.any():
        return False
    paper = np.median(places.values[white], axis=0)
    ink = np.percentile(places.values[black], 25.0, axis=0)
    raised = (places.values[black] - ink) / np.maximum(paper - ink, 1.0)
    colourless = np.ptp(raised, axis=1) < 0.12
    return bool(np.any(colourless & (raised.mean(axis=1) > least_share)))


def paper_level(places: GreyPlaces) -> float:
    """How bright the card's bare paper came out, 0 to 255; NaN where none is seen."""
    paper = places.values[places.greys == 1.0]
    return float(np.median(paper.max(axis=1))) if len(paper) else math.nan


def cut_off_inside(picture: Picture, outline: Points, *, side_px: int = 160) -> float:
    """Share of the subject of which the camera cut off a colour as too bright."""
    height, width = picture.shape[:2]
    low = np.clip(np.floor(outline.min(axis=0)).astype(int), 0, [width - 1, height - 1])
    high = np.clip(np.ceil(outline.max(axis=0)).astype(int) + 1, low + 1, [width, height])
    part = picture[low[1] : high[1], low[0] : high[0]]
    shrink = min(1.0, side_px / max(part.shape[:2]))
    size = (max(1, round(part.shape[1] * shrink)), max(1, round(part.shape[0] * shrink)))
    # Sampled, not averaged: what is cut off must stay so.
    small = np.asarray(cv2.resize(part, size, interpolation=cv2.INTER_NEAREST))
    scale = np.array([size[0] / part.shape[1], size[1] / part.shape[0]])
    mask = np.zeros(small.shape[:2], np.uint8)
    cv2.fillPoly(mask, [np.round((outline - low) * scale).astype(np.int32)], 1)
    inside = small[mask > 0]
    return float(np.mean(inside.max(axis=1) >= _CUT_OFF)) if len(inside) else 0.0
