"""What the benchmark over the sample photographs calls met: never having shown nothing."""

import pytest

from tests.benchmarks.bench_samples import MAIN, Result, Run, report


def results(of: str, *, count: int, flagged: int = 0, error: float = 0.01) -> list[Result]:
    return [
        Result(
            file=f"LF{i}.JPG",
            of=of,
            name=MAIN[of],
            value=100.0 * (1.0 + error),
            true=100.0,
            inside=True,
            doubted=i < flagged,
        )
        for i in range(count)
    ]


def run_of(*found: list[Result], ratios: dict[str, float] | None = None) -> Run:
    return Run(
        results=[one for several in found for one in several],
        measured_without_card=[],
        refused=[],
        ratios=ratios or {},
    )


def test_enough_good_ones_of_both_kinds_are_met(capsys: pytest.CaptureFixture[str]) -> None:
    assert report(run_of(results("bloom", count=8), results("clump", count=12, flagged=4)))
    said = capsys.readouterr().out
    assert "0 of 8 flagged" in said
    assert "4 of 12 flagged" in said
    assert "MISSED" not in said


@pytest.mark.parametrize(
    "run",
    [
        run_of(),
        run_of(results("clump", count=12)),
        run_of(results("bloom", count=12)),
        run_of(results("bloom", count=12, flagged=12), results("clump", count=12)),
        run_of(results("bloom", count=7), results("clump", count=12)),
        run_of(results("bloom", count=12), results("clump", count=12, flagged=5)),
        run_of(results("bloom", count=12), results("clump", count=12, error=0.03)),
        run_of(results("bloom", count=30), results("clump", count=1, error=0.09)),
    ],
    ids=[
        "nothing at all",
        "no bloom",
        "no clump",
        "all flagged",
        "few",
        "few unflagged",
        "median",
        "one and wrong",
    ],
)
def test_what_shows_nothing_or_is_wrong_is_missed(
    run: Run, capsys: pytest.CaptureFixture[str]
) -> None:
    assert not report(run)
    assert "MISSED" in capsys.readouterr().out


def test_one_unflagged_that_is_far_out_is_missed() -> None:
    clumps = [*results("clump", count=12), *results("clump", count=1, error=-0.085)]
    assert not report(run_of(results("bloom", count=12), clumps))


def test_the_time_is_told_but_decides_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    good = run_of(
        results("bloom", count=8), results("clump", count=8), ratios={"bloom": 5.0, "clump": 19.0}
    )
    assert report(good)
    said = capsys.readouterr().out
    assert "clump: 19.0 times cv2.imdecode's (later aim 8: not met yet)" in said
    assert "bloom: 5.0 times cv2.imdecode's (later aim 8: met)" in said
