"""How `measure.clump_heights` and `measure.standing` were chosen, and what they leave: by hand.

``python -m tests.benchmarks.fit_clump_heights [--sets 5 7 9] [--staged 60] [--fit]``

Clumps of six rule sets are laid beside a card and seen by a camera, geometry alone: the two that
render the blind sets of photographs (other sets than those measured in docs/accuracy.md), and the
four of ``measure.shapes`` and ``measure.other_shapes``, two of them with tubers that stand clear of
the ground. Each exact silhouette is cast onto the card with the heights in use, on one plane at 6 %
of the spread, and with the true height of each of its points, and set against the sizes as seen
from straight above; and it is told how high the outermost ends stand above half their thickness,
by the number of tubers. ``--fit`` prints what would fit best with each rule set left out, and what
it leaves on that one.
"""

from __future__ import annotations

import argparse
import importlib
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize
from scipy.spatial import cKDTree

from measure.budget import clump_lengths
from measure.clump_heights import ENDS, FLANKS, edge_thickness
from measure.lift import on_level
from measure.other_shapes import bunch_clump, pile_clump
from measure.planar import area_of, hull_of, least_width, widest_of
from measure.results import Points
from measure.shapes import Clump, grow_clump
from measure.staging import stage_clump
from measure.standing import off_ground, rises

RENDER = Path(__file__).parents[2] / "sample_images" / "render"
FINER = 2
TUBERS = ((0, 5), (6, 8), (9, 11), (12, 99))
STANDS = 0.06
CAPPED_PERCENT = 4.0

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Seen:
    """One clump: rays to its silhouette, its true sizes, thickness and facing along its edge.

    ``touched_mm`` (N,) is how high each ray touches it.
    """

    rules: str
    tubers: int
    eye: Floats
    rays: Floats
    truth: Floats
    half: Floats
    facing: Floats
    touched_mm: Floats

    @property
    def usual(self) -> float:
        """How high an end is taken to lie above half its thickness, as a share of the spread."""
        return float(rises(np.zeros(1), off_ground(self.tubers))[0])

    def ends_above(self) -> Floats:
        """(M,) how high outermost ends truly lie above half their thickness, as shares."""
        places = on_level(self.eye, self.rays, self.touched_mm)
        corners = hull_of(places)
        off = np.linalg.norm(places[corners] - places.mean(axis=0), axis=1)
        spread = widest_of(places).length
        chosen: list[int] = []
        for i in corners[np.argsort(-off)]:
            apart = [np.linalg.norm(places[i] - places[j]) for j in chosen]
            if not apart or min(apart) > 0.12 * spread:
                chosen.append(int(i))
        return np.asarray(self.touched_mm[chosen] / spread - self.half[chosen])

    def errors_by_truth(self) -> Floats:
        """Per cent by which the sizes are out with the true height of each point."""
        sizes = clump_lengths(on_level(self.eye, self.rays, self.touched_mm))
        found = np.array([sizes["spread_mm"], sizes["width_mm"], sizes["area_cm2"]])
        return np.asarray(100.0 * (found / self.truth - 1.0), dtype=np.float64)

    def errors(self, ends: Floats, flanks: Floats) -> Floats:
        """Per cent by which spread, width and area are out with these heights, as shares."""
        spread = widest_of(on_level(self.eye, self.rays, 0.0)).length
        for _ in range(4):
            at_ends = on_level(self.eye, self.rays, ends * spread)
            spread = widest_of(at_ends).length
        sizes = clump_lengths(at_ends)
        area = area_of(on_level(self.eye, self.rays, flanks * spread)) / 100.0
        found = np.array([sizes["spread_mm"], sizes["width_mm"], area])
        return np.asarray(100.0 * (found / self.truth - 1.0), dtype=np.float64)


class _FromAbove:
    """A camera at infinity, four pixels a millimetre."""

    def project(self, places_mm: Floats) -> Points:
        return np.asarray(places_mm[:, :2] * 4.0, dtype=np.float64)


def seen(
    rules: str, *, tubers: int, eye: Floats, rays: Floats, body_mm: Floats, truth: list[float]
) -> Seen:
    """With the thickness along its edge, from its outline as it looks on the card.

    Each ray touches the body at that of its points (M, 3) which looks nearest to the ray.
    """
    half, facing = edge_thickness(on_level(eye, rays, 0.0), eye_mm=eye)
    from_eye = body_mm - eye
    _, nearest = cKDTree(from_eye[:, :2] / from_eye[:, 2:]).query(rays[:, :2] / rays[:, 2:])
    return Seen(
        rules=rules,
        tubers=tubers,
        eye=eye,
        rays=rays,
        truth=np.array(truth),
        half=half,
        facing=facing,
        touched_mm=body_mm[nearest, 2],
    )


def staged(count: int) -> Iterator[Seen]:
    """Clumps of our own rule sets, from as near and as aslant as photographs are taken."""
    every: dict[str, Callable[..., Clump]] = {
        "grown": grow_clump,
        "grown, some standing": partial(grow_clump, standing=True),
        "others, piled": pile_clump,
        "others, stiff bunches": bunch_clump,
    }
    for k in range(count):
        for rules, grow in every.items():
            rng = np.random.default_rng([31_337, k])
            spread = float(rng.uniform(140, 420))
            scene = stage_clump(
                spread_mm=spread,
                tubers=(tubers := int(rng.integers(3, 14))),
                seed=770_000 + k,
                grow=grow,
                laid_deg=float(rng.uniform(0, 360)),
                left=bool(rng.integers(2)),
                distance_mm=max(450.0, 2.2 * spread) * float(rng.uniform(1, 1.5)),
                tilt_deg=float(rng.choice([rng.uniform(0, 12), rng.uniform(8, 25)])),
                tilt_towards_deg=float(rng.uniform(0, 360)),
            )
            camera = scene.camera
            pixels = scene.outline()
            pixels = pixels[:: max(1, len(pixels) // 2000)]
            flat = (pixels - (np.array(camera.size_px) - 1) / 2.0) / camera.focal_px
            rays = np.column_stack([flat, np.ones(len(flat))]) @ camera.axes
            above = replace(scene, camera=_FromAbove())  # type: ignore[arg-type]
            body = scene.clump.points
            flat = body[:, :2]
            truth = [widest_of(flat).length, least_width(flat), area_of(above.outline()) / 1600.0]
            yield seen(
                rules, tubers=tubers, eye=camera.eye_mm, rays=rays, body_mm=body, truth=truth
            )


def rendered(numbers: list[int]) -> Iterator[Seen]:
    """Clumps as the blind sets of these numbers lay them out."""
    sys.path.insert(0, str(RENDER))
    scenes, layouts, camera, measures, truth = (
        importlib.import_module(name)
        for name in ("accuracy_scenes", "accuracy_layout", "camera", "plane_measures", "truth")
    )
    size = (camera.HEIGHT_PX * FINER, camera.WIDTH_PX * FINER)
    for scene in (s for n in numbers for s in scenes.scenes_of(n) if s.shot.subject == "clump"):
        layout = layouts.lay_out_scene(scene)
        view = layout.camera
        body = [m for m in layout.subject if m.part == "crown" or m.part.startswith("tuber")]
        mask = np.zeros(size, np.uint8)
        for mesh in body:
            corners = np.rint(((view.project(mesh.points) + 0.5) * FINER - 0.5) * 16)
            for quad in corners.astype(np.int32)[mesh.quads]:
                cv2.fillConvexPoly(mask, quad, 1, cv2.LINE_8, 4)
        # Filling takes in half a cell all round; eroding by a square of two takes that off again,
        # and moves all by half a cell.
        mask = np.asarray(cv2.erode(mask, np.ones((2, 2), np.uint8)))
        rings, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        ring = np.asarray(max(rings, key=cv2.contourArea), np.float64).reshape(-1, 2)
        pixels = (ring[:: max(1, len(ring) // 2500)] + 1.0) / FINER - 0.5
        middle = np.array([camera.WIDTH_PX - 1, camera.HEIGHT_PX - 1]) / 2.0
        flat = (pixels - middle) / camera.focal_px(view.focal35_mm)
        rays = flat[:, :1] * view.right + flat[:, 1:] * view.down + view.ahead
        points = layout.measured_points
        true = [measures.widest(points), measures.least_width(points), truth.area_cm2(body)]
        skin = np.vstack([mesh.points for mesh in body])
        eye = np.asarray(view.eye, np.float64)
        rules = f"rendered, {scene.build}"
        yield seen(rules, tubers=scene.tubers, eye=eye, rays=rays, body_mm=skin, truth=true)


def left_by(clumps: list[Seen], ends: float, flanks: tuple[float, ...]) -> Floats:
    """(N, 3) errors with these numbers in place of ``ENDS`` and ``FLANKS``."""
    return np.array(
        [
            c.errors(
                ends * c.half + c.usual,
                np.maximum(flanks[0] + (flanks[1] + flanks[2] * c.facing) * c.half, 0.0),
            )
            for c in clumps
        ]
    )


def told(errors: Floats) -> str:
    """Median of \\|error\\|, mean and scatter of spread, width and area."""
    sizes = zip(("spread", "width", "area"), errors.T, strict=True)
    return "; ".join(
        f"{name} {np.median(np.abs(e)):.2f} ({e.mean():+.2f}, sd {e.std():.2f})"
        for name, e in sizes
    )


def standing(clumps: list[Seen]) -> str:
    """How high outermost ends stand above half their thickness, as shares of the spread."""
    lines = []
    for least, most in TUBERS:
        some = [c.ends_above() for c in clumps if least <= c.tubers <= most]
        if some:
            ends = np.concatenate(some)
            middle, high, highest = np.percentile(ends, (50, 90, 97.5))
            lines.append(
                f"{least} to {min(most, 15)} tubers: {100 * np.mean(ends > STANDS):.0f} % above "
                f"{STANDS}, half {middle:+.3f}, nine in ten {high:.2f}, 97.5 % {highest:.2f}"
            )
    return "\n    ".join(lines)


def best(sets: list[list[Seen]]) -> tuple[float, tuple[float, ...]]:
    """The numbers that leave least, every rule set counted alike, large errors only so far."""

    def ends_leave(numbers: Floats) -> float:
        left = [left_by(some, float(numbers[0]), FLANKS)[:, :2] for some in sets]
        return float(np.mean([np.minimum(np.abs(e), CAPPED_PERCENT).mean() for e in left]))

    def flanks_leave(numbers: Floats) -> float:
        left = [left_by(some, ENDS, (numbers[0], numbers[1], numbers[2]))[:, 2] for some in sets]
        return float(np.mean([np.minimum(np.abs(e), CAPPED_PERCENT).mean() for e in left]))

    rough = {"xatol": 0.003, "fatol": 0.003, "maxfev": 60}
    ends = minimize(ends_leave, np.array([ENDS]), method="Nelder-Mead", options=rough).x
    flanks = minimize(flanks_leave, np.array(FLANKS), method="Nelder-Mead", options=rough).x
    return float(ends[0]), tuple(map(float, flanks))


def main() -> None:
    """Draw, cast, print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sets", type=int, nargs="*", default=[5, 7, 9])
    parser.add_argument("--staged", type=int, default=60)
    parser.add_argument("--fit", action="store_true")
    asked = parser.parse_args()
    by_rules: dict[str, list[Seen]] = defaultdict(list)
    for clump in [*staged(asked.staged), *rendered(asked.sets)]:
        by_rules[clump.rules].append(clump)
    for rules, clumps in by_rules.items():
        print(f"{rules}: {len(clumps)} clumps; median of |error|, mean, scatter in %")
        plane = np.array([c.errors(at := np.full(len(c.half), 0.06), at) for c in clumps])
        print(f"  one plane at 6 %: {told(plane)}")
        print(f"  heights in use:   {told(left_by(clumps, ENDS, FLANKS))}")
        print(f"  heights known:    {told(np.array([c.errors_by_truth() for c in clumps]))}")
        print(f"  ends stand:\n    {standing(clumps)}")
        if asked.fit:
            ends, flanks = best([some for name, some in by_rules.items() if name != rules])
            numbers = ", ".join(f"{n:.3f}" for n in (ends, *flanks))
            print(f"  fitted to others: {told(left_by(clumps, ends, flanks))} by {numbers}")


if __name__ == "__main__":
    main()
