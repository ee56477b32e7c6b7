"""How accurate measuring is on the blind set of rendered photographs: run by hand.

``python -m tests.benchmarks.bench_accuracy DIR [--sizes main] [--only KIND] [--csv FILE]``: the
folder is one that ``sample_images/render/make_accuracy.py`` filled, ``truth.csv`` in it. Every
bloom is measured twice, with its form told and not told; printing was not read with a ruler. One
table per size, by kind, form, colour, background, light, distance, tilt, way of holding and way of
building; then the bars. Exits 1 when a bar is missed, or when too little was measured to judge it.
"""

from __future__ import annotations

import argparse
import csv
import statistics
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

import cv2

from measure import MeasureError, read_marks
from photolog.comparing.wilson import wilson_interval
from photolog.photos.kinds import PhotoError
from tests.benchmarks.bench_samples import (
    MAIN,
    TRUTH,
    Result,
    doubts_in,
    measured,
    opened,
    results_of,
)

KNOWN, UNKNOWN = "form told", "form not told"

# Fewer measured photographs than this show nothing.
FEWEST = 30


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """One photograph measured in one way: its true row, its results, or why there are none."""

    row: dict[str, str]
    way: str
    results: tuple[Result, ...] = ()
    refused: str = ""
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """What is asked of one size: the median of |error|, and the worst that may go unflagged."""

    of: str
    way: str
    size: str
    median_percent: float
    worst_unflagged_percent: float | None = 8.0
    aim_percent: float | None = None


BARS = (
    Bar(of="bloom", way=KNOWN, size="widest_mm", median_percent=1.5, aim_percent=1.0),
    Bar(of="bloom", way=KNOWN, size="diameter_mm", median_percent=2.0),
    Bar(of="bloom", way=KNOWN, size="ring_mm", median_percent=2.0),
    Bar(of="bloom", way=UNKNOWN, size="widest_mm", median_percent=3.5),
    Bar(of="clump", way="", size="spread_mm", median_percent=1.5),
    Bar(of="clump", way="", size="area_cm2", median_percent=3.0),
    Bar(of="clump", way="", size="longest_tuber_mm", median_percent=8.0,
        worst_unflagged_percent=None),
)  # fmt: skip

# Tubers: up to nine exact and within one; ten and more within two.
COUNT_BARS = (("up to 9", 0, 0.75), ("up to 9", 1, 0.95), ("10 to 15", 2, 0.80))


def band(edges: Iterable[float], unit: str) -> Callable[[str], str]:
    """Names the band that a number falls in."""
    known = sorted(edges)

    def name(value: str) -> str:
        below = [e for e in known if e <= float(value)]
        above = [e for e in known if e > float(value)]
        if not above:
            return f"from {below[-1]:g} {unit}"
        return f"{below[-1] if below else 0:g} to {above[0]:g} {unit}"

    return name


def in_order(group: str) -> tuple[float, str]:
    """Sorts bands by where they begin, and other groups by name."""
    numbers = [float(word) for word in group.split() if word.replace(".", "").isdigit()]
    return (numbers[0] if numbers else 0.0, group)


STRATA: dict[str, tuple[str, Callable[[str], str]]] = {
    "form": ("form", str),
    "colour": ("colour", str),
    "background": ("background", str),
    "light": ("light", str),
    "distance": ("distance_mm", band((0, 400, 550, 700), "mm")),
    "tilt": ("tilt_deg", band((0, 6, 12, 18), "degrees")),
    "held": ("held", str),
    "built": ("build", str),
    "tubers in view": ("tubers_visible", band((0, 6, 10), "tubers")),
}
"""Heading, column of truth.csv, and how its values are grouped."""


def taken(row: dict[str, str], path: Path) -> list[Take]:
    """One photograph measured in each way; a bloom with its form told, and not told."""
    ways = (KNOWN, UNKNOWN) if row["subject"] == "bloom" else ("",)
    try:
        picture, optics = opened(path)
    except PhotoError as error:
        return [Take(row=row, way=way, refused=f"can't be opened: {error}") for way in ways]
    marks = read_marks(picture)
    made = []
    for way in ways:
        told = row if way != UNKNOWN else {**row, "form": ""}
        try:
            found = measured(told, picture, marks, optics)
        except MeasureError as error:
            made.append(Take(row=row, way=way, refused=error.reason))
            continue
        made.append(
            Take(
                row=row,
                way=way,
                results=tuple(results_of(row, found)),
                doubts=tuple(doubts_in(found)),
            )
        )
    return made


def percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:4.0f} %" if whole else "     -"


def line(label: str, takes: list[Take], size: str) -> str:
    """One line of a table: how many, refused, flagged, the errors, and intervals that hold."""
    results = [r for t in takes for r in t.results if r.name == size]
    refused = sum(bool(t.refused) for t in takes)
    start = f"  {label:22s} {len(takes):4d} {refused:4d}"
    if not results:
        return f"{start}      -"
    errors = [abs(r.error_percent) for r in results]
    sure = [abs(r.error_percent) for r in results if not r.doubted]
    inside = sum(r.inside for r in results)
    flagged = percent(len(results) - len(sure), len(results))
    worst = f"{max(sure):6.1f}" if sure else "     -"
    return (
        f"{start} {flagged} {statistics.median(errors):8.1f} {worst:>9s} {max(errors):8.1f}"
        f"   {inside:3d} of {len(results):3d} {percent(inside, len(results))}"
    )


HEAD = (
    f"  {'':22s} {'all':>4s} {'ref.':>4s} {'flag.':>6s} {'median':>8s} {'unflag.':>9s}"
    f" {'worst':>8s}   interval holds the truth"
)


def print_summary(takes: list[Take]) -> None:
    """One line for each kind, way and size."""
    print("\nall sizes: |error| in per cent")
    print(HEAD)
    for of, names in TRUTH.items():
        for way in (KNOWN, UNKNOWN) if of == "bloom" else ("",):
            mine = [t for t in takes if t.row["subject"] == of and t.way == way]
            if mine:
                print(f" {of}{f', {way}' if way else ''}")
            for size in names if mine else ():
                if size != "tubers":
                    print(line(size, mine, size))


def print_tables(takes: list[Take], *, sizes: str) -> None:
    """A table for each size and way, by everything that varies."""
    for of, names in TRUTH.items():
        for way in (KNOWN, UNKNOWN) if of == "bloom" else ("",):
            mine = [t for t in takes if t.row["subject"] == of and t.way == way]
            if not mine:
                continue
            for size in names:
                if size == "tubers" or (sizes == "main" and size != MAIN[of]):
                    continue
                print(f"\n{of}, {size}{f', {way}' if way else ''}: |error| in per cent")
                print(HEAD)
                print(line("all", mine, size))
                for heading, (column, grouped) in STRATA.items():
                    groups = sorted(
                        {grouped(t.row[column]) for t in mine if t.row[column]}, key=in_order
                    )
                    if len(groups) < 2:
                        continue
                    print(f" {heading}")
                    for group in groups:
                        some = [
                            t for t in mine if t.row[column] and grouped(t.row[column]) == group
                        ]
                        print(line(group, some, size))


def bar_met(takes: list[Take], bar: Bar) -> bool:
    """Print whether a bar is met, and by what."""
    mine = [t for t in takes if t.row["subject"] == bar.of and t.way == bar.way]
    results = [r for t in mine for r in t.results if r.name == bar.size]
    label = f"{bar.of} {bar.size}{f', {bar.way}' if bar.way else ''}"
    if len(results) < FEWEST:
        print(f"  MISSED  {label}: measured in {len(results)} photographs only")
        return False
    median = statistics.median(abs(r.error_percent) for r in results)
    limit = bar.worst_unflagged_percent
    far = [] if limit is None else [
        r for r in results if not r.doubted and abs(r.error_percent) > limit
    ]  # fmt: skip
    met = median <= bar.median_percent and not far
    aim = "" if bar.aim_percent is None else f", aim {bar.aim_percent:g}"
    out = "" if limit is None else f"; unflagged beyond {limit:g} %: {len(far)}"
    print(
        f"  {'met   ' if met else 'MISSED'}  {label}: median {median:.2f} %"
        f" (bar {bar.median_percent:g}{aim}){out}"
    )
    for r in far:
        print(f"            {r.file} {r.error_percent:+.1f} %")
    return met


def counts_met(takes: list[Take]) -> bool:
    """Print how often tubers are counted right, and whether that is enough."""
    pairs = [
        (r.value - r.true, r)
        for t in takes
        for r in t.results
        if t.way == "" and r.name == "tubers"
    ]
    met = True
    for label, off, share in COUNT_BARS:
        mine = [abs(d) for d, r in pairs if (r.true <= 9) == (label == "up to 9")]
        good = sum(round(d) <= off for d in mine)
        low, high = wilson_interval(good, len(mine)) if mine else (0.0, 1.0)
        enough = bool(mine) and good >= share * len(mine)
        met &= enough
        word = "exact" if off == 0 else f"within {off}"
        print(
            f"  {'met   ' if enough else 'MISSED'}  tubers, {label}: {word} in {good}"
            f" of {len(mine)}"
            f" ({100 * low:.0f} to {100 * high:.0f} %; bar {100 * share:.0f} %)"
        )
    held = sum(r.inside for _, r in pairs)
    print(f"          tubers: interval holds the truth in {held} of {len(pairs)}")
    return met


def print_bars(takes: list[Take]) -> bool:
    """Print every bar; whether all are met."""
    print("\nbars")
    kinds = {t.row["subject"] for t in takes}
    met = [bar_met(takes, bar) for bar in BARS if bar.of in kinds]
    if "clump" in kinds:
        met.append(counts_met(takes))
    for way in sorted({t.way for t in takes}):
        main = [r for t in takes if t.way == way for r in t.results if r.name == MAIN[r.of]]
        inside = sum(r.inside for r in main)
        if main:
            low, high = wilson_interval(inside, len(main))
            print(
                f"          95 % intervals of the main size ({way or 'clumps'}) hold the truth in"
                f" {inside} of {len(main)} ({100 * low:.0f} to {100 * high:.0f} %)"
            )
    return bool(met) and all(met)


def print_refused(takes: list[Take]) -> None:
    reasons: dict[str, list[str]] = {}
    for take in takes:
        if take.refused and take.way != UNKNOWN:
            reasons.setdefault(take.refused, []).append(take.row["file"].split(".")[0])
    print(f"\nrefused: {sum(map(len, reasons.values()))} photographs")
    for reason, files in sorted(reasons.items(), key=lambda pair: -len(pair[1])):
        print(f"  {len(files):3d}  {reason}  {' '.join(files)}")
    flags: dict[str, int] = {}
    for take in takes:
        for doubt in take.doubts if take.way != UNKNOWN else ():
            flags[doubt] = flags.get(doubt, 0) + 1
    print("flags:", ", ".join(f"{n} × {flag}" for flag, n in sorted(flags.items())) or "none")


def write_csv(into: Path, takes: list[Take]) -> None:
    """One line for each size of each photograph and way, for looking into."""
    with into.open("w", newline="", encoding="utf-8") as out:
        table = csv.writer(out, lineterminator="\n")
        table.writerow(("file", "way", "size", "value", "true", "error_percent", "inside", "flags"))
        for take in takes:
            if take.refused:
                table.writerow((take.row["file"], take.way, "", "", "", "", "", take.refused))
            for r in take.results:
                table.writerow(
                    (r.file, take.way, r.name, f"{r.value:.2f}", f"{r.true:.2f}",
                     f"{r.error_percent:.2f}", int(r.inside), "; ".join(take.doubts))
                )  # fmt: skip


def rows_in(folder: Path, only: str | None) -> list[dict[str, str]]:
    """The rows of truth.csv whose photograph is there."""
    with (folder / "truth.csv").open(newline="", encoding="utf-8") as table:
        rows = [r for r in csv.DictReader(table) if only in (None, r["subject"])]
    return [r for r in rows if (folder / r["folder"] / r["file"]).exists()]


def main() -> int:
    """Measure every photograph of the folder that there is."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("--sizes", choices=("all", "main"), default="all")
    parser.add_argument("--only", choices=tuple(TRUTH))
    parser.add_argument("--csv", type=Path, help="file for one line a size of each photograph")
    options = parser.parse_args()
    cv2.setNumThreads(1)
    rows = rows_in(options.folder, options.only)
    takes = [
        take for row in rows for take in taken(row, options.folder / row["folder"] / row["file"])
    ]
    print(f"{len(rows)} photographs: {sum(r['subject'] == 'bloom' for r in rows)} blooms,"
          f" {sum(r['subject'] == 'clump' for r in rows)} clumps")  # fmt: skip
    if options.csv is not None:
        write_csv(options.csv, takes)
    print_summary(takes)
    print_tables(takes, sizes=options.sizes)
    print_refused(takes)
    return 0 if print_bars(takes) else 1


if __name__ == "__main__":
    sys.exit(main())
