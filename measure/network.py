"""What the networks see: for every pixel of a window, how likely it belongs to the subject."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from measure.results import Picture

__all__ = ["SIDE_PX", "ClumpLayer", "Net", "look"]

Net = Literal["bloom", "bloom_side", "clump"]

SIDE_PX = 256
"""Side of the square that the networks were trained to look at."""


class ClumpLayer:
    """Layers of the clump's network."""

    BODY = 0
    """Crown and tubers, without stem, soil and fine roots."""
    TUBER_CORES = 1
    """One blob for each tuber of which at least a third is seen."""
    STEM = 2


def look(rgb: Picture, *, net: Net, side_px: int = SIDE_PX) -> NDArray[np.float32]:
    """How likely each pixel belongs to the subject nearest the window's middle.

    Parameters
    ----------
    rgb : (h, w, 3) uint8
        A window, its longer side ``side_px`` for the best result; another size is resized.
    net : "bloom", "bloom_side" or "clump"
        For a bloom's face, for its side, for a clump.
    side_px : int
        Side of the square looked at, a multiple of 16.

    Returns
    -------
    (layers, h, w) float32
        From 0 to 1; two layers of blooms, three of clumps. The same to the last bit on one thread
        or several.
    """
    height, width = rgb.shape[:2]
    shrink = side_px / max(height, width)
    inner_w, inner_h = max(1, round(width * shrink)), max(1, round(height * shrink))
    way = cv2.INTER_AREA if shrink < 1 else cv2.INTER_LINEAR
    small = rgb if shrink == 1 else cv2.resize(rgb, (inner_w, inner_h), interpolation=way)
    left, top = (side_px - inner_w) // 2, (side_px - inner_h) // 2
    square = cv2.copyMakeBorder(
        small,
        top,
        side_px - inner_h - top,
        left,
        side_px - inner_w - left,
        cv2.BORDER_REPLICATE,
    )
    network = _loaded(net)
    network.setInput(cv2.dnn.blobFromImage(square, 1 / 255.0))
    scores = network.forward()[0][:, top : top + inner_h, left : left + inner_w]
    seen = 1 / (1 + np.exp(-np.clip(scores, -30, 30)))
    if shrink == 1:
        return np.asarray(seen, dtype=np.float32)
    layers = [cv2.resize(layer, (width, height), interpolation=cv2.INTER_LINEAR) for layer in seen]
    return np.asarray(np.stack(layers), dtype=np.float32)


@cache
def _loaded(net: Net) -> cv2.dnn.Net:
    weights = files("measure.networks").joinpath(f"{net}.onnx").read_bytes()
    return cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))
