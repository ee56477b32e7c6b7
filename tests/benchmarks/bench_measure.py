"""Time and memory of measuring one 12-megapixel photo, against decoding it once.

    python -m tests.benchmarks.bench_measure

Three sample photographs of each kind are enlarged to 12 megapixels, given grain and written as
JPEG. The floor is ``cv2.imdecode`` of the same file in the same process, a worker as the program
starts them. Printed: seconds of processor time as multiples of it, by step; peak memory of a
process that measures one; what two workers gain over one with 24 photos, their start counted; and
whether one thread and two give the same to the last bit.
"""

from __future__ import annotations

import json
import multiprocessing
import statistics
import tempfile
import time
from dataclasses import asdict
from pathlib import Path

import cv2
import numpy as np

from measure import read_marks
from photolog.book.measure_photo import Figures, MeasureJob, Of, measure_photo
from photolog.book.workers import Lost, run_in_workers
from photolog.photos.decode import opened, upright_pixels
from tests.benchmarks.bench_samples import at_12_megapixels, decode_time_of

__all__ = ["main"]

_SAMPLES = Path(__file__).parents[2] / "sample_images"
_PHOTOS: dict[Of, tuple[str, ...]] = {
    "bloom": ("LF350203.JPG", "LF350204.JPG", "LF350241.JPG"),
    "clump": ("LF350113.JPG", "LF350117.JPG", "LF350393.JPG"),
}
_AIM, _BAR = 5.0, 8.0
_MEMORY_BAR_MB = 450.0
_GAIN_BAR = 1.8


def _enlarged(name: str, folder: Path) -> Path:
    """The sample at 12 megapixels, as a file."""
    (source,) = _SAMPLES.glob(f"*/{name}")
    target = folder / name
    large = at_12_megapixels(cv2.imread(str(source)))
    cv2.imwrite(str(target), large, [cv2.IMWRITE_JPEG_QUALITY, 92])
    return target


def _floor(path: Path) -> float:
    return decode_time_of(np.frombuffer(path.read_bytes(), np.uint8))


def _steps(job: MeasureJob) -> dict[str, float]:
    """Reading the file, finding the marks, and all: processor time in multiples of the floor's."""
    measure_photo(job)
    floor = _floor(job.path)
    start = time.process_time()
    with opened(job.path) as image:
        picture = upright_pixels(image)
    read = time.process_time()
    read_marks(picture)
    marked = time.process_time()
    measure_photo(job)
    done = time.process_time()
    seconds = {"reading": read - start, "marks": marked - read, "whole": done - marked}
    return {step: spent / floor for step, spent in seconds.items()}


def _ratios(jobs: list[MeasureJob]) -> list[dict[str, float]]:
    found = []
    for _, steps in run_in_workers(_steps, jobs, workers=1):
        assert not isinstance(steps, Lost), steps.because
        found.append(steps)
    return found


def _peak_mb(job: MeasureJob, answer: multiprocessing.Queue[float]) -> None:
    cv2.setNumThreads(1)
    measure_photo(job)
    # getrusage would tell the parent's peak as well, which a started process inherits.
    lines = Path("/proc/self/status").read_text().splitlines()
    (peak,) = (line for line in lines if line.startswith("VmHWM"))
    answer.put(int(peak.split()[1]) / 1024)


def _same_on_two_threads(job: MeasureJob) -> bool:
    found = []
    for threads in (1, 2):
        cv2.setNumThreads(threads)
        result = measure_photo(job)
        assert isinstance(result, Figures)
        found.append(json.dumps(asdict(result), default=str, sort_keys=True))
    return found[0] == found[1]


def _gain(jobs: list[MeasureJob]) -> float:
    seconds = []
    for workers in (1, 2):
        start = time.monotonic()
        for _ in run_in_workers(measure_photo, jobs, workers=workers):
            pass
        seconds.append(time.monotonic() - start)
    return seconds[0] / seconds[1]


def _said(value: float, bar: float, *, less: bool = True) -> str:
    met = value <= bar if less else value >= bar
    return "met" if met else "MISSED"


def main() -> None:
    """Print the table."""
    spawned = multiprocessing.get_context("spawn")
    with tempfile.TemporaryDirectory() as folder:
        jobs = [
            MeasureJob(path=_enlarged(name, Path(folder)), of=of)
            for of, names in _PHOTOS.items()
            for name in names
        ]
        for of in _PHOTOS:
            mine = [job for job in jobs if job.of == of]
            ratios = _ratios(mine)
            whole = statistics.median(r["whole"] for r in ratios)
            for step in ("reading", "marks", "whole"):
                print(f"{of:6s} {step:8s} {statistics.median(r[step] for r in ratios):5.1f} x")
            print(f"       at most {_BAR:.0f}, aim {_AIM:.0f}: {_said(whole, _BAR)}")
            answer: multiprocessing.Queue[float] = spawned.Queue()
            process = spawned.Process(target=_peak_mb, args=(mine[0], answer))
            process.start()
            peak = answer.get()
            process.join()
            print(f"       peak {peak:.0f} MB, at most {_MEMORY_BAR_MB:.0f}:", end=" ")
            print(_said(peak, _MEMORY_BAR_MB))
            same = all(_same_on_two_threads(job) for job in mine)
            print(f"       the same on one thread and on two: {'yes' if same else 'NO'}")
        gain = _gain(jobs * 4)
        print(f"two workers {gain:.2f} times as fast as one: {_said(gain, _GAIN_BAR, less=False)}")


if __name__ == "__main__":
    main()
