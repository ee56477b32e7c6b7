"""Work on many photos in processes of their own, so that one bad photo never stops the rest."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing.connection import wait
from typing import TypeVar

__all__ = ["Lost", "OnProgress", "Pace", "Progress", "run_in_workers"]

Job = TypeVar("Job")
Result = TypeVar("Result")

# Numerical libraries start a thread a core unless told otherwise, and get in each other's way.
_ONE_THREAD = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a run over many photos is; ``seconds_left`` None before the first is done."""

    done: int
    total: int
    name: str
    per_second: float
    seconds_left: float | None


OnProgress = Callable[[Progress], None]


class Pace:
    """Counts photos done and tells whoever asked how fast it goes and how long it will take."""

    def __init__(self, total: int, on_progress: OnProgress | None) -> None:
        self.total = total
        self.done = 0
        self.on_progress = on_progress
        self.started = time.monotonic()

    def one_done(self, name: str) -> None:
        """One more photo is done, whatever became of it."""
        self.done += 1
        if self.on_progress is None:
            return
        per_second = self.done / max(self.seconds, 1e-6)
        left = max(self.total - self.done, 0)
        self.on_progress(
            Progress(
                done=self.done,
                total=self.total,
                name=name,
                per_second=per_second,
                seconds_left=left / per_second,
            )
        )

    @property
    def seconds(self) -> float:
        """Since the start."""
        return time.monotonic() - self.started


@dataclass(frozen=True, slots=True)
class Lost:
    """A job that ended its process or raised: what became of it, in words."""

    because: str


def run_in_workers(
    function: Callable[[Job], Result], jobs: Iterable[Job], *, workers: int
) -> Generator[tuple[Job, Result | Lost], None, None]:
    """Each job with its result, in order; jobs are drawn only a few ahead of the results.

    ``function`` and the jobs travel to processes started afresh ("spawn"), which compute on one
    thread each and end when this one ends. A job that raises, or kills its process (out of memory,
    a damaged file that crashes a decoder), comes back as ``Lost`` and the others go on. With
    ``workers`` 0 everything runs in this process.
    """
    if workers == 0:
        for job in jobs:
            yield job, _here(function, job)
        return
    waiting: deque[tuple[Job, Future[Result]]] = deque()
    ahead = 2 * workers
    source = iter(jobs)
    with _one_thread_each():
        pool = _pool(workers)
        try:
            for job in source:
                waiting.append((job, _given(pool, function, job)))
                if len(waiting) < ahead:
                    continue
                outcome = _outcome(waiting[0][1])
                if outcome is None:
                    pool.shutdown(wait=True, cancel_futures=True)
                    yield from _one_by_one(function, waiting)
                    pool = _pool(workers)
                else:
                    yield waiting.popleft()[0], outcome
            while waiting:
                outcome = _outcome(waiting[0][1])
                if outcome is None:
                    yield from _one_by_one(function, waiting)
                else:
                    yield waiting.popleft()[0], outcome
        finally:
            pool.shutdown(wait=True, cancel_futures=True)


def _one_by_one(
    function: Callable[[Job], Result], waiting: deque[tuple[Job, Future[Result]]]
) -> Generator[tuple[Job, Result | Lost], None, None]:
    """After a process died nobody knows which job it was: each again, alone."""
    pool = _pool(1)
    try:
        while waiting:
            job, future = waiting.popleft()
            outcome = _outcome(future)
            if outcome is None:
                outcome = _outcome(_given(pool, function, job))
            if outcome is None:
                pool.shutdown(wait=True, cancel_futures=True)
                pool = _pool(1)
                outcome = Lost("The photo made the program that reads it stop.")
            yield job, outcome
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _given(
    pool: ProcessPoolExecutor, function: Callable[[Job], Result], job: Job
) -> Future[Result]:
    """The job's future; it has failed already where a process died since the last was given."""
    try:
        return pool.submit(function, job)
    except BrokenProcessPool as broken:
        failed: Future[Result] = Future()
        failed.set_exception(broken)
        return failed


def _outcome(future: Future[Result]) -> Result | Lost | None:
    """What became of a job; None: its process died, its own fault or another's."""
    try:
        return future.result()
    except BrokenProcessPool:
        return None
    except MemoryError:
        return Lost("There is not enough memory for this photo.")
    except Exception as error:
        return _said(error)


def _here(function: Callable[[Job], Result], job: Job) -> Result | Lost:
    try:
        return function(job)
    except MemoryError:
        return Lost("There is not enough memory for this photo.")
    except Exception as error:
        return _said(error)


def _said(error: Exception) -> Lost:
    return Lost(f"The program failed on this photo ({type(error).__name__}: {error}).")


def _pool(workers: int) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(
        max_workers=workers,
        mp_context=multiprocessing.get_context("spawn"),
        initializer=_begin,
    )


def _begin() -> None:
    """In each new process: leave Ctrl-C to the one that started it, and end with that one."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    import cv2

    cv2.setNumThreads(1)


def _end_with_parent() -> None:
    # A pool's processes outlive a killed parent: they wait for a next job for ever.
    parent = multiprocessing.parent_process()
    if parent is not None:
        wait([parent.sentinel])
        os._exit(1)


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """New processes get these from the environment; they have to stand before numpy is imported."""
    before = {name: os.environ.get(name) for name in _ONE_THREAD}
    os.environ.update(dict.fromkeys(_ONE_THREAD, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value
