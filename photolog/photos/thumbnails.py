"""Small pictures of photos for lists and pages; they can be thrown away and made again."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from photolog.photos.decode import opened, upright_pixels

__all__ = ["save_jpeg", "save_thumbnail", "thumbnail"]


def thumbnail(path: Path, dest: Path, *, longest_px: int = 480) -> None:
    """Write a small upright JPEG of the photo to ``dest``, without any of its metadata."""
    with opened(path) as image:
        # A JPEG decoder can halve as it decodes; other kinds ignore this.
        image.draft("RGB", (longest_px, longest_px))
        picture = upright_pixels(image)
    save_thumbnail(picture, dest, longest_px=longest_px)


def save_thumbnail(picture: NDArray[np.uint8], dest: Path, *, longest_px: int = 480) -> None:
    """Write (H, W, 3) uint8 pixels as a small JPEG to ``dest``, whole or not at all."""
    small = Image.fromarray(picture)
    small.thumbnail((longest_px, longest_px), reducing_gap=2.0)
    _save(small, dest)


def save_jpeg(picture: NDArray[np.uint8], dest: Path) -> None:
    """Write (H, W, 3) uint8 pixels as a JPEG of the same size to ``dest``, whole or not at all."""
    _save(Image.fromarray(picture), dest)


def _save(image: Image.Image, dest: Path) -> None:
    dest.parent.mkdir(parents=True, exist_ok=True)
    part = dest.with_name(dest.name + ".part")
    image.save(part, format="JPEG", quality=85)
    part.replace(dest)
