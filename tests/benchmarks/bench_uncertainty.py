"""Whether the claimed uncertainties are true: pulls and intervals over thousands of drawn scenes.

Run by hand from the repository's root::

    python -m tests.benchmarks.bench_uncertainty [--scenes 2000] [--pictures 0] [--seed 0]

``--scenes`` are measured from exact outlines with simulated errors of the outline: quick. Of them
seven tenths are blooms and three tenths clumps. ``--pictures`` are drawn, at about a megapixel, and
measured from the marks on. ``--monte-carlo`` is how many scenes are worked out both ways.
It prints what docs/figures.md holds.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence

import numpy as np

from measure.quality import MeasureError
from photolog.comparing import wilson_interval
from tests.measure.both_ways import Ways, both_ways
from tests.measure.drawn_pictures import picture_case
from tests.measure.varied import Case, bloom_case, clump_case

SIZES = {"bloom": ("widest_mm", "diameter_mm", "ring_mm"), "clump": ("spread_mm", "width_mm")}


def cases_of(case: Callable[[int], Case], seeds: range, refused: Counter[str]) -> list[Case]:
    """All scenes that could be measured; the others are counted by their reason."""
    made = []
    for seed in seeds:
        try:
            made.append(case(seed))
        except MeasureError as error:
            refused[error.refusal.name] += 1
    return made


def row(label: str, cases: Sequence[Case], name: str) -> str:
    """One line of a table."""
    pulls = np.array([case.pull(name) for case in cases])
    held = sum(case.holds(name) for case in cases)
    low, high = wilson_interval(held, len(cases))
    half = float(np.median([case.half_percent(name) for case in cases]))
    off = np.array([case.error_percent(name) for case in cases])
    return (
        f"| {label} | {len(cases)} | {np.median(np.abs(off)):.2f} | {off.mean():+.2f} | "
        f"{pulls.mean():+.2f} | {pulls.std():.2f} | {100 * held / len(cases):.1f} "
        f"({100 * low:.0f} to {100 * high:.0f}) | {half:.2f} |"
    )


HEAD = (
    "| {what} | scenes | median error % | mean error % | pull mean | pull sd | "
    "95 % interval holds, % (Wilson) | half-width, median % |\n|---|---|---|---|---|---|---|---|"
)


def tables(cases: Sequence[Case], *, least: int) -> None:
    """All sizes, then the first size by stratum."""
    if not cases:
        return
    names = SIZES[cases[0].made.of]
    by_kind: dict[str, list[Case]] = defaultdict(list)
    by_stratum: dict[tuple[str, str], list[Case]] = defaultdict(list)
    for case in cases:
        by_kind[case.strata["kind"]].append(case)
        for key, value in case.strata.items():
            by_stratum[key, value].append(case)
    print("\n" + HEAD.format(what="size"))
    for kind, some in sorted(by_kind.items()):
        for name in names:
            print(row(f"{name}: {kind}", some, name))
    print("\n" + HEAD.format(what=f"{names[0]} by"))
    for (key, value), some in sorted(by_stratum.items()):
        if len(some) >= least:
            print(row(f"{key}: {value}", some, names[0]))
    print("\nComponents, median % of the size:")
    for kind, some in sorted(by_kind.items()):
        causes = sorted({c for case in some for c in case.made.sizes[names[0]].components})
        shares = {
            cause: float(
                np.median(
                    [
                        100.0 * size.components.get(cause, 0.0) / size.value
                        for size in (case.made.sizes[names[0]] for case in some)
                    ]
                )
            )
            for cause in causes
        }
        listed = ", ".join(f"{c} {v:.2f}" for c, v in sorted(shares.items(), key=lambda i: -i[1]))
        ways = Counter(str(case.made.settings["uncertainty_by"]) for case in some)
        print(f"{kind}: {listed}; by {dict(ways)}")


def verdict(cases: Sequence[Case], *, least: int = 100) -> None:
    """The bars, each met or not."""
    for of in ("bloom", "clump"):
        some = [case for case in cases if case.made.of == of]
        for name in SIZES[of] if some else ():
            pulls = np.array([case.pull(name) for case in some])
            held = float(np.mean([case.holds(name) for case in some]))
            strata: dict[tuple[str, str], list[bool]] = defaultdict(list)
            for case in some:
                for item in case.strata.items():
                    strata[item].append(case.holds(name))
            shares = {k: float(np.mean(v)) for k, v in strata.items() if len(v) >= least}
            worst = min(shares, key=lambda k: shares[k]) if shares else ("none", "")
            known = [c.half_percent(name) for c in some if "not told" not in c.strata["kind"]]
            unsure = [
                abs(c.error_percent(name)) for c in some if "form not told" in c.strata["kind"]
            ]
            print(
                f"{name}: pull sd {pulls.std():.2f} (1.00 +- 0.15); holds {100 * held:.1f} % "
                f"(92 to 98); worst stratum {' '.join(worst)} "
                f"{100 * shares.get(worst, float('nan')):.1f} % (88 or more); half-width "
                f"{np.median(known):.2f} %"
                + (" (4 or less)" if of == "bloom" else " (no bar: its form is not known)")
                + (f"; form not told, median error {np.median(unsure):.2f} %" if unsure else "")
            )


def compare_ways(scenes: int, *, seed: int) -> None:
    """Propagation against Monte Carlo over scenes, before and after the rule that chooses."""
    found: list[Ways] = []
    for i in range(seed, seed + scenes):
        found += both_ways(clump_case if i % 4 == 3 else bloom_case, i)
    print(
        "\n| size | scenes | u by propagation over u by Monte Carlo: 2.5, 50, 97.5 % | "
        "within 5 % | Monte Carlo taken | within 5 % of those left to propagation |"
    )
    print("|---|---|---|---|---|---|")
    for name in ("widest_mm", "diameter_mm", "ring_mm", "area_cm2", "spread_mm", "width_mm"):
        some = [ways for ways in found if ways.name == name]
        if not some:
            continue
        ratio = np.array([ways.propagated / ways.drawn for ways in some])
        left = np.array([not ways.taken for ways in some])
        fits = np.abs(ratio - 1.0) <= 0.05
        low, middle, high = np.percentile(ratio, (2.5, 50, 97.5))
        print(
            f"| {name} | {len(some)} | {low:.3f}, {middle:.3f}, {high:.3f} | "
            f"{100 * fits.mean():.1f} % | {100 * (1 - left.mean()):.0f} % | "
            f"{100 * fits[left].mean() if left.any() else 100:.1f} % |"
        )


def main() -> None:
    """Parse what was asked for and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--scenes", type=int, default=2000)
    parser.add_argument("--pictures", type=int, default=0)
    parser.add_argument("--monte-carlo", type=int, default=0)
    parser.add_argument("--seed", type=int, default=0, help="the first scene's number")
    asked = parser.parse_args()
    refused: Counter[str] = Counter()
    first = asked.seed
    started = time.perf_counter()
    blooms = cases_of(bloom_case, range(first, first + round(0.7 * asked.scenes)), refused)
    clumps = cases_of(clump_case, range(first, first + round(0.3 * asked.scenes)), refused)
    if asked.scenes:
        print(f"## Exact outlines: {time.perf_counter() - started:.0f} s, refused {dict(refused)}")
        verdict([*blooms, *clumps])
        tables(blooms, least=100)
        tables(clumps, least=50)
    if asked.monte_carlo:
        compare_ways(asked.monte_carlo, seed=first)
    if asked.pictures:
        refused.clear()
        started = time.perf_counter()
        drawn = cases_of(picture_case, range(first, first + asked.pictures), refused)
        print(f"\n## Pictures: {time.perf_counter() - started:.0f} s, refused {dict(refused)}")
        verdict(drawn, least=40)
        for of in ("bloom", "clump"):
            tables([case for case in drawn if case.made.of == of], least=20)


if __name__ == "__main__":
    main()
