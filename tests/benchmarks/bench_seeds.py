"""How well seeds are counted and measured on drawn sheets, and how long it takes.

Run by hand: ``python -m tests.benchmarks.bench_seeds [SHEETS] [--blind]``. The rules were chosen
with even seeds of the drawing in view; ``--blind`` draws odd ones that nothing was chosen by.
docs/figures.md holds the table.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from measure import Flag, MeasureError, measure_seeds
from photolog.comparing import wilson_interval
from tests.measure.seeds.drawn import SheetPlan, draw_sheet

NUMBERS = (16, 60, 120, 250)
TOUCHING = (0.1, 0.3, 0.5)
SHADES = ("none", "edge", "deep")
DARK_ON = ("white", "cream", "pale blue", "pink", "green", "kraft")


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One sheet counted; ``counted`` is None where it was refused."""

    plan: SheetPlan
    counted: float | None
    held: bool = False
    width: float = 0.0
    unsure: bool = False
    length_off: float = float("nan")
    length_held: bool = False

    @property
    def within(self) -> bool:
        """Within 1 or 2 %, whichever is more."""
        if self.counted is None:
            return False
        return abs(self.counted - self.plan.seeds) <= max(1.0, 0.02 * self.plan.seeds)


def plans(sheets: int, *, blind: bool) -> list[SheetPlan]:
    """As many sheets, every number, closeness, shade and paper in turn."""
    rng = np.random.default_rng(89 if blind else 5)
    made = []
    for i in range(sheets):
        made.append(
            SheetPlan(
                seeds=NUMBERS[i % 4],
                touching=TOUCHING[i // 4 % 3],
                shade=SHADES[(i // 12 + i) % 3],
                paper=DARK_ON[(i * 7 // 4 + i) % 6],
                table=bool(rng.random() < 0.25),
                tilt_deg=float(rng.uniform(0.0, 14.0)),
                blur_px=float(rng.uniform(0.6, 1.3)),
                noise=float(rng.uniform(1.5, 4.0)),
                chaff=int(rng.integers(0, 6)),
                dust=int(rng.integers(0, 12)),
                seed=2 * i + (15001 if blind else 0),
            )
        )
    return made


def outcome_of(plan: SheetPlan) -> Outcome:
    """Draw one sheet and count it."""
    sheet = draw_sheet(plan)
    try:
        made = measure_seeds(sheet.picture, marks=sheet.marks, optics=sheet.optics)
    except MeasureError:
        return Outcome(plan=plan, counted=None)
    seeds, length = made.sizes["seeds"], made.sizes["length_mm"]
    truth = float(np.median(sheet.lengths_mm))
    return Outcome(
        plan=plan,
        counted=seeds.value,
        held=seeds.interval95[0] <= plan.seeds <= seeds.interval95[1],
        width=(seeds.interval95[1] - seeds.interval95[0]) / 2.0,
        unsure=Flag.COUNT_UNSURE in made.flags,
        length_off=length.value / truth - 1.0,
        length_held=length.interval95[0] <= truth <= length.interval95[1],
    )


def share(held: Sequence[bool]) -> str:
    """A share in per cent with its Wilson interval."""
    low, high = wilson_interval(sum(held), len(held))
    return f"{100 * sum(held) / len(held):.0f} ({100 * low:.0f} to {100 * high:.0f})"


def line(title: str, chosen: Sequence[Outcome]) -> None:
    """One line of the table."""
    counted = [o for o in chosen if o.counted is not None]
    if not counted:
        print(f"| {title} | {len(chosen)} | all refused | | | | |")
        return
    off = 100.0 * np.abs([o.length_off for o in counted])
    print(
        f"| {title} | {len(chosen)} | {share([o.within for o in chosen])} "
        f"| {share([o.held for o in counted])} | ± {np.mean([o.width for o in counted]):.1f} "
        f"| {np.median(off):.1f} ({np.percentile(off, 95):.1f}) "
        f"| {share([o.length_held for o in counted])} |"
    )


def by(outcomes: Sequence[Outcome], name: str, of: Callable[[SheetPlan], object]) -> None:
    """Lines of the table for every value of one part of the plan."""
    for value in sorted({of(o.plan) for o in outcomes}, key=str):
        line(f"{name}: {value}", [o for o in outcomes if of(o.plan) == value])


def timed(rounds: int = 5) -> None:
    """Processor time at 12 megapixels over that of decoding the same picture."""
    cv2.setNumThreads(1)
    for seeds, touching in ((60, 0.1), (250, 0.3), (250, 0.5)):
        plan = SheetPlan(seeds=seeds, touching=touching, size_px=(4000, 3000), seed=7)
        sheet = draw_sheet(plan)
        _, packed = cv2.imencode(".jpg", sheet.picture, [cv2.IMWRITE_JPEG_QUALITY, 92])
        ratios = []
        for _ in range(rounds):
            start = time.process_time()
            cv2.imdecode(packed, cv2.IMREAD_COLOR)
            middle = time.process_time()
            measure_seeds(sheet.picture, marks=sheet.marks, optics=sheet.optics)
            ratios.append((time.process_time() - middle) / (middle - start))
        print(f"{seeds} seeds, {touching:.0%} pushed up: {np.median(ratios):.1f} x imdecode")


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("sheets", nargs="?", type=int, default=144)
    parser.add_argument("--blind", action="store_true")
    asked = parser.parse_args()
    timed()
    outcomes = [outcome_of(plan) for plan in plans(asked.sheets, blind=asked.blind)]
    print("| sheets | number | within the bar, % | interval holds, % | interval ", end="")
    print("| length off, % (95th) | its interval holds, % |")
    print("|---|---|---|---|---|---|---|")
    line("all", outcomes)
    by(outcomes, "seeds", lambda p: f"{p.seeds:3d}")
    by(outcomes, "pushed up against another", lambda p: f"{p.touching:.0%}")
    largest = [o for o in outcomes if o.plan.seeds == 250]
    by(largest, "250 seeds, pushed up", lambda p: f"{p.touching:.0%}")
    by(outcomes, "shade", lambda p: p.shade)
    by(outcomes, "paper", lambda p: p.paper)
    by(outcomes, "table in view", lambda p: p.table)
    line("not flagged as unsure", [o for o in outcomes if not o.unsure])
    worst = max(
        (o for o in outcomes if o.counted is not None), key=lambda o: abs(o.counted - o.plan.seeds)
    )
    print(f"worst: {worst.counted:.0f} of {worst.plan.seeds}; refused: ", end="")
    print(sum(o.counted is None for o in outcomes), "unsure:", sum(o.unsure for o in outcomes))
    heaps = [
        SheetPlan(seeds=s, heaped=h, seed=2 * i + 7001, paper=DARK_ON[i % 6])
        for i, (s, h) in enumerate(
            ((60, 12), (60, 30), (20, 60), (100, 40), (16, 120), (0, 60)) * 2
        )
    ]
    print("heaps refused:", share([outcome_of(p).counted is None for p in heaps]))
    pale = [
        SheetPlan(seeds=60, touching=0.2, paper=p, pale_seeds=True, chaff=0, seed=2 * i + 8001)
        for i, p in enumerate(("black", "green") * 6)
    ]
    line("pale seeds on dark paper", [outcome_of(p) for p in pale])


if __name__ == "__main__":
    main()
