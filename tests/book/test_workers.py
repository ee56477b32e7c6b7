import subprocess
import sys
import time

import pytest

from photolog.book.workers import Lost, Pace, Progress, run_in_workers
from tests.book import jobs


@pytest.mark.parametrize("workers", [0, 1, 2])
def test_results_come_in_order(workers):
    done = list(run_in_workers(jobs.doubled, range(7), workers=workers))
    assert done == [(n, 2 * n) for n in range(7)]


@pytest.mark.parametrize("workers", [0, 2])
def test_a_job_that_raises_does_not_stop_the_rest(workers):
    done = dict(run_in_workers(jobs.fails_on_three, range(6), workers=workers))
    assert done.pop(3) == Lost("The program failed on this photo (ValueError: three).")
    assert done == {n: n for n in (0, 1, 2, 4, 5)}


def test_a_job_that_kills_its_process_does_not_stop_the_rest():
    done = dict(run_in_workers(jobs.dies_on_three, range(9), workers=2))
    assert done.pop(3) == Lost("The photo made the program that reads it stop.")
    assert done == {n: n for n in (0, 1, 2, 4, 5, 6, 7, 8)}


def test_a_process_that_died_before_the_next_job_is_given_does_not_stop_the_rest():
    def late():
        for n in range(9):
            # By then the process that took the third job is known to have died.
            if n == 5:
                time.sleep(1.5)
            yield n

    done = dict(run_in_workers(jobs.dies_on_three, late(), workers=3))
    assert done.pop(3) == Lost("The photo made the program that reads it stop.")
    assert done == {n: n for n in (0, 1, 2, 4, 5, 6, 7, 8)}


def test_two_processes_save_one_small_picture_at_the_same_moment(tmp_path):
    small = tmp_path / "small.jpg"
    done = [made for _, made in run_in_workers(jobs.saves_a_small_picture, [small] * 2, workers=2)]
    assert done == [100, 100]
    assert not list(tmp_path.glob("*.part"))


def test_jobs_are_drawn_only_a_few_ahead():
    drawn = []

    def source():
        for n in range(30):
            drawn.append(n)
            yield n

    results = run_in_workers(jobs.doubled, source(), workers=2)
    next(results)
    assert len(drawn) <= 5
    results.close()


def test_workers_compute_on_one_thread_and_end_with_their_parent(tmp_path):
    seen = dict(run_in_workers(jobs.threads, [1], workers=1))[1]
    assert seen == ("1", 1)
    assert jobs.orphans_after_kill(tmp_path) == []


def test_pace_tells_speed_and_time_left():
    told: list[Progress] = []
    pace = Pace(4, told.append)
    pace.started -= 2.0
    pace.one_done("LF350112.JPG")
    assert (told[0].done, told[0].total, told[0].name) == (1, 4, "LF350112.JPG")
    assert told[0].per_second == pytest.approx(0.5, rel=0.1)
    assert told[0].seconds_left == pytest.approx(6.0, rel=0.1)


def test_workers_need_neither_database_nor_statistics():
    # Each took half as long to import again as all that measuring needs, in every process.
    asked = (
        "import sys, photolog.book.measure_photo, photolog.book.workers;"
        "print([m for m in ('sqlalchemy', 'scipy.stats', 'scipy.signal') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
