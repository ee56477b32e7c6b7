"""Small pictures of photos for lists and pages; they can be thrown away and made again."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from photolog.photos.decode import opened, upright_pixels

__all__ = ["save_jpeg", "shrunk", "thumbnail"]


def thumbnail(path: Path, dest: Path, *, longest_px: int = 480) -> None:
    """Write a small upright JPEG of the photo to ``dest``, without any of its metadata."""
    with opened(path) as image:
        # A JPEG decoder can halve as it decodes; other kinds ignore this.
        image.draft("RGB", (longest_px, longest_px))
        picture = upright_pixels(image)
    save_jpeg(shrunk(picture, longest_px=longest_px), dest)


def shrunk(picture: NDArray[np.uint8], *, longest_px: int = 480) -> NDArray[np.uint8]:
    """A small copy of (H, W, 3) uint8 pixels; of a smaller picture, one of the same size."""
    small = Image.fromarray(picture)
    small.thumbnail((longest_px, longest_px), reducing_gap=2.0)
    return np.asarray(small)


def save_jpeg(picture: NDArray[np.uint8], dest: Path) -> None:
    """Write (H, W, 3) uint8 pixels as a JPEG of the same size to ``dest``, whole or not at all."""
    dest.parent.mkdir(parents=True, exist_ok=True)
    # Two processes may make the same small picture at the same moment, of one photo twice in a lot.
    part = dest.with_name(f"{dest.name}.{os.getpid()}.part")
    Image.fromarray(picture).save(part, format="JPEG", quality=85)
    part.replace(dest)
