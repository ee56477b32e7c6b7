"""Prints as pixels, and lengths measured in them, for the tests of cards and tags."""

from __future__ import annotations

import numpy as np
import pypdfium2
from numpy.typing import NDArray

__all__ = ["black_run_mm", "page_count", "page_size_mm", "raster"]

Gray = NDArray[np.uint8]


def raster(pdf: bytes, *, page: int = 0, px_per_mm: float) -> Gray:
    """One page as (H, W) grey, at this many pixels a millimetre."""
    document = pypdfium2.PdfDocument(pdf)
    bitmap = document[page].render(scale=px_per_mm * 25.4 / 72.0, grayscale=True)
    picture = np.array(bitmap.to_numpy(), dtype=np.uint8)
    bitmap.close()
    document.close()
    return picture.reshape(picture.shape[0], picture.shape[1])


def page_count(pdf: bytes) -> int:
    document = pypdfium2.PdfDocument(pdf)
    count = len(document)
    document.close()
    return count


def page_size_mm(pdf: bytes) -> tuple[float, float]:
    document = pypdfium2.PdfDocument(pdf)
    width, height = document[0].get_size()
    document.close()
    return width * 25.4 / 72.0, height * 25.4 / 72.0


def black_run_mm(profile: NDArray[np.uint8], *, px_per_mm: float) -> tuple[float, float]:
    """Start and end of the longest black run in a line of grey values, in mm.

    Ends are placed to a fraction of a pixel by how dark the pixels at both ends are.
    """
    dark = 1.0 - profile.astype(float) / 255.0
    inside = np.concatenate([[0], (dark > 0.9).astype(int), [0]])
    edges = np.flatnonzero(np.diff(inside)).reshape(-1, 2)
    first, after = max(edges, key=lambda run: run[1] - run[0])
    start = first - (dark[first - 1] if first > 0 else 0.0)
    end = after + (dark[after] if after < len(dark) else 0.0)
    return float(start) / px_per_mm, float(end) / px_per_mm
