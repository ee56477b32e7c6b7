"""What the clump's outline and count leave on drawn scenes that no network was trained on.

``python -m tests.benchmarks.bench_clumps [--scenes N] [--seed N]``, run by hand; needs PyTorch.
The scenes are harder than most photographs: any skin, any ground, any light, other things in view.
"""

from __future__ import annotations

import argparse

import cv2
import numpy as np
import torch

from measure import MeasureError
from measure.outline.clump import find_clump
from measure.outline.regions import open_by, spread_of, widest_of
from measure.outline.tubers import count_tubers
from measure.training.clump_scenes import Drawn, draw_clumps

SIDE = 256
ENLARGED = 3
# Smaller clumps than this in a scene are no photograph to measure from.
LEAST_PX = 90
# Tips are judged where tubers are at least this thick: the drawn scenes are too coarse for 4 mm.
STOUT_MM = 8.0
TOO_MUCH_PERCENT = 8.0


def judged(drawn: Drawn, k: int) -> tuple[float, ...] | None:
    """Errors of spread and area in per cent, confidence, and the counts; None where unsuitable."""
    body = drawn.truth[k, 0].numpy() > 0.5
    frame = np.concatenate([body[0], body[-1], body[:, 0], body[:, -1]])
    if not body.any() or frame.any() or spread_of(body) < LEAST_PX:
        return None
    small = (drawn.pictures[k].numpy().transpose(1, 2, 0) * 255).round().astype(np.uint8)
    picture = np.asarray(cv2.resize(small, None, fx=ENLARGED, fy=ENLARGED), dtype=np.uint8)
    truth = np.asarray(cv2.resize(body.astype(np.float32), None, fx=ENLARGED, fy=ENLARGED) > 0.5)
    scale = float(drawn.px_per_mm[k]) * ENLARGED
    middle = (SIDE * ENLARGED - 1) / 2
    seen, total = float(drawn.seen[k]), float(drawn.count[k])
    try:
        found = find_clump(
            picture, keep_out=np.zeros(truth.shape, bool), near=(middle, middle), px_per_mm=scale
        )
    except MeasureError:
        return (np.nan, np.nan, 0.0, np.nan, seen, total, 0, 0)
    count = count_tubers(found, px_per_mm=scale)
    region = np.zeros(truth.shape, np.uint8)
    ring = np.round(found.outline.points).astype(np.int32).reshape(-1, 1, 2)
    cv2.fillPoly(region, [ring], 1)
    thick = STOUT_MM / 2 * scale
    stout = spread_of(open_by(truth, thick))
    if stout < 0.5 * widest_of(found.outline.points):
        return None
    spread = 100 * (spread_of(open_by(region > 0, thick)) / stout - 1)
    area = 100 * (float(region.sum()) / float(truth.sum()) - 1)
    inside = count.interval95[0] <= seen <= count.interval95[1]
    inside_all = count.all95[0] <= total <= count.all95[1]
    return (spread, area, found.outline.confidence, count.seen, seen, total, inside, inside_all)


def main() -> None:
    """Draw, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--scenes", type=int, default=240)
    parser.add_argument("--seed", type=int, default=777_001)
    asked = parser.parse_args()
    generator = torch.Generator()
    generator.manual_seed(asked.seed)
    rows = []
    for _ in range(-(-asked.scenes // 8)):
        drawn = draw_clumps(8, side=SIDE, device="cpu", generator=generator)
        rows += [row for k in range(8) if (row := judged(drawn, k)) is not None]
    table = np.array(rows, dtype=np.float64)
    found = table[np.isfinite(table[:, 0])]
    spread, area, trust = np.abs(found[:, 0]), np.abs(found[:, 1]), found[:, 2]
    print(f"{len(table)} scenes, {len(table) - len(found)} refused")
    print(f"median error: spread {np.median(spread):.2f} %, area {np.median(area):.2f} %")
    sure = trust >= 0.7
    print(
        f"{np.mean(~sure):.0%} flagged; spread out by more than {TOO_MUCH_PERCENT:g} %: "
        f"{np.sum(spread > TOO_MUCH_PERCENT)}, unflagged {np.sum(spread[sure] > TOO_MUCH_PERCENT)}"
    )
    off = np.abs(found[:, 3] - found[:, 4])
    for low, high in ((1, 9), (10, 15)):
        some = (found[:, 4] >= low) & (found[:, 4] <= high)
        shares = ", ".join(f"within {k} {np.mean(off[some] <= k):.0%}" for k in (0, 1, 2))
        print(
            f"{low} to {high} tubers, {np.sum(some)} clumps: {shares}; interval holds the number "
            f"seen in {np.mean(found[some, 6]):.0%}, of all in {np.mean(found[some, 7]):.0%}"
        )


if __name__ == "__main__":
    main()
