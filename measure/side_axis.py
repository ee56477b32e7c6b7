"""Which way a bloom's axis points, seen from the side: by its stem, its symmetry or the card."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Picture, Points

__all__ = ["SideAxis", "axis_from", "find_stem", "symmetry_axis"]


@dataclass(frozen=True, slots=True, kw_only=True)
class SideAxis:
    """The direction from a bloom's back to its front in the card's plane, and how sure it is.

    ``turn_deg`` is turned from the card's upright (towards its top edge) to the card's right;
    ``u_deg`` its standard uncertainty; ``seen_by`` what told most of it.
    """

    turn_deg: float
    u_deg: float
    seen_by: Literal["stem", "symmetry", "card", "hand"]

    @property
    def along(self) -> NDArray[np.float64]:
        """(2,) unit vector in card positions, from back to front."""
        turn = math.radians(self.turn_deg)
        return np.array([math.sin(turn), -math.cos(turn)])


def axis_from(
    outline_mm: Points,
    *,
    stem_deg: float | None,
    u_card_deg: float = 15.0,
    u_stem_deg: float = 10.0,
    reach_deg: float = 40.0,
) -> SideAxis:
    """The axis of a bloom from what tells of it: stem, symmetry of the outline, card's upright.

    Parameters
    ----------
    outline_mm : (N, 2) float array
        In card positions.
    stem_deg : float or None
        Where the stem's own direction points, from stem to bloom; None where no stem was seen.
    u_card_deg, u_stem_deg : float
        How far the axis leans off the card's upright, and off its stem, one standard uncertainty
        (our judgement: a bloom nods on its stem).
    reach_deg : float
        How far from stem or card an axis of symmetry is looked for.
    """
    if stem_deg is None:
        start, u_start, told = 0.0, u_card_deg, "card"
    else:
        start, u_start, told = stem_deg, u_stem_deg, "stem"
    turn, u_turn = symmetry_axis(outline_mm, near_deg=start, reach_deg=reach_deg)
    weight = u_start**2 / (u_start**2 + u_turn**2)
    seen_by: Literal["stem", "symmetry", "card"] = "symmetry"
    if weight < 0.5:
        seen_by = "stem" if told == "stem" else "card"
    return SideAxis(
        turn_deg=start + weight * (turn - start),
        u_deg=math.sqrt(weight) * u_turn,
        seen_by=seen_by,
    )


def symmetry_axis(
    outline_mm: Points, *, near_deg: float, reach_deg: float, u_least_deg: float = 2.0
) -> tuple[float, float]:
    """The turn of the outline's axis of symmetry near a direction, and its uncertainty, degrees.

    The outline is mirrored in its support function; a shift across the axis is no asymmetry. A
    round outline is as symmetric about any axis: then the uncertainty is large.
    """
    turns = np.arange(-reach_deg, reach_deg + 0.5, 1.0) + near_deg
    away = np.radians(np.arange(2.5, 180.0, 5.0))
    unlike = np.empty(len(turns))
    for i, turn in enumerate(turns):
        axis = math.radians(turn)
        right = outline_mm @ np.array([np.sin(axis + away), -np.cos(axis + away)])
        left = outline_mm @ np.array([np.sin(axis - away), -np.cos(axis - away)])
        odd = (right.max(axis=0) - left.max(axis=0)) / 2.0
        odd -= (odd @ np.sin(away)) / (np.sin(away) @ np.sin(away)) * np.sin(away)
        unlike[i] = float(np.mean(odd**2))
    size = float(np.ptp(outline_mm, axis=0).max())
    # One petal more on one side than on the other is no less symmetric than blooms are.
    floor = float(unlike.min()) + (0.006 * size) ** 2
    best = int(unlike.argmin())
    weights = np.exp(-0.5 * (unlike - unlike[best]) / floor * 4.0)
    centre = float(np.sum(weights * turns) / np.sum(weights))
    spread = math.sqrt(float(np.sum(weights * (turns - centre) ** 2) / np.sum(weights)))
    return centre, math.hypot(spread, u_least_deg)


def find_stem(
    picture: Picture,
    outline: Points,
    *,
    px_per_mm: float,
    towards: NDArray[np.float64],
    within_deg: float = 75.0,
    contrast_least: float = 9.0,
) -> Points | None:
    """Two pixels on the stem, the one nearer the bloom first; None where no stem stands out.

    A stem is a strip 3 to 14 mm wide that leaves the bloom outwards and differs in colour from
    what lies on both sides of it, at most of the distances looked at.

    Parameters
    ----------
    picture : (H, W, 3) uint8 array
    outline : (N, 2) float array
        The bloom's, in pixels.
    px_per_mm : float
        Scale at the bloom.
    towards : (2,) float array
        Direction in pixels in which the stem is looked for, within ``within_deg`` to either side.
    contrast_least : float
        Least difference from both sides, in CIELAB.
    """
    middle = outline.mean(axis=0)
    size = float(np.ptp(outline, axis=0).max())
    base = math.atan2(float(towards[1]), float(towards[0]))
    step = math.radians(0.75)
    turns = base + np.arange(-math.radians(within_deg), math.radians(within_deg), step)
    radius = _edge_at(outline - middle, turns)
    beyond = np.linspace(0.05, 0.40, 15) * size
    scale = max(1.0, 0.7 * px_per_mm)
    low = np.floor(np.maximum(outline.min(axis=0) - 0.6 * size, 0)).astype(int)
    high = np.ceil(outline.max(axis=0) + 0.6 * size).astype(int)
    part = cv2.GaussianBlur(picture[low[1] : high[1], low[0] : high[0]], (0, 0), scale)
    lab = cv2.cvtColor(part.astype(np.float32) / 255.0, cv2.COLOR_RGB2LAB)
    reach = _smooth(radius)[None, :] + beyond[:, None]
    x = middle[0] + reach * np.cos(turns) - low[0]
    y = middle[1] + reach * np.sin(turns) - low[1]
    colours = cv2.remap(
        np.asarray(lab, np.float32),
        x.astype(np.float32),
        y.astype(np.float32),
        cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REPLICATE,
    )
    contrast = _strip_contrast(np.asarray(colours, np.float64), reach * step / px_per_mm)
    h, w = part.shape[:2]
    contrast[(x < 0) | (y < 0) | (x > w - 1) | (y > h - 1)] = 0.0
    return _best_strip(
        contrast, turns, reach, middle=middle, step=step, contrast_least=contrast_least
    )


def _best_strip(
    contrast: NDArray[np.float64],
    turns: NDArray[np.float64],
    reach: NDArray[np.float64],
    *,
    middle: NDArray[np.float64],
    step: float,
    contrast_least: float,
    clear_by: float = 1.4,
) -> Points | None:
    """The straight strip of most contrast, unless another far from it has nearly as much."""
    rows, columns = contrast.shape
    along = np.arange(rows) - (rows - 1) / 2.0
    best: list[tuple[float, int, float]] = []
    for slope in np.linspace(-1.2, 1.2, 17):
        at = np.arange(columns)[None, :] + np.round(slope * along[:, None]).astype(int)
        inside = (at >= 0) & (at < columns)
        picked = np.where(
            inside, contrast[np.arange(rows)[:, None], np.clip(at, 0, columns - 1)], 0.0
        )
        # A stem shows at most distances: the lower quartile of its contrast counts.
        score = np.quantile(picked, 0.25, axis=0)
        column = int(score.argmax())
        best.append((float(score[column]), column, float(slope)))
        apart = np.abs(np.arange(columns) - column) * step > math.radians(20.0)
        best += [(float(score[c]), int(c), float(slope)) for c in np.flatnonzero(apart)]
    most, column, slope = max(best)
    others = [s for s, c, _ in best if abs(c - column) * step > math.radians(20.0)]
    if most < contrast_least or most < clear_by * max(others, default=0.0):
        return None
    ends = []
    for row in (1, rows - 2):
        c = int(np.clip(round(column + slope * along[row]), 0, columns - 1))
        ends.append(middle + reach[row, c] * np.array([np.cos(turns[c]), np.sin(turns[c])]))
    return np.array(ends)


def _strip_contrast(
    colours: NDArray[np.float64], mm_a_step: NDArray[np.float64]
) -> NDArray[np.float64]:
    """(rows, columns) least difference of a place from those a stem's width to either side."""
    rows, columns = colours.shape[:2]
    found = np.zeros((rows, columns))
    for width_mm in (5.0, 9.0, 14.0):
        apart = np.maximum(1, np.round(width_mm / mm_a_step).astype(int))
        at = np.arange(columns)[None, :]
        left, right = np.clip(at - apart, 0, columns - 1), np.clip(at + apart, 0, columns - 1)
        row = np.arange(rows)[:, None]
        one = np.linalg.norm(colours - colours[row, left], axis=2)
        other = np.linalg.norm(colours - colours[row, right], axis=2)
        found = np.maximum(found, np.minimum(one, other))
    return found


def _edge_at(outline: Points, turns: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far the outline reaches from its middle in each direction, in pixels."""
    angle = np.arctan2(outline[:, 1], outline[:, 0])
    away = np.hypot(outline[:, 0], outline[:, 1])
    off = np.abs(np.angle(np.exp(1j * (angle[None, :] - turns[:, None]))))
    near = np.where(off < math.radians(3.0), away[None, :], 0.0)
    reach = near.max(axis=1)
    return np.asarray(np.where(reach > 0, reach, float(np.median(away))), dtype=np.float64)


def _smooth(values: NDArray[np.float64], width: int = 9) -> NDArray[np.float64]:
    padded = np.pad(values, width // 2, mode="edge")
    return np.convolve(padded, np.full(width, 1.0 / width), mode="valid")
