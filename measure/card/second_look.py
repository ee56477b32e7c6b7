"""A second, closer look for a tag's missing half, where its fellow says that it must be."""

from __future__ import annotations

from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.card.marks import BOX_LEFT, TAG_LEFT, TAG_PITCH, TAG_RIGHT
from measure.results import Points

__all__ = ["look_for_fellow"]

# A mark is enlarged to this side, but to no more than four times: there is nothing beyond that.
_SIDE_PX = 72.0
_LARGEST_ENLARGEMENT = 4.0


def look_for_fellow(
    gray: NDArray[np.uint8], corners: Points, *, side: Literal["left", "right"]
) -> tuple[int, Points] | None:
    """The other half of the tag whose half on this ``side`` was read.

    Parameters
    ----------
    gray : (H, W) uint8 array
    corners : (4, 2) float array
        The half that was read, clockwise from its own top left, (x, y) in pixels.
    side : "left" or "right"
        Which half that was.

    Returns
    -------
    (mark id, (4, 2) corners) or None
        None where even a closer look reads nothing.

    The place is enlarged and sharpened, and as many cells corrected as the family can bear (five of
    thirty-six), which would be too free for a search of the whole picture.
    """
    across = ((corners[1] - corners[0]) + (corners[2] - corners[3])) / 2
    down = ((corners[3] - corners[0]) + (corners[2] - corners[1])) / 2
    step = TAG_PITCH if side == "left" else -TAG_PITCH
    middle = corners.mean(axis=0) + step * across
    reach = 1.1 * max(float(np.linalg.norm(across)), float(np.linalg.norm(down)))
    low = np.maximum(np.floor(middle - reach).astype(int), 0)
    high = np.minimum(np.ceil(middle + reach).astype(int) + 1, gray.shape[::-1])
    if np.any(high - low < reach):
        return None

    cut = gray[low[1] : high[1], low[0] : high[0]]
    enlargement = float(np.clip(_SIDE_PX / (reach / 1.1), 1.0, _LARGEST_ENLARGEMENT))
    size = np.round((high - low) * enlargement).astype(int)
    large = cv2.resize(cut, (int(size[0]), int(size[1])), interpolation=cv2.INTER_CUBIC)
    soft = cv2.GaussianBlur(large, (0, 0), 2.0 * enlargement)
    sharp = np.asarray(cv2.addWeighted(large, 2.5, soft, -1.5, 0.0), dtype=np.uint8)

    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = 0.8
    parameters.errorCorrectionRate = 1.0
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    quads, ids, _ = cv2.aruco.ArucoDetector(dictionary, parameters).detectMarkers(sharp)
    wanted = (TAG_RIGHT,) if side == "left" else (TAG_LEFT, BOX_LEFT)
    found = [
        (int(mark), (np.asarray(quad, np.float64).reshape(4, 2) + 0.5) / (size / (high - low)))
        for mark, quad in zip(np.ravel(ids) if ids is not None else [], quads, strict=True)
        if any(int(mark) in marks for marks in wanted)
    ]
    if len(found) != 1:
        return None
    mark, quad = found[0]
    return mark, quad - 0.5 + low
