"""Photos of the invented garden drawn for the tests: card, tag and clump before a camera."""

from __future__ import annotations

import functools
from datetime import date, datetime
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from measure.card.designs import design_named
from measure.scenes import Canvas, Patch, card_raster, look_at, tag_raster
from measure.shapes import grow_clump
from photolog.book import StockBook, batches, daybook, plants, tags, varieties
from photolog.terms import EventKind
from tests.photos.written import exif, write

PLANTED, LIFTED = date(2025, 11, 8), date(2026, 5, 16)
NAMES = {11: "Tin Orchard", 12: "Wherry Lamp", 13: "Aunt Petronel", 14: "Saltmarsh Linnet"}
RIGHT, DOWN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


def fill_garden(book: StockBook) -> None:
    """Four plants, planted out and lifted, and a tag that died with an earlier plant."""
    for number, name in NAMES.items():
        varieties.add(book, name)
        plants.add(book, variety=name, since=date(2025, 10, 1), tag=number)
    varieties.add(book, "Old Harbour Moth")
    plants.add(book, variety="Old Harbour Moth", since=date(2023, 10, 1), tag=16)
    tags.take_off(book, 16, on=date(2024, 10, 30))
    daybook.enter(book, EventKind.PLANTED_OUT, on=PLANTED, tags=list(NAMES))
    daybook.enter(book, EventKind.LIFTED, on=LIFTED, tags=list(NAMES))
    batches.add(
        book, variety="Saltmarsh Linnet", count=40, kind="pot tubers", since=LIFTED, tag=101
    )


@functools.cache
def clump_picture(tag: int | None, *, spread_mm: float = 220.0, seed: int = 3) -> NDArray[np.uint8]:
    """A clump of known spread to the left of a bench card, its tag (if any) pegged to the card."""
    design = design_named("bench-1")
    camera = look_at((40.0, 90.0, 0.0), distance_mm=720.0, focal35_mm=35.0, size_px=(1200, 900))
    canvas = Canvas(camera=camera, background=(150, 146, 138))
    canvas.lay(Patch(raster=card_raster(design), corner_mm=(0.0, 0.0, 0.0), right=RIGHT, down=DOWN))
    if tag is not None:
        area = design.tag_area
        corner = (area.left + 6.0, area.top + 5.0, 0.0)
        canvas.lay(Patch(raster=tag_raster(tag), corner_mm=corner, right=RIGHT, down=DOWN))
    clump = grow_clump(spread_mm=spread_mm, tubers=6, seed=seed)
    for body in clump.moved(to_mm=(-140.0, 100.0, 0.0)).bodies:
        flat = body[:, :2].astype(np.float32)
        hull = cv2.convexHull(flat, returnPoints=False).ravel()
        canvas.fill(body[hull], (112, 66, 36))
    return canvas.finish(seed=seed)


@functools.cache
def tag_picture(tag: int, *, mark_px: int = 150) -> NDArray[np.uint8]:
    """A tag alone, filling a good part of the picture."""
    raster = tag_raster(tag, px_per_mm=8)
    scale = mark_px / 160.0
    small = cv2.resize(raster, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    picture = np.full((600, 800, 3), 120, np.uint8)
    h, w = small.shape
    picture[200 : 200 + h, 150 : 150 + w] = small[..., None]
    return picture


@functools.cache
def plain_picture(seed: int = 0) -> NDArray[np.uint8]:
    """A picture in which nothing can be read."""
    coarse = np.random.default_rng(seed).integers(60, 190, (6, 8, 3), dtype=np.uint8)
    return np.asarray(Image.fromarray(coarse).resize((800, 600), Image.Resampling.BICUBIC))


def sharp_picture(seed: int = 0) -> NDArray[np.uint8]:
    """A picture of plain sharp-edged patches, without a card."""
    coarse = np.random.default_rng(seed).integers(60, 190, (6, 8, 3), dtype=np.uint8)
    return np.asarray(Image.fromarray(coarse).resize((800, 600), Image.Resampling.NEAREST))


def photo(
    folder: Path,
    picture: NDArray[np.uint8],
    at: datetime | None,
    *,
    name: str,
    kind: str = "jpeg",
    camera: str = "Field 35",
) -> Path:
    """Write a picture as a photo taken at a moment (None: without any camera data)."""
    block = None
    if at is not None:
        block = exif(original=f"{at:%Y:%m:%d %H:%M:%S}", root={0x0110: camera})
    options = {"quality": 95} if kind == "jpeg" else {}
    return write(folder, kind, name=name, image=Image.fromarray(picture), block=block, **options)
