"""How often the season comparison's intervals hold the truth, on drawn gardens.

Run by hand: ``python -m tests.benchmarks.bench_intervals [DRAWS]``; prints the table that
docs/comparing.md holds.
"""

from __future__ import annotations

import math
import sys
from collections.abc import Sequence

import numpy as np

from photolog.comparing import SIZE_KINDS, compare_sizes, wilson_interval
from tests.comparing.drawn import drawn_shots

CHANGES = (0.80, 0.88, 1.00, 0.93, 1.06, 1.125)

CASES: tuple[tuple[str, Sequence[int], float, bool], ...] = (
    ("1 clump, all of a variety change alike", (1,), 0.0, True),
    ("1 or 2 clumps, alike", (2, 1, 1, 1, 1, 2), 0.0, True),
    ("1 or 2 clumps, each 10 % its own way", (2, 1, 1, 1, 1, 2), 0.10, True),
    ("2 clumps, each 10 % its own way", (2,), 0.10, True),
    ("4 clumps, each 10 % its own way", (4,), 0.10, True),
    ("3 clumps, others in the second season", (3,), 0.0, False),
)


def share(held: Sequence[bool]) -> str:
    """A share in per cent with its Wilson interval."""
    n = len(held)
    low, high = wilson_interval(sum(held), n)
    return f"{100 * sum(held) / n:.1f} ({100 * low:.1f} to {100 * high:.1f})"


def main(draws: int) -> None:
    """Print the table, and what is said when nothing changed."""
    kind = SIZE_KINDS["spread_mm"]
    print("| garden of six varieties | of these clumps | of the variety | pooled |")
    print("|---|---|---|---|")
    for name, clumps, plant_sd, same in CASES:
        rng = np.random.default_rng(1)
        of_clumps, of_variety, of_all = [], [], []
        for _ in range(draws):
            changes = [
                c * math.exp(x) for c, x in zip(CHANGES, rng.normal(0, 0.03, 6), strict=True)
            ]
            shots, own = drawn_shots(
                rng, changes, clumps=clumps, plant_sd=plant_sd, same_clumps=same
            )
            for row in compare_sizes(shots, kind=kind, first=2024, second=2025).rows:
                if row.change is not None:
                    low, high = row.change.interval95
                    v = int(row.variety.split()[1])
                    of_clumps.append(low <= own[v] <= high)
                    of_variety.append(low <= changes[v] <= high)
            drawn = np.exp(rng.normal(math.log(0.95), 0.08, 6))
            shots, _ = drawn_shots(rng, drawn, clumps=clumps, plant_sd=plant_sd, same_clumps=same)
            (pooled,) = compare_sizes(shots, kind=kind, first=2024, second=2025).pooled
            if pooled.interval95 is not None:
                of_all.append(pooled.interval95[0] <= 0.95 <= pooled.interval95[1])
        own_share = share(of_clumps) if same else "–"
        print(f"| {name} | {own_share} | {share(of_variety)} | {share(of_all)} |")
    print()
    rng = np.random.default_rng(2)
    rows, pooled_rows = [], []
    for _ in range(draws):
        shots, _ = drawn_shots(rng, (1.0,) * 6, clumps=(1,))
        result = compare_sizes(shots, kind=kind, first=2024, second=2025)
        rows += [row.word for row in result.rows]
        pooled_rows.append(result.pooled[0].word)
    for title, words in (("of a variety", rows), ("of all together", pooled_rows)):
        said = ", ".join(
            f"{word} {share([w == word for w in words])} %" for word in ("smaller", "larger")
        )
        print(f"Nothing changed, said {title}: {said}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
