"""Groups of touching seeds cut wherever two seeds might meet: more pieces than there are seeds."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

__all__ = ["Pieces", "cut_everywhere"]

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """A group in pieces.

    ``labels`` is (H, W) int32, 0 outside the group, then 1 to ``count``. ``borders`` holds how many
    pixels each two pieces share, by pair of labels.
    """

    labels: NDArray[np.int32]
    count: int
    borders: dict[tuple[int, int], float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Notch:
    """A place where an outline turns inwards: where, how sharply, and which way in."""

    at: Points
    turn: float
    inwards: Points


def cut_everywhere(
    mask: NDArray[np.uint8],
    *,
    width_px: float,
    length_px: float,
    least_turn_deg: float = 22.0,
    most_cuts_a_notch: int = 3,
    least_piece: float = 0.05,
) -> Pieces:
    """Cut a group from notch to notch, and from notch straight across.

    Parameters
    ----------
    mask : (H, W) uint8 array
        1 inside the group, with at least one pixel of 0 round it.
    width_px, length_px : float
        Of a usual seed.
    least_turn_deg : float
        Bends of the outline that turn inwards by less are none.
    """
    outlines = _outlines(mask, smooth_px=max(0.7, 0.1 * width_px))
    notches: list[_Notch] = []
    for outline in outlines:
        notches += _notches(
            outline, arm_px=max(2.0, 0.38 * width_px), least_turn=np.radians(least_turn_deg)
        )
    everywhere = np.concatenate(outlines) if outlines else np.zeros((0, 2))
    cuts = _cuts(
        mask, notches, everywhere, width_px=width_px, length_px=length_px, most=most_cuts_a_notch
    )
    return _cut(mask, cuts, least_px=least_piece * width_px * length_px)


def _outlines(mask: NDArray[np.uint8], *, smooth_px: float) -> list[Points]:
    """Outlines, of holes too, smoothed, one point a pixel, the group always on the same side."""
    found, _ = cv2.findContours(mask, cv2.RETR_CCOMP, cv2.CHAIN_APPROX_NONE)
    made = []
    for outline in found:
        points = outline.reshape(-1, 2).astype(np.float64)
        if len(points) < 8:
            continue
        reach = max(1, int(3 * smooth_px))
        kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / smooth_px) ** 2)
        kernel /= kernel.sum()
        wrapped = np.concatenate([points[-reach:], points, points[:reach]])
        if len(points) <= reach:
            continue
        made.append(
            np.column_stack([np.convolve(wrapped[:, i], kernel, mode="valid") for i in (0, 1)])
        )
    return made


def _notches(outline: Points, *, arm_px: float, least_turn: float) -> list[_Notch]:
    arm = max(2, round(arm_px))
    count = len(outline)
    if count < 3 * arm:
        return []
    before = outline - np.roll(outline, arm, axis=0)
    after = np.roll(outline, -arm, axis=0) - outline
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    dot = np.sum(before * after, axis=1)
    # OpenCV runs outer outlines anticlockwise as seen and holes clockwise: the group lies on one
    # side, and turning towards it is positive in both.
    turn = np.arctan2(cross, dot)
    found = []
    order = np.argsort(-turn, kind="stable")
    free = np.ones(count, bool)
    for i in order:
        if turn[i] < least_turn:
            break
        if not free[i]:
            continue
        near = np.arange(i - arm, i + arm + 1) % count
        free[near] = False
        unit_before = before[i] / max(float(np.linalg.norm(before[i])), 1e-9)
        unit_after = after[i] / max(float(np.linalg.norm(after[i])), 1e-9)
        inwards = unit_before - unit_after
        inwards /= max(float(np.linalg.norm(inwards)), 1e-9)
        found.append(_Notch(at=outline[i], turn=float(turn[i]), inwards=inwards))
    return found


def _cuts(
    mask: NDArray[np.uint8],
    notches: list[_Notch],
    outline: Points,
    *,
    width_px: float,
    length_px: float,
    most: int,
) -> list[tuple[Points, Points]]:
    """Straight cuts through the group, the best few from each notch."""
    if not notches:
        return []
    at = np.array([n.at for n in notches])
    inwards = np.array([n.inwards for n in notches])
    turns = np.array([n.turn for n in notches])
    found: dict[tuple[int, int], tuple[Points, Points]] = {}
    for i, notch in enumerate(notches):
        away = at - notch.at
        far = np.linalg.norm(away, axis=1)
        unit = away / np.maximum(far, 1e-9)[:, None]
        leaving = unit @ notch.inwards
        arriving = -np.sum(unit * inwards, axis=1)
        allowed = (far > 0.5) & (far < 0.95 * length_px) & (leaving > 0.0) & (arriving > 0.0)
        cost = far / width_px - 0.5 * (leaving + arriving) - 0.4 * turns
        chosen = 0
        for j in np.flatnonzero(allowed)[np.argsort(cost[allowed], kind="stable")]:
            if chosen == most:
                break
            if _inside(mask, notch.at, at[j]):
                chosen += 1
                found[min(i, int(j)), max(i, int(j))] = (notch.at, at[j])
        # Where a seed's end meets another's side there may be a notch on one side only.
        away = outline - notch.at
        far = np.linalg.norm(away, axis=1)
        unit = away / np.maximum(far, 1e-9)[:, None]
        ahead = (
            (unit @ notch.inwards > 0.6) & (far > max(1.5, 0.1 * width_px)) & (far < 1.4 * width_px)
        )
        for j in np.flatnonzero(ahead)[np.argsort(far[ahead], kind="stable")][:6]:
            if _inside(mask, notch.at, outline[j]):
                found[i, -1] = (notch.at, outline[j])
                break
    return list(found.values())


def _inside(mask: NDArray[np.uint8], start: Points, end: Points) -> bool:
    steps = max(2, int(np.linalg.norm(end - start)))
    along = np.linspace(0.0, 1.0, steps + 1)[1:-1, None]
    if len(along) == 0:
        return True
    x, y = np.round(start + along * (end - start)).astype(int).T
    return bool(np.mean(mask[y, x]) > 0.85)


def _cut(mask: NDArray[np.uint8], cuts: list[tuple[Points, Points]], *, least_px: float) -> Pieces:
    work = mask.copy()
    for start, end in cuts:
        unit = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
        a = np.round((start - 1.5 * unit) * 16).astype(int)
        b = np.round((end + 1.5 * unit) * 16).astype(int)
        cv2.line(work, tuple(map(int, a)), tuple(map(int, b)), 0, 1, cv2.LINE_8, 4)
    count, found = cv2.connectedComponents(work, connectivity=4)
    labels: NDArray[np.int32] = np.asarray(found, np.int32)
    # Pixels of the cuts go to whichever piece is nearest, so that no area is lost.
    for _ in range(3):
        lost = (mask > 0) & (labels == 0)
        if not lost.any():
            break
        grown = cv2.dilate(labels.astype(np.float32), np.ones((3, 3), np.uint8))
        labels = np.where(lost, grown, labels).astype(np.int32)
    labels, count = _without_slivers(labels, count, least_px=least_px)
    return Pieces(labels=labels, count=count - 1, borders=_borders(labels))


def _without_slivers(
    labels: NDArray[np.int32], count: int, *, least_px: float
) -> tuple[NDArray[np.int32], int]:
    """Slivers between two cuts joined to the neighbour they share most border with."""
    areas = np.bincount(labels.ravel(), minlength=count).astype(np.float64)
    joined = np.arange(count)
    border = np.zeros((count, count))
    for (i, j), n in _borders(labels).items():
        border[i, j] = border[j, i] = n
    while True:
        small = [i for i in range(1, count) if 0 < areas[i] < least_px and border[i].any()]
        if not small:
            break
        i = min(small, key=lambda k: (areas[k], k))
        j = int(border[i].argmax())
        joined[joined == i] = j
        areas[j] += areas[i]
        areas[i] = 0.0
        border[j] += border[i]
        border[:, j] += border[:, i]
        border[i], border[:, i], border[j, j] = 0.0, 0.0, 0.0
    kept, renumbered = np.unique(joined, return_inverse=True)
    return np.asarray(renumbered[labels], np.int32), len(kept)


def _borders(labels: NDArray[np.int32]) -> dict[tuple[int, int], float]:
    """How many pixels' sides each two pieces share."""
    count = int(labels.max()) + 1
    found = []
    for a, b in ((labels[:, :-1], labels[:, 1:]), (labels[:-1], labels[1:])):
        touching = (a != b) & (a > 0) & (b > 0)
        low, high = np.minimum(a[touching], b[touching]), np.maximum(a[touching], b[touching])
        found.append(low.astype(np.int64) * count + high)
    pairs, numbers = np.unique(np.concatenate(found), return_counts=True)
    return {
        (int(pair) // count, int(pair) % count): float(n)
        for pair, n in zip(pairs, numbers, strict=True)
    }
