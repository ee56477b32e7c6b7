"""The main job on the sample photographs, end to end: who matched what, and how long it takes.

Run by hand: ``python -m tests.benchmarks.bench_main_job``. Each step's time is printed as a ratio
to a floor measured in the same run: reading the files and decoding them with ``cv2.imdecode``.
Exits 1 when a photo landed on a wrong plant or one without a card was measured.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import cv2
import numpy as np

from photolog.book import StockBook, history, intake, matching, measuring, seasons
from photolog.comparing.wilson import wilson_interval
from photolog.demo import garden, showing
from tests.sample_truth import SAMPLES, TRUTH

__all__ = ["main"]


def _floor_s() -> float:
    """Reading every sample photograph and decoding it, on one core."""
    cv2.setNumThreads(1)
    files = [SAMPLES / name for name in TRUTH]
    started = time.perf_counter()
    for file in files:
        cv2.imdecode(np.frombuffer(file.read_bytes(), np.uint8), cv2.IMREAD_COLOR)
    return time.perf_counter() - started


def _time(name: str, step: Callable[[], object], *, floor_s: float) -> None:
    started = time.perf_counter()
    step()
    took = time.perf_counter() - started
    print(f"  {name:<12}{took:7.2f} s   {took / floor_s:6.1f} x floor")


def _judge(book: StockBook) -> int:
    """Print how the matches stand against the truth; the number of wrong ones."""
    truth = {row["file"]: row for row in TRUTH.values()}
    matched = matching.matched(book)
    wrong = [photo.name for photo in matched if photo.tag != int(truth[photo.name]["tag"] or 0)]
    expected = [row["file"] for row in truth.values() if row["expect_match"] == "matched"]
    names = {photo.name for photo in matched}
    found = sum(name in names for name in expected)
    low, high = wilson_interval(found, len(expected))
    reasons = ", ".join(f"{n} by {why}" for why, n in Counter(p.reason for p in matched).items())
    print(f"matched {len(matched)} ({reasons}); wrong {len(wrong)} {wrong or ''}")
    print(
        f"of {len(expected)} that have enough to go by, {found} matched "
        f"({100 * low:.0f} to {100 * high:.0f} %)"
    )
    for photo in matching.waiting(book):
        first = photo.candidates[0].tag if photo.candidates else None
        true = truth[photo.name]["tag"].lstrip("0")
        print(f"waiting: {photo.name}, true tag {true}, first candidate {first}")
    return len(wrong)


def _without_card(book: StockBook) -> int:
    truth = {row["file"]: row for row in TRUTH.values()}
    return sum(
        1
        for tag in (*garden.CLUMPS, *garden.SEEDLINGS, garden.TRAY[0])
        for photo in history.of_tag(book, tag).photos
        if photo.record.measured is not None
        and not photo.record.measured.refused
        and not truth[photo.record.name]["card"]
    )


def main() -> int:
    """Run the demo garden's main job step by step; the exit code."""
    floor_s = _floor_s()
    print(f"floor: reading and decoding {len(TRUTH)} files once, one core: {floor_s:.2f} s")
    with (
        tempfile.TemporaryDirectory() as scratch,
        StockBook.start(Path(scratch) / "garden") as book,
    ):
        showing.fill_garden(book)
        now = showing.today_of_the_garden()
        folders = showing.sample_folders()
        steps: dict[str, Callable[[], object]] = {
            "intake": lambda: intake.take_in(book, folders, now=now),
            "matching": lambda: matching.match_all(book),
            "measuring": lambda: measuring.measure_all(book),
            "comparing": lambda: seasons.compare(book),
            "pages": lambda: showing.write_pages(book, Path(scratch)),
        }
        for name, step in steps.items():
            _time(name, step, floor_s=floor_s)
        wrong = _judge(book)
        cardless = _without_card(book)
    print(f"measured without a card: {cardless}")
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"largest worker: {peak:.0f} MB")
    return 1 if wrong or cardless else 0


if __name__ == "__main__":
    sys.exit(main())
