"""How many copies are found, and how many photos are wrongly called copies: run by hand.

``python -m tests.benchmarks.bench_copies [--photos DIR ...] [--clumps 60] [--blooms 30]``: every
picture is copied in each of several ways and sought among all; every pair of two pictures is
compared as an undated copy would be. The pictures are clumps and blooms drawn on one bench before a
camera that did not move, and photos in the folders named, of which no two may be of one picture.
Exits 1 where a pair of two different pictures is called a copy.
"""

from __future__ import annotations

import argparse
import io
import sys
import time
from collections.abc import Callable, Sequence
from itertools import combinations
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from measure.card.designs import design_named
from measure.scenes import Canvas, Patch, card_raster, look_at
from measure.shapes import grow_bloom, grow_clump
from photolog.comparing.wilson import wilson_interval
from photolog.photos.bursts import AGAIN_BITS
from photolog.photos.copies import (
    SAME_SECOND,
    UNDATED,
    compared,
    compared_whole,
    sketch_of,
    sketch_vectors,
    turned_sketches,
)
from photolog.photos.decode import open_upright
from photolog.photos.hashes import likeness
from photolog.photos.kinds import PhotoError
from photolog.photos.thumbnails import shrunk

Picture = NDArray[np.uint8]

# As many as an undated photo is compared with (photolog/book/copies_found.py).
MOST_ALIKE = 8


def saved(picture: Picture, quality: int) -> Picture:
    """After JPEG."""
    out = io.BytesIO()
    Image.fromarray(picture).save(out, "JPEG", quality=quality)
    return np.asarray(Image.open(out))


def smaller(picture: Picture, share: float) -> Picture:
    image = Image.fromarray(picture)
    return np.asarray(image.resize((round(image.width * share), round(image.height * share))))


def lit(picture: Picture, power: float) -> Picture:
    return (255.0 * (picture / 255.0) ** power + 0.5).astype(np.uint8)


def brighter(picture: Picture) -> Picture:
    return np.clip(picture * 1.35, 0, 255).astype(np.uint8)


def grey(picture: Picture) -> Picture:
    return np.repeat(np.asarray(Image.fromarray(picture).convert("L"))[..., None], 3, axis=2)


def cut(picture: Picture, left: float, top: float, right: float, bottom: float) -> Picture:
    height, width = picture.shape[:2]
    return picture[
        round(top * height) : round((1 - bottom) * height),
        round(left * width) : round((1 - right) * width),
    ]


def straightened(picture: Picture) -> Picture:
    height, width = picture.shape[:2]
    turn = cv2.getRotationMatrix2D((width / 2, height / 2), 4.0, 1.0)
    turned = cv2.warpAffine(picture, turn, (width, height))
    return cut(np.asarray(turned, np.uint8), 0.08, 0.08, 0.08, 0.08)


WAYS: dict[str, Callable[[Picture], Picture]] = {
    "sent: half the size, quality 40": lambda p: saved(smaller(p, 0.5), 40),
    "sent: a quarter, quality 60": lambda p: saved(smaller(p, 0.25), 60),
    "brighter by a third": lambda p: saved(brighter(p), 85),
    "shadows lifted (power 0.7)": lambda p: saved(lit(p, 0.7), 85),
    "darkened (power 1.5)": lambda p: saved(lit(p, 1.5), 85),
    "black and white": lambda p: saved(grey(p), 85),
    "cropped to 95 % each way": lambda p: saved(cut(p, 0.025, 0.025, 0.025, 0.025), 85),
    "cropped to 80 %": lambda p: saved(cut(p, 0.1, 0.1, 0.1, 0.1), 85),
    "cropped to 65 %": lambda p: saved(cut(p, 0.175, 0.175, 0.175, 0.175), 85),
    "cropped to a corner, 70 %": lambda p: saved(cut(p, 0.0, 0.3, 0.3, 0.0), 85),
    "straightened by 4 degrees": lambda p: saved(straightened(p), 85),
    "turned by a quarter": lambda p: saved(np.ascontiguousarray(np.rot90(p)), 85),
    "cropped to 80 % and brighter, half size": lambda p: saved(
        smaller(brighter(cut(p, 0.1, 0.1, 0.1, 0.1)), 0.5), 60
    ),
}


def on_the_bench(clumps: int, blooms: int, seed: int = 1) -> list[Picture]:
    """Clumps and blooms on one bench beside one card, the camera on a stand."""
    rng = np.random.default_rng(seed)
    pictures = []
    for number in range(clumps + blooms):
        of_clump = number < clumps
        design = design_named("bench-1")
        camera = look_at((40.0, 90.0, 0.0), distance_mm=720.0, focal35_mm=35.0, size_px=(1200, 900))
        canvas = Canvas(camera=camera, background=(150, 146, 138))
        canvas.lay(
            Patch(
                raster=card_raster(design),
                corner_mm=(0.0, 0.0, 0.0),
                right=(1.0, 0.0, 0.0),
                down=(0.0, 1.0, 0.0),
            )
        )
        if of_clump:
            clump = grow_clump(
                spread_mm=rng.uniform(150, 260), tubers=int(rng.integers(3, 12)), seed=number
            )
            bodies, colour = clump.moved(to_mm=(-140.0, 100.0, 0.0)).bodies, (112, 66, 36)
            for body in bodies:
                _fill(canvas, body, colour)
        else:
            bloom = grow_bloom("decorative", widest_mm=rng.uniform(90, 180), seed=number)
            hue = tuple(int(value) for value in rng.integers(60, 230, 3))
            for petal in bloom.petals:
                moved = petal + np.array([-140.0, 100.0, 0.0])
                shade = rng.uniform(0.75, 1.0)
                _fill(canvas, moved, tuple(int(shade * value) for value in hue))  # type: ignore[arg-type]
        pictures.append(canvas.finish(seed=number))
    return pictures


def _fill(canvas: Canvas, places: NDArray[np.float64], colour: tuple[int, int, int]) -> None:
    hull = cv2.convexHull(places[:, :2].astype(np.float32), returnPoints=False).ravel()
    canvas.fill(places[hull], colour)


def photos_in(folders: Sequence[Path]) -> list[Picture]:
    """The photos that can be opened, at most 1600 pixels long."""
    found = []
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.is_file():
                try:
                    found.append(shrunk(open_upright(path), longest_px=1600))
                except PhotoError:
                    continue
    return found


def told(name: str, pictures: Sequence[Picture]) -> int:
    """Print the rates for one set of pictures; how many pairs were wrongly called copies."""
    small = [shrunk(picture) for picture in pictures]
    sketches = np.stack([np.frombuffer(sketch_of(one), np.uint8) for one in small])
    vectors = sketch_vectors(sketches)
    alike = vectors @ vectors.T
    wrong, least, pairs = 0, 1.0, 0
    begun = time.perf_counter()
    for one, other in combinations(range(len(small)), 2):
        pairs += 1
        near = other in np.argsort(-alike[one])[: MOST_ALIKE + 1]
        near = near or one in np.argsort(-alike[other])[: MOST_ALIKE + 1]
        # What is not among the most alike is compared as a whole all the same, for the figure.
        whole = compared_whole(small[one], small[other])
        least = min(least, whole.differs if whole is not None else 1.0)
        wrong += whole is not None and whole.differs <= UNDATED
        if near and (whole is None or whole.differs > UNDATED):
            wrong += compared(small[one], small[other], at_most=UNDATED) is not None
    seconds = time.perf_counter() - begun
    low, high = wilson_interval(wrong, pairs)
    print(f"\n{name}: {len(small)} pictures")
    print(
        f"  wrongly called copies: {wrong} of {pairs} pairs (95 %: {100 * low:.3f} to "
        f"{100 * high:.3f} %); nearest pair differs by {100 * least:.1f} % of its detail; "
        f"{1000 * seconds / pairs:.0f} ms a pair"
    )
    bits = [likeness(one) for one in small]
    near_bits = sum((a ^ b).bit_count() <= AGAIN_BITS for a, b in combinations(bits, 2))
    print(f"  pairs that the 64-bit sketch alone would call alike: {100 * near_bits / pairs:.1f} %")
    for way, copy in WAYS.items():
        same_date = undated = 0
        for number, picture in enumerate(pictures):
            copied = shrunk(copy(picture))
            same_date += compared(small[number], copied, at_most=SAME_SECOND) is not None
            turned = sketch_vectors(turned_sketches(np.frombuffer(sketch_of(copied), np.uint8)))
            ranks = np.argsort(-np.max(vectors @ turned.T, axis=1))
            if number in ranks[:MOST_ALIKE]:
                undated += compared(small[number], copied, at_most=UNDATED) is not None
        n = len(pictures)
        print(
            f"  {way:<42} with its date {100 * same_date / n:5.0f} %   without "
            f"{100 * undated / n:5.0f} %"
        )
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=Path, nargs="*", default=[])
    parser.add_argument("--clumps", type=int, default=60)
    parser.add_argument("--blooms", type=int, default=30)
    asked = parser.parse_args()
    wrong = told("drawn on one bench", on_the_bench(asked.clumps, asked.blooms))
    for folder in asked.photos:
        wrong += told(str(folder.name), photos_in([folder]))
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
