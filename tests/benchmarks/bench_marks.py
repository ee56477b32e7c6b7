"""Which marks to print on tags: reading, wrong reading and false reading rates, by simulation.

Run by hand: ``python tests/benchmarks/bench_marks.py [--quick]``. Compared at equal printed area:
a pair of 36h11 marks of 20 mm, against one larger mark of a family with more ids.
"""

from __future__ import annotations

import argparse
import platform
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import skimage.data
from numpy.typing import NDArray
from sklearn.datasets import load_sample_image

from measure.card.finding import read_marks
from measure.card.marks import TAG_NUMBERS, TAG_PITCH, marks_of_tag

Gray = NDArray[np.uint8]

PAIR_MARK_MM = 20.0
# A pair covers (1 + 1.25) x 1 sides and a margin of 1/8 side all round: 2.5 x 1.25 = 3.125 sides²;
# one mark with its margin 1.25² sides², so that the same paper carries a mark of sqrt(2) the side.
SINGLE_MARK_MM = PAIR_MARK_MM * 2**0.5
PX_PER_MM_DRAWN = 12
# Smallest side searched for, as the program has it in a picture of 2048 px.
SMALLEST_MARK_PX = 10.0


PHOTOGRAPHS = "pictures that scikit-image and scikit-learn carry"


@dataclass(frozen=True)
class Candidate:
    """One way to number tags: a family, and whether a tag is one of its marks or a pair."""

    title: str
    family: int
    pair: bool
    tags: int


CANDIDATES = (
    Candidate("36h11 pair of 20.0 mm", cv2.aruco.DICT_APRILTAG_36h11, True, 9999),
    Candidate("36h11 one of 28.3 mm", cv2.aruco.DICT_APRILTAG_36h11, False, 587),
    Candidate("36h10 one of 28.3 mm", cv2.aruco.DICT_APRILTAG_36h10, False, 2320),
    Candidate("6x6_1000 one of 28.3 mm", cv2.aruco.DICT_6X6_1000, False, 1000),
    Candidate("7x7_1000 one of 28.3 mm", cv2.aruco.DICT_7X7_1000, False, 1000),
)


@dataclass(frozen=True)
class Condition:
    """How a tag is seen: side of a 20 mm mark in the picture, blur, tilt and share dirtied."""

    mark_px: float = 32.0
    blur_px: float = 0.8
    tilt_deg: float = 20.0
    dirt: float = 0.0


def family(number: int) -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(number)


def draw_face(candidate: Candidate, rng: np.random.Generator) -> tuple[Gray, int]:
    """A tag's face with its margin, drawn at PX_PER_MM_DRAWN, and the number it carries."""
    dictionary = family(candidate.family)
    modules = dictionary.markerSize + 2
    side = PAIR_MARK_MM if candidate.pair else SINGLE_MARK_MM
    drawn = modules * round(side * PX_PER_MM_DRAWN / modules)
    if candidate.pair:
        number = int(rng.integers(TAG_NUMBERS.start, TAG_NUMBERS.stop))
        ids = marks_of_tag(number)
    else:
        number = int(rng.integers(dictionary.bytesList.shape[0]))
        ids = (number,)
    margin = drawn // 8
    step = round(TAG_PITCH * drawn)
    face = np.full((drawn + 2 * margin, drawn + 2 * margin + step * (len(ids) - 1)), 235, np.uint8)
    for i, mark in enumerate(ids):
        picture = np.asarray(cv2.aruco.generateImageMarker(dictionary, mark, drawn))
        left = margin + i * step
        face[margin : margin + drawn, left : left + drawn] = np.where(picture > 0, 235, 25)
    return face, number


def soil(face: Gray, share: float, rng: np.random.Generator) -> Gray:
    """Splashes of soil over about this share of the face: dark brown reads as dark grey."""
    if share <= 0:
        return face
    soiled = face.copy()
    mask = np.zeros(face.shape, np.uint8)
    while mask.mean() < share:
        x, y = (int(rng.integers(n)) for n in face.shape[::-1])
        radius = int(PX_PER_MM_DRAWN * rng.uniform(0.4, 2.2))
        axes = (radius, max(1, int(radius * rng.uniform(0.4, 1.0))))
        cv2.ellipse(mask, (x, y), axes, float(rng.uniform(0, 180)), 0, 360, (1,), -1)
    tone = rng.normal(85, 14, face.shape)
    soiled[mask > 0] = np.clip(tone[mask > 0], 0, 255).astype(np.uint8)
    return soiled


def photograph(
    face: Gray, condition: Condition, rng: np.random.Generator, *, across_mm: float
) -> NDArray[np.uint8]:
    """The face on a rough background, tilted about a random line, blurred, noisy, as JPEG."""
    height, width = face.shape
    over = 3
    px_per_mm = condition.mark_px / PAIR_MARK_MM * over
    size = 3.2 * across_mm * px_per_mm
    shape = (int(max(size, 180 * over)), int(max(size, 240 * over)))

    line, turn = rng.uniform(0, np.pi), np.radians(rng.uniform(-25, 25))
    tilt = np.radians(condition.tilt_deg)
    axis = np.array([np.cos(line), np.sin(line), 0.0])
    rotation = cv2.Rodrigues(axis * tilt)[0] @ cv2.Rodrigues(np.array([0.0, 0.0, turn]))[0]
    grid = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    centred = (grid - [width / 2, height / 2]) * px_per_mm / PX_PER_MM_DRAWN
    solid = np.column_stack([centred, np.zeros(4)]) @ rotation.T
    distance = 12 * across_mm * px_per_mm
    seen = solid[:, :2] * (distance / (distance + solid[:, 2:]))
    seen += np.array([shape[1], shape[0]]) / 2 + rng.uniform(-1.5, 1.5, 2) * over
    plane = cv2.getPerspectiveTransform(grid.astype(np.float32), seen.astype(np.float32))

    rough = cv2.resize(
        rng.normal(120, 45, (shape[0] // 24 + 2, shape[1] // 24 + 2)),
        shape[::-1],
        interpolation=cv2.INTER_CUBIC,
    )
    # Shrink in two steps, so that the fine drawing does not alias.
    softened = cv2.GaussianBlur(face, (0, 0), max(0.3, 0.4 * PX_PER_MM_DRAWN / px_per_mm))
    scene = np.clip(rough, 0, 255).astype(np.uint8)
    cv2.warpPerspective(
        softened,
        plane,
        shape[::-1],
        dst=scene,
        flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_TRANSPARENT,
    )
    small = cv2.resize(
        scene, (shape[1] // over, shape[0] // over), interpolation=cv2.INTER_AREA
    ).astype(float)
    if condition.blur_px > 0:
        small = cv2.GaussianBlur(small, (0, 0), condition.blur_px)
    light = rng.uniform(0.55, 1.0)
    noisy = np.clip(small * light + rng.normal(0, 4.0, small.shape), 0, 255).astype(np.uint8)
    ok, coded = cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, 85])
    if not ok:
        msg = "OpenCV could not write a JPEG"
        raise RuntimeError(msg)
    return np.asarray(cv2.imdecode(coded, cv2.IMREAD_GRAYSCALE), np.uint8)


def read_numbers(candidate: Candidate, gray: Gray) -> tuple[list[int], int]:
    """The tag numbers read, and how many lone halves; pairs go through the program's reader."""
    share = 4 * SMALLEST_MARK_PX / max(gray.shape)
    if candidate.pair:
        seen = read_marks(np.dstack([gray] * 3), smallest_mark_share=share)
        numbers = [tag.number for tag in seen.tags if tag.number is not None]
        return numbers, len(seen.tags) - len(numbers)
    parameters = cv2.aruco.DetectorParameters()
    parameters.minMarkerPerimeterRate = share
    detector = cv2.aruco.ArucoDetector(family(candidate.family), parameters)
    _, ids, _ = detector.detectMarkers(gray)
    return ([] if ids is None else [int(i) for i in np.ravel(ids)]), 0


def rate(candidate: Candidate, condition: Condition, *, tries: int) -> NDArray[np.int64]:
    """Read right, half read, read wrong, tries; the same seeds of scene for every candidate."""
    right = half = wrong = 0
    for i in range(tries):
        rng = np.random.default_rng([i, round(condition.mark_px), round(10 * condition.blur_px)])
        face, number = draw_face(candidate, rng)
        face = soil(face, condition.dirt, rng)
        gray = photograph(face, condition, rng, across_mm=PAIR_MARK_MM * (1 + TAG_PITCH))
        numbers, halves = read_numbers(candidate, gray)
        right += number in numbers
        half += number not in numbers and halves > 0
        wrong += any(n != number for n in numbers)
    return np.array([right, half, wrong, tries])


def reading_table(*, tries: int) -> None:
    groups: dict[str, list[Condition]] = {
        "side of a 20 mm mark, px": [Condition(mark_px=p) for p in (12, 16, 20, 24, 32, 48)],
        "blur, px (sigma)": [Condition(blur_px=b) for b in (0.0, 0.8, 1.6, 2.4, 3.2)],
        "tilt, degrees": [Condition(tilt_deg=t) for t in (0.0, 30.0, 45.0, 60.0, 70.0)],
        "soil over the face, share": [Condition(dirt=d) for d in (0.0, 0.02, 0.05, 0.10, 0.15)],
    }
    fields = ("mark_px", "blur_px", "tilt_deg", "dirt")
    print(f"Reading rates in %, {tries} tries each; unless varied: {Condition()}")
    totals = {c.title: np.zeros(4, np.int64) for c in CANDIDATES}
    for (what, conditions), field in zip(groups.items(), fields, strict=True):
        print(f"\n{what:28}" + "".join(f"{getattr(c, field):8g}" for c in conditions))
        for candidate in CANDIDATES:
            results = [rate(candidate, condition, tries=tries) for condition in conditions]
            print(f"{candidate.title:28}" + "".join(f"{100 * r[0] / r[3]:8.0f}" for r in results))
            totals[candidate.title] += sum(results)
    print("\nAll conditions together      tags to give   read right   one half only   read wrong")
    for candidate in CANDIDATES:
        right, half, wrong, n = totals[candidate.title]
        halves = half if candidate.pair else "-"
        print(f"{candidate.title:32}{candidate.tags:9}{right:9}/{n}{halves:>16}{wrong:13}")


def provoking_pictures(*, count: int) -> Iterator[tuple[str, Gray]]:
    """Pictures without marks that look as if they might have some."""
    kinds: dict[str, Callable[[np.random.Generator], Gray]] = {
        "random squares in black frames": _random_squares,
        "chessboards": _chessboard,
        "print": _print,
        "leaves": _leaves,
    }
    for kind, draw in kinds.items():
        for i in range(count):
            gray = draw(np.random.default_rng([7, i]))
            gray = cv2.GaussianBlur(gray, (0, 0), 0.3 + 0.3 * (i % 4))
            yield kind, np.asarray(gray, np.uint8)
    for path in sorted(Path(skimage.data.__file__).parent.iterdir()):
        if path.suffix in {".png", ".jpg"}:
            gray = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
            if gray is not None and min(gray.shape) >= 100:
                yield PHOTOGRAPHS, np.asarray(gray, np.uint8)
    for name in ("china.jpg", "flower.jpg"):
        picture = cv2.cvtColor(load_sample_image(name), cv2.COLOR_RGB2GRAY)
        yield PHOTOGRAPHS, np.asarray(picture, np.uint8)


def _random_squares(rng: np.random.Generator) -> Gray:
    """Black-framed squares of random cells in rows, each next to another: the worst there is."""
    picture = np.full((900, 1200), 235, np.uint8)
    side = int(rng.choice([6, 6, 6, 7]))
    for top in range(20, 820, 80):
        for left in range(20, 1130, 80):
            cells = np.full((side + 2, side + 2), 25, np.uint8)
            cells[1:-1, 1:-1] = np.where(rng.random((side, side)) < 0.5, 25, 235)
            picture[top : top + 64, left : left + 64] = cv2.resize(
                cells, (64, 64), interpolation=cv2.INTER_NEAREST
            )
    return picture


def _chessboard(rng: np.random.Generator) -> Gray:
    square = int(rng.integers(8, 60))
    rows, columns = np.indices((900, 1200)) // square
    return np.where((rows + columns) % 2 == 0, 25, 235).astype(np.uint8)


def _print(rng: np.random.Generator) -> Gray:
    picture = np.full((900, 1200), 235, np.uint8)
    letters = [chr(c) for c in range(33, 127)]
    for y in range(30, 900, 34):
        words = "".join(rng.choice(letters, 60))
        cv2.putText(
            picture, words, (5, y), cv2.FONT_HERSHEY_SIMPLEX, float(rng.uniform(0.5, 1.0)), (25,), 2
        )
    return picture


def _leaves(rng: np.random.Generator) -> Gray:
    picture = np.full((900, 1200), 40, np.uint8)
    for _ in range(1500):
        at = (int(rng.integers(1200)), int(rng.integers(900)))
        axes = (int(rng.integers(8, 60)), int(rng.integers(4, 22)))
        tone = int(rng.integers(20, 230))
        cv2.ellipse(picture, at, axes, float(rng.uniform(0, 180)), 0, 360, (tone,), -1)
    return picture


def false_table(*, count: int) -> None:
    seen: dict[str, dict[str, int]] = {}
    pictures: dict[str, int] = {}
    for kind, gray in provoking_pictures(count=count):
        pictures[kind] = pictures.get(kind, 0) + 1
        for candidate in CANDIDATES:
            row = seen.setdefault(candidate.title, {})
            row[kind] = row.get(kind, 0) + len(read_numbers(candidate, gray)[0])
    print("\nTags read in pictures without any")
    for kind, n in pictures.items():
        print(f"  {kind}: {n} pictures")
        for candidate in CANDIDATES:
            print(f"    {candidate.title:28}{seen[candidate.title][kind]:6}")


def family_table(*, squares: int) -> None:
    """How often chance gives a mark, and how near a second family comes to the cards' own."""
    share = cv2.aruco.DetectorParameters().errorCorrectionRate
    cells = np.random.default_rng(11).integers(0, 2, (squares, 36)).astype(np.float32) * 2 - 1
    print(
        f"\nRandom squares of 6 x 6 cells in a black frame, a million taken for a mark ({squares})"
    )
    own = _codes(cv2.aruco.DICT_APRILTAG_36h11)
    for title, number in (
        ("36h11", cv2.aruco.DICT_APRILTAG_36h11),
        ("36h10", cv2.aruco.DICT_APRILTAG_36h10),
        ("6x6_1000", cv2.aruco.DICT_6X6_1000),
    ):
        corrected = int(family(number).maxCorrectionBits * share)
        codes = _codes(number).reshape(-1, 36).astype(np.float32) * 2 - 1
        hits = sum(
            int(np.count_nonzero((36 - chunk @ codes.T).min(axis=1) <= 2 * corrected))
            for chunk in np.array_split(cells, max(1, squares // 2000))
        )
        line = f"  {title:10}{1e6 * hits / squares:8.0f} with {corrected} cells corrected"
        if title == "36h11":
            halves = 1e6 * hits / squares * 100 / 587
            line += f"; a pair side by side {halves * halves / 1e6:.4f}"
        else:
            apart = (36 - (own[:, 0].astype(np.float32) * 2 - 1) @ codes.T) / 2
            near = int(apart.min())
            line += (
                f"; nearest to a mark of 36h11: {near} cells, "
                f"so {near - corrected} damaged cells can make one into the other"
            )
        print(line)


def _codes(number: int) -> NDArray[np.bool_]:
    """(N, 4, 36) cells of every mark of a family of 6 x 6, in its four turns."""
    dictionary = family(number)
    return np.array(
        [
            [np.rot90(cells, k).ravel() for k in range(4)]
            for i in range(dictionary.bytesList.shape[0])
            for cells in [cv2.aruco.generateImageMarker(dictionary, i, 8)[1:-1, 1:-1] > 0]
        ]
    )


def time_table() -> None:
    rng = np.random.default_rng(3)
    gray = np.clip(
        cv2.resize(rng.normal(120, 50, (150, 200)), (2048, 1536), interpolation=cv2.INTER_CUBIC),
        0,
        255,
    ).astype(np.uint8)
    print("\nOne search of a picture of 2048 x 1536, ms (median of 5)")
    for candidate in CANDIDATES[1:]:
        took = []
        for _ in range(5):
            start = time.perf_counter()
            read_numbers(candidate, gray)
            took.append(time.perf_counter() - start)
        print(f"  {candidate.title:28}{1000 * sorted(took)[2]:6.0f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the tries, for a look")
    arguments = parser.parse_args()
    start = time.perf_counter()
    print(f"OpenCV {cv2.__version__}, {platform.machine()}, threads {cv2.getNumThreads()}")
    reading_table(tries=4 if arguments.quick else 32)
    false_table(count=2 if arguments.quick else 12)
    family_table(squares=20_000 if arguments.quick else 100_000)
    time_table()
    print(f"\n{time.perf_counter() - start:.0f} s")


if __name__ == "__main__":
    main()
