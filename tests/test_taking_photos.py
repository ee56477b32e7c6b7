"""What the page on taking photos says that photolog answers to its pictures is what it answers."""

import re
from pathlib import Path

import pytest
from PIL import Image

from measure import (
    SENTENCES,
    Flag,
    MeasureError,
    Measurement,
    measure_bloom,
    measure_clump,
    measure_seeds,
    read_marks,
)
from measure.side import measure_bloom_side
from tests.benchmarks.bench_samples import opened

DOCS = Path(__file__).parent.parent / "docs"
PAGE = (DOCS / "taking-photos.md").read_text(encoding="utf-8")

# A picture, and the quotation below it.
QUOTED = dict(re.findall(r"!\[[^\]]+\]\((pictures/[^)]+)\)\n\n((?:> .+\n)+)", PAGE))

# The page says that it leaves this remark out, as no ruler can be laid on a picture.
LEFT_OUT = {Flag.NO_RULER_READING}


def measured(path: Path) -> Measurement:
    picture, optics = opened(path)
    marks = read_marks(picture)
    if path.stem.startswith("clump"):
        return measure_clump(picture, marks=marks, optics=optics)
    if path.stem.startswith("seeds"):
        return measure_seeds(picture, marks=marks, optics=optics)
    if path.stem.startswith("bloom-side"):
        return measure_bloom_side(picture, marks=marks, optics=optics)
    held = "level" if path.stem == "bloom-card-apart" else "behind"
    return measure_bloom(picture, marks=marks, optics=optics, form="decorative", held=held)


def answer(path: Path) -> str:
    """The words that a grower gets for a picture, as the page quotes them."""
    try:
        made = measured(path)
    except MeasureError as error:
        return f"refused. {error.reason} {error.remedy}"
    remarks = [" ".join(SENTENCES[flag]) for flag in made.flags if flag not in LEFT_OUT]
    if not remarks:
        return "measured, nothing to remark."
    return "measured, with a remark. " + " ".join(remarks)


def test_every_picture_is_shown_with_an_answer() -> None:
    shown = re.findall(r"\]\((pictures/[^)]+)\)", PAGE)
    assert sorted(QUOTED) == sorted(shown)
    assert sorted(f"pictures/{p.name}" for p in (DOCS / "pictures").iterdir()) == sorted(shown)


@pytest.mark.parametrize("name", sorted(QUOTED))
def test_photolog_answers_as_the_page_says(name: str) -> None:
    quoted = " ".join(line.removeprefix("> ") for line in QUOTED[name].splitlines())
    assert quoted == f"**photolog:** {answer(DOCS / name)}"


def test_right_ones_are_measured_and_wrong_ones_are_not_passed_over() -> None:
    for name, quoted in QUOTED.items():
        assert ("nothing to remark" in quoted) == ("right" in name), name


def test_pictures_are_small_enough_for_a_page() -> None:
    for path in (DOCS / "pictures").iterdir():
        with Image.open(path) as image:
            assert max(image.size) <= 640, path.name
        assert path.stat().st_size <= 60_000, path.name
