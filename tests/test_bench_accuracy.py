"""What the accuracy benchmark says of made-up results: bars met, missed, and never by nothing."""

import pytest

from tests.benchmarks.bench_accuracy import (
    KNOWN,
    UNKNOWN,
    Take,
    band,
    in_order,
    line,
    print_bars,
    print_summary,
    print_tables,
)
from tests.benchmarks.bench_samples import TRUTH, Result

ROW = {
    "file": "BL0001.JPG", "subject": "bloom", "form": "ball", "colour": "red", "light": "sun",
    "background": "sky", "distance_mm": "480", "tilt_deg": "7", "held": "level",
    "build": "whorl", "tubers_visible": "",
}  # fmt: skip


def take(
    of: str,
    *,
    number: int = 1,
    way: str = KNOWN,
    error: float = 0.005,
    doubted: bool = False,
    off: int = 0,
    **row: str,
) -> Take:
    file = f"{of}{number}.JPG"
    results = tuple(
        Result(
            file=file,
            of=of,
            name=size,
            value=(6.0 + off) if size == "tubers" else 100.0 * (1 + error),
            true=6.0 if size == "tubers" else 100.0,
            inside=True,
            doubted=doubted,
        )
        for size in TRUTH[of]
    )
    return Take(row=ROW | {"file": file, "subject": of} | row, way=way, results=results)


def blooms(count: int, *, error: float = 0.005, doubted: bool = False) -> list[Take]:
    return [
        take("bloom", number=k, way=way, error=error, doubted=doubted)
        for k in range(count)
        for way in (KNOWN, UNKNOWN)
    ]


def clumps(count: int, *, error: float = 0.005, off: int = 0) -> list[Take]:
    ten = [take("clump", number=100 + k, way="", error=error, off=off) for k in range(count)]
    many = [
        Take(row=t.row, way="", results=tuple(
            Result(file=r.file, of=r.of, name=r.name, value=r.value + 6, true=r.true + 6,
                   inside=True, doubted=False) for r in t.results if r.name == "tubers"))
        for t in ten
    ]  # fmt: skip
    return ten + many


def test_good_ones_meet_every_bar(capsys: pytest.CaptureFixture[str]) -> None:
    assert print_bars(blooms(40) + clumps(40))
    assert "MISSED" not in capsys.readouterr().out


@pytest.mark.parametrize(
    "takes",
    [
        [],
        blooms(10),
        blooms(40, error=0.018),
        [*blooms(40), take("bloom", error=0.09)],
        [*blooms(40), take("bloom", error=-0.09, way=UNKNOWN)],
        clumps(40, error=0.016),
        clumps(40, off=1),
        [*clumps(40), *[take("clump", way="", off=-3)] * 3],
    ],
    ids=[
        "nothing",
        "too few",
        "median",
        "one far out unflagged",
        "one far out unflagged without its form",
        "median of clumps",
        "one tuber too many each time",
        "three counts far out",
    ],
)
def test_a_miss_is_said(takes: list[Take], capsys: pytest.CaptureFixture[str]) -> None:
    assert not print_bars(takes)
    if takes:
        assert "MISSED" in capsys.readouterr().out


def test_far_out_but_flagged_is_no_miss() -> None:
    assert print_bars([*blooms(40), take("bloom", error=0.2, doubted=True)])


def test_a_line_tells_refused_flagged_and_both_worst() -> None:
    takes = [
        take("bloom", error=0.01),
        take("bloom", error=-0.03),
        take("bloom", error=0.12, doubted=True),
        Take(row=ROW, way=KNOWN, refused="The picture is too blurred."),
    ]
    words = line("all", takes, "widest_mm").split()
    assert words == ["all", "4", "1", "33", "%", "3.0", "3.0", "12.0", "3", "of", "3", "100", "%"]


def test_bands_hold_their_lower_edge_and_sort_by_it() -> None:
    of_tilt = band((0, 6, 12), "degrees")
    names = {of_tilt(v) for v in ("0", "5.9", "6", "11", "12", "25")}
    assert sorted(names, key=in_order) == ["0 to 6 degrees", "6 to 12 degrees", "from 12 degrees"]
    assert of_tilt("6") == "6 to 12 degrees"


def test_tables_split_by_what_varies(capsys: pytest.CaptureFixture[str]) -> None:
    print_tables([take("bloom"), take("bloom", colour="white")], sizes="main")
    said = capsys.readouterr().out
    assert " colour\n" in said
    assert "  white" in said
    assert " light\n" not in said


def test_the_summary_has_a_line_for_every_size_of_each_way(
    capsys: pytest.CaptureFixture[str],
) -> None:
    print_summary([*blooms(2), take("clump", way="")])
    said = capsys.readouterr().out
    assert said.count("  widest_mm  ") == 2
    assert " bloom, form told\n" in said
    assert said.count("  spread_mm  ") == 1
    assert "tubers" not in said.replace("longest_tuber", "")
