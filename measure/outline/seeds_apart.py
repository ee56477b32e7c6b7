"""What lies apart from the rest on a sheet: seeds alone, groups of them, and dust."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.outline.seeds_choosing import Part, part_of
from measure.outline.seeds_paper import Contrast

__all__ = ["Apart", "lying_apart"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Apart:
    """One seed, a group that hangs together, or a piece of something else.

    ``contrast`` is its median contrast. ``mask`` is its own box, 1 where it is, and ``corner`` the
    (x, y) of the box's top left pixel. ``off_sheet`` says that it meets the edge of the sheet, the
    card or a tag, ``cut_off`` that it meets the picture's.
    """

    part: Part
    contrast: float
    mask: NDArray[np.uint8]
    corner: tuple[int, int]
    off_sheet: bool
    cut_off: bool


def lying_apart(contrast: Contrast, *, least: float = 0.25, least_px: int = 12) -> list[Apart]:
    """What lies apart from the rest on the sheet, in order of its first row.

    Each ends at the same share of its own contrast, for lack of light lessens it. What has less
    than half of the usual contrast is chaff, and left out.

    Parameters
    ----------
    contrast : Contrast
    least : float
        Contrast below which nothing is looked for, unless the paper's own scatter is higher.
    least_px : int
        Smaller ones are left out.
    """
    calm = np.asarray(cv2.GaussianBlur(contrast.values, (0, 0), 0.6), np.float32)
    faint = (calm > max(least, 4.0 * contrast.noise)).astype(np.uint8)
    rim = cv2.dilate(contrast.off_sheet.astype(np.uint8), np.ones((5, 5), np.uint8)) > 0
    found = []
    for (left, top), own in _joined(faint, least_px=least_px):
        values = calm[top : top + own.shape[0], left : left + own.shape[1]]
        # Where a shadow's edge runs into it most of it may be faint.
        high = float(np.percentile(values[own > 0], 98))
        share = min(1.0, float(np.percentile(values[(own > 0) & (values > 0.6 * high)], 70)))
        if share < 0.5:
            continue
        # What is lighter than its ground ends further up, unless it is too unevenly light for that.
        level = contrast.level
        if contrast.on_the_way(level) > level:
            inside = cv2.erode(own, np.ones((5, 5), np.uint8)) > 0
            plain = float(np.percentile(values[inside], 10)) / share if inside.any() else 1.0
            level = max(level, min(contrast.on_the_way(level), 0.9 * plain))
        inner = ((own > 0) & (values > level * share)).astype(np.uint8)
        for (x, y), mask in _joined(inner, least_px=least_px):
            solid = _without_small_holes(mask)
            ys, xs = np.nonzero(solid)
            part = part_of(ys + top + y, xs + left + x)
            hx, hy = part.hull.reshape(-1, 2).T
            found.append(
                Apart(
                    part=part,
                    contrast=float(
                        np.median(values[y:, x:][: mask.shape[0], : mask.shape[1]][mask > 0])
                    ),
                    mask=solid,
                    corner=(left + x, top + y),
                    off_sheet=bool(rim[hy, hx].any()),
                    cut_off=bool(
                        min(hx.min(), hy.min()) <= 1
                        or hx.max() >= calm.shape[1] - 2
                        or hy.max() >= calm.shape[0] - 2
                    ),
                )
            )
    return found


def _joined(
    mask: NDArray[np.uint8], *, least_px: int
) -> list[tuple[tuple[int, int], NDArray[np.uint8]]]:
    """Each connected piece: its top left corner (x, y), and its own box of the mask."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats(mask, connectivity=4)
    found = []
    for i in range(1, count):
        x, y, wide, high, area = (int(v) for v in stats[i])
        if area >= least_px:
            own = (labels[y : y + high, x : x + wide] == i).astype(np.uint8)
            found.append(((x, y), own))
    return found


def _without_small_holes(mask: NDArray[np.uint8], *, share: float = 0.03) -> NDArray[np.uint8]:
    """Holes filled that are small beside the whole: gaps between seeds stay."""
    outlines, tree = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    if tree is None or len(outlines) < 2:
        return mask
    tree = np.asarray(tree).reshape(-1, 4)
    area = float(mask.sum())
    made = mask.copy()
    for outline, (_, _, _, parent) in zip(outlines, tree, strict=True):
        if parent >= 0 and cv2.contourArea(outline) < share * area:
            cv2.drawContours(made, [outline], -1, 1, -1)
    return made
