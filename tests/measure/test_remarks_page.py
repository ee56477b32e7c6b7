"""The page of remarks says what the program says."""

from pathlib import Path

from measure.colour_names import COLOUR_WORDS
from measure.quality import REFUSALS, SENTENCES

DOCS = Path(__file__).parent.parent.parent / "docs"


def test_every_remark_and_refusal_stands_on_the_page_as_it_is_said():
    page = (DOCS / "remarks.md").read_text(encoding="utf-8")
    for short, (sentence, remedy) in (SENTENCES | REFUSALS).items():
        assert f"| {short.value} | {sentence} | {remedy} |" in page
    rows = [
        line for line in page.splitlines() if line.startswith("| ") and "short name" not in line
    ]
    assert len(rows) == len(SENTENCES) + len(REFUSALS)


def test_every_colour_word_stands_on_the_page():
    page = (DOCS / "colours.md").read_text(encoding="utf-8")
    for word in COLOUR_WORDS:
        assert word.word in page
