"""How often "the card is not flat" is said of flat cards, and of bent ones that cost something.

``python -m tests.benchmarks.bench_bent_cards [--flat DIR] [--quick]``, run by hand. Three parts:
photographs of flat cards from a folder that ``sample_images/render/make_accuracy.py`` filled; drawn
pictures whose card was bent before its marks were read; and corners put where a camera would see
those of a bent card, scattered as the corners of the photographs are. A bend's cost is the change
of the widest measure on a plane 30 mm above where the flat card lies. Exits 1 when more than two
flat cards in a hundred are called bent, or fewer than nine in ten of the bent ones that cost more
than one per cent are (bloom cards bent lengthwise apart: their board is too short to show it).
"""

from __future__ import annotations

import argparse
import functools
import itertools
import statistics
import sys
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np

from measure import MeasureError, read_marks
from measure.card.board import board_points_mm
from measure.card.designs import CardDesign
from measure.placing import pose_in
from measure.planar import widest_of
from measure.pose import Pose, find_pose
from measure.quality import Flag
from measure.results import MarksSeen, Points, Printing, SeenCard
from measure.staging import BloomScene, ClumpScene, stage_bloom, stage_clump
from photolog.comparing.wilson import wilson_interval
from tests.benchmarks.bench_accuracy import rows_in
from tests.benchmarks.bench_samples import opened
from tests.measure.troubled import bent, bent_card

BOWS_MM = (3.0, 5.0, 8.0, 10.0)
TILTS_DEG = (2.0, 8.0, 15.0, 22.0)
SHAPES = ("across", "along", "folded", "wavy", "twisted")
READ = Printing(u_percent=0.15)

# Scatter of one corner in one direction, in pixels: in the median of the blind photographs.
CORNER_PX = 0.13


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One card: what it is, how it is bent, whether that was said, what it cost in per cent."""

    card: str
    shape: str
    bow_mm: float
    said: bool
    cost_percent: float


def height_of(shape: str, places: Points, design: CardDesign, bow_mm: float) -> Points:
    """(N, 3) where places on a card so bent lie; arcs keep the card's length."""
    if shape in ("across", "along"):
        return np.asarray(bent(places, design, sag_mm=bow_mm, across=shape == "across"))
    x, y = (places / (design.width_mm, design.height_mm)).T
    shapes = {
        "folded": 1.0 - np.abs(2.0 * x - 1.0),
        "wavy": 0.5 * np.sin(2.0 * np.pi * x),
        "twisted": 2.0 * (x - 0.5) * (y - 0.5),
    }
    return np.column_stack([places, bow_mm * shapes[shape]])


@functools.cache
def scene_of(card: str, tilt_deg: float, seed: int) -> BloomScene | ClumpScene:
    """A bloom or a clump with its card, seen from a side that the seed draws."""
    view = {
        "tilt_deg": tilt_deg,
        "tilt_towards_deg": float(np.random.default_rng(seed).uniform(0.0, 360.0)),
    }
    if card == "bloom":
        return stage_bloom("decorative", widest_mm=130.0, seed=seed, **view)
    return stage_clump(spread_mm=230.0, seed=seed, **view)


def posed(scene: BloomScene | ClumpScene, places: Points, *, seed: int) -> Pose:
    """The pose from corners at (N, 3) places, scattered."""
    seen = scene.camera.project(places)
    seen = seen + np.random.default_rng(1000 + seed).normal(0.0, CORNER_PX, seen.shape)
    design = scene.design
    card = SeenCard(
        design=design.name, corner_ids=np.arange(len(seen)), corners=seen, n_marks=len(design.marks)
    )
    marks = MarksSeen(cards=(card,), sharpness_px=0.7)
    return find_pose(marks, size_px=(1600, 1200), optics=scene.optics, printing=READ)


def widest_mm(pose: Pose, outline: Points) -> float:
    """The widest measure on the plane 30 mm above the card."""
    places = pose.on_plane(outline, height_mm=30.0)
    ends = widest_of(places)
    return float(np.linalg.norm(places[ends.first] - places[ends.second]))


def scattered(card: str, *, seeds: int) -> list[Case]:
    """Corners of flat and bent cards, scattered."""
    cases = []
    for tilt, seed in itertools.product(TILTS_DEG, range(seeds)):
        scene = scene_of(card, tilt, seed)
        flat_mm = board_points_mm(scene.design, np.arange(scene.design.n_corners))
        outline = scene.outline()
        flat = posed(scene, np.column_stack([flat_mm, np.zeros(len(flat_mm))]), seed=seed)
        true = widest_mm(flat, outline)
        cases.append(Case(card=card, shape="flat", bow_mm=0.0,
                          said=Flag.CARD_BENT in flat.flags, cost_percent=0.0))  # fmt: skip
        for shape, bow in itertools.product(SHAPES, BOWS_MM):
            pose = posed(scene, height_of(shape, flat_mm, scene.design, bow), seed=seed)
            cost = 100.0 * abs(widest_mm(pose, outline) / true - 1.0)
            cases.append(Case(card=card, shape=shape, bow_mm=bow,
                              said=Flag.CARD_BENT in pose.flags, cost_percent=cost))  # fmt: skip
    return cases


def drawn(card: str) -> list[Case]:
    """Drawn pictures with the card bent across, their marks read."""
    cases = []
    for tilt, bow in itertools.product(TILTS_DEG, (0.0, *BOWS_MM)):
        scene = scene_of(card, tilt, round(tilt))
        picture = scene.canvas().finish()
        if bow:
            picture = bent_card(scene, picture, sag_mm=bow)
        pose = pose_in(picture, read_marks(picture), optics=scene.optics, printing=READ)
        cases.append(Case(card=card, shape="across" if bow else "flat", bow_mm=bow,
                          said=Flag.CARD_BENT in pose.flags, cost_percent=0.0))  # fmt: skip
    return cases


def photographed(folder: Path) -> list[Case]:
    """Photographs of flat cards."""
    cases = []
    for row in rows_in(folder, None):
        picture, optics = opened(folder / row["folder"] / row["file"])
        try:
            pose = pose_in(picture, read_marks(picture), optics=optics, printing=READ)
        except MeasureError:
            continue
        said = Flag.CARD_BENT in pose.flags
        if said:
            print(f"  called bent: {row['file']}")
        cases.append(Case(card=row["card"], shape="flat", bow_mm=0.0, said=said, cost_percent=0.0))
    return cases


def share(cases: Iterable[Case]) -> str:
    """How many of them were called bent, and the 95 % interval of their share."""
    kept = list(cases)
    if not kept:
        return "   none           "
    said = sum(case.said for case in kept)
    low, high = wilson_interval(said, len(kept))
    return f"{said:4d} of {len(kept):4d} ({100 * low:.0f} to {100 * high:.0f} %)"


def print_table(title: str, cases: list[Case], *, costs: bool) -> None:
    """A line for each card, shape and bow."""
    print(f"\n{title}\n  {'card':9s} {'bent':9s} {'bow':>6s}  {'called bent':26s}", end="")
    print(f" {'cost, median and worst':>24s}  called bent of those over 1 %" if costs else "")
    for key, grouped in itertools.groupby(
        sorted(cases, key=lambda c: (c.card, c.shape, c.bow_mm)),
        key=lambda c: (c.card, c.shape, c.bow_mm),
    ):
        some = list(grouped)
        line = f"  {key[0]:9s} {key[1]:9s} {key[2]:3.0f} mm  {share(some):26s}"
        if costs and key[2]:
            all_costs = [case.cost_percent for case in some]
            line += f" {statistics.median(all_costs):10.1f} % {max(all_costs):8.1f} %"
            line += f"     {share(case for case in some if case.cost_percent > 1.0)}"
        print(line)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--flat", type=Path, help="a folder of photographs of flat cards")
    parser.add_argument("--quick", action="store_true", help="fewer scenes, nothing drawn")
    options = parser.parse_args()
    cv2.setNumThreads(1)
    photos = photographed(options.flat) if options.flat is not None else []
    if photos:
        print_table("photographs of flat cards", photos, costs=False)
    if not options.quick:
        print_table("drawn pictures", [*drawn("bloom"), *drawn("bench")], costs=False)
    cases = [
        c for card in ("bloom", "bench") for c in scattered(card, seeds=3 if options.quick else 15)
    ]
    print_table(f"corners scattered by {CORNER_PX} px", cases, costs=True)
    flat = [*photos, *(c for c in cases if c.shape == "flat")]
    costly = [c for c in cases if c.cost_percent > 1.0 and (c.card, c.shape) != ("bloom", "along")]
    print(f"\nflat, called bent: {share(flat)}\ncost over 1 %, called bent: {share(costly)}")
    few = sum(c.said for c in flat) <= 0.02 * len(flat)
    return 0 if few and sum(c.said for c in costly) >= 0.9 * len(costly) else 1


if __name__ == "__main__":
    sys.exit(main())
