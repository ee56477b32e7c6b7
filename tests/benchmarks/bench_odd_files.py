"""Spoilt photo files of every kind through the reading of dates and pictures: run by hand.

``python -m tests.benchmarks.bench_odd_files [--count 20800] [--seed 1] [--workers 2]``: prints how
many had a date, had none and were refused, by way of spoiling, and the slowest. Each worker's
mutants are read in a process of its own, which is watched: one that ends, or takes more than 2 s of
processor time over a file (or 20 s by the clock, when it is stopped), has found a fault. Exits 1
for a crash, a hang, an exception other than ``PhotoError``, or a date that the file's own bytes
don't hold.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path

from photolog.photos.decode import open_upright
from photolog.photos.exif import read_taken
from photolog.photos.hashes import content_sha256
from photolog.photos.kinds import PhotoError
from tests.photos.mutants import Mutant, dates_held, mutants

NOW = datetime(2026, 7, 1, tzinfo=UTC)
HANG_S, STOPPED_AFTER_S = 2.0, 20.0
FAULTS = ("crash", "hang", "exception", "foreign date")

Told = tuple[int, str, str, str, str, float, float]
"""Number, kind, way, what became of it, details, seconds for the date, seconds for all."""


def read(mutant: Mutant, folder: Path) -> tuple[str, str, float, float]:
    """What becomes of one mutant: its date first, then its picture."""
    path = folder / mutant.name
    path.write_bytes(mutant.data)
    begun = time.process_time()
    try:
        taken = read_taken(path, now=NOW)
        outcome, details = ("date", str(taken.taken_at)) if taken.taken_at else ("no date", "")
        if taken.taken_at is not None and taken.taken_at not in dates_held(mutant.data):
            outcome = "foreign date"
    except PhotoError:
        outcome, details = "refused", ""
    except Exception as error:
        outcome, details = "exception", f"{type(error).__name__}: {error}"[:120]
    for_date = time.process_time() - begun
    try:
        open_upright(path)
        content_sha256(path)
    except PhotoError:
        pass
    except Exception as error:
        outcome, details = "exception", f"{type(error).__name__}: {error}"[:120]
    path.unlink()
    return outcome, details, for_date, time.process_time() - begun


def work(pipe: Connection, count: int, seed: int, start: int, step: int) -> None:
    """Read every ``step``-th mutant from ``start`` on; say before each which, and then what."""
    with tempfile.TemporaryDirectory() as folder:
        for mutant in mutants(count=count, seed=seed, only=(start, step)):
            pipe.send(("begun", mutant.number, mutant.kind, mutant.way))
            outcome = read(mutant, Path(folder))
            pipe.send(("done", mutant.number, mutant.kind, mutant.way, *outcome))
    pipe.send(("end",))


def watched(count: int, seed: int, worker: int, workers: int) -> Iterator[Told]:
    """What became of one worker's mutants, its process begun again after each crash or hang."""
    start = worker
    while start < count:
        ours, theirs = multiprocessing.Pipe(duplex=False)
        context = multiprocessing.get_context("spawn")
        process = context.Process(target=work, args=(theirs, count, seed, start, workers))
        process.start()
        theirs.close()
        now = (start, "", "")
        fault = ""
        while not fault:
            # The first word comes after the process has loaded its libraries.
            if not ours.poll(60.0 if not now[1] else STOPPED_AFTER_S):
                fault = "hang"
                break
            try:
                told = ours.recv()
            except EOFError:
                fault = "crash"
                break
            if told[0] == "end":
                process.join()
                return
            now = told[1:4]
            if told[0] == "done":
                yield told[1:]
        process.kill()
        process.join()
        yield *now, fault, f"exit code {process.exitcode}", HANG_S, HANG_S
        start = now[0] + workers


def gathered(args: tuple[int, int, int, int]) -> list[Told]:
    """All of one worker's."""
    return list(watched(*args))


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=20_800)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    begun = time.monotonic()
    jobs = [(asked.count, asked.seed, worker, asked.workers) for worker in range(asked.workers)]
    with ThreadPoolExecutor(asked.workers) as pool:
        told = [one for part in pool.map(gathered, jobs) for one in part]
    by_way: dict[str, Counter[str]] = defaultdict(Counter)
    for _, _, way, outcome, *_ in told:
        by_way[way][outcome] += 1
    columns = ("date", "no date", "refused", *FAULTS)
    print(f"{'way':<36}" + "".join(f"{name:>13}" for name in columns))
    for way, found in by_way.items():
        print(f"{way:<36}" + "".join(f"{found[name]:>13}" for name in columns))
    faults = [one for one in told if one[3] in FAULTS]
    slow = [one for one in told if one[5] > HANG_S or one[6] > HANG_S]
    for one in faults[:20]:
        print("fault:", one)
    for what, column in (("date", 5), ("date and picture", 6)):
        slowest = max(told, key=lambda one: one[column])
        print(f"slowest, {what}: {slowest[column]:.2f} s ({slowest[1]}, {slowest[2]})")
    print(
        f"{len(told)} mutants of {len({one[1] for one in told})} kinds in "
        f"{time.monotonic() - begun:.0f} s: {len(faults)} faults, {len(slow)} over {HANG_S:g} s"
    )
    return 1 if faults or slow or len(told) < asked.count else 0


if __name__ == "__main__":
    sys.exit(main())
