"""What the tests of worker processes have them do; importable from a fresh process."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from photolog.photos.thumbnails import save_jpeg


def doubled(n: int) -> int:
    return 2 * n


def fails_on_three(n: int) -> int:
    if n == 3:
        msg = "three"
        raise ValueError(msg)
    return n


def dies_on_three(n: int) -> int:
    if n == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    return n


def saves_a_small_picture(dest: Path) -> int:
    """Save the same small picture 100 times, once two processes are at it; how often it went."""
    here = dest.with_suffix(f".{os.getpid()}")
    here.touch()
    until = time.monotonic() + 20.0
    while len(list(dest.parent.iterdir())) < 2 and time.monotonic() < until:
        time.sleep(0.001)
    for _ in range(100):
        save_jpeg(np.full((60, 80, 3), 90, np.uint8), dest)
    return 100


def threads(_: int) -> tuple[str | None, int]:
    import cv2

    return os.environ.get("OPENBLAS_NUM_THREADS"), cv2.getNumThreads()


def writes_its_number_and_sleeps(folder: Path) -> int:
    (folder / str(os.getpid())).touch()
    time.sleep(60)
    return 0


def orphans_after_kill(folder: Path) -> list[int]:
    """Kill a program whose workers are busy; which of the workers are there a while later."""
    code = (
        "from pathlib import Path\n"
        "from photolog.book.workers import run_in_workers\n"
        "from tests.book.jobs import writes_its_number_and_sleeps\n"
        f"jobs = [Path({str(folder)!r})] * 2\n"
        "list(run_in_workers(writes_its_number_and_sleeps, jobs, workers=2))"
    )
    program = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2])
    for _ in range(400):
        if len(list(folder.iterdir())) == 2:
            break
        time.sleep(0.05)
    workers = [int(file.name) for file in folder.iterdir()]
    program.kill()
    program.wait()
    for _ in range(100):
        left = [number for number in workers if _runs(number)]
        if not left:
            break
        time.sleep(0.05)
    return left


def _runs(number: int) -> bool:
    try:
        state = (
            Path(f"/proc/{number}/stat").read_text(encoding="ascii").rsplit(")", 1)[1].split()[0]
        )
    except FileNotFoundError:
        return False
    return state != "Z"
