"""Photos on the command line: taken in, waiting, decided, and a decision taken back."""

import json

import pytest
from typer.testing import CliRunner

from photolog.cli.app import app
from tests.sample_truth import SAMPLES


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Run a command in a stock book with one plant and one photo that waits."""
    runner = CliRunner()
    assert runner.invoke(app, ["start", str(tmp_path / "garden")]).exit_code == 0
    monkeypatch.chdir(tmp_path / "garden")

    def call(*words):
        done = runner.invoke(app, list(words))
        assert done.exit_code == 0, done.stderr
        return done.stdout

    call("variety", "Tin Orchard")
    call("plant", "Tin Orchard", "--tag", "14", "--since", "2025-11-08")
    call("intake", str(SAMPLES / "autumn-2026" / "LF350397.JPG"))
    return call


def test_a_photo_without_a_tag_waits_with_its_reason(run):
    assert "LF350397.JPG" in run("waiting")


def test_a_decision_is_kept_and_taken_back_in_true_words(run):
    assert run("decide", "1", "14").strip() == "Photo 1: tag 0014."
    assert run("waiting").strip() == "Nothing waits."
    assert run("undecide", "1").startswith("Photo 1 waits again.")
    assert "LF350397.JPG" in run("waiting")


def test_no_line_is_wider_than_80(run):
    for command in (("waiting",), ("stock",), ("day-book",), ("clock",)):
        assert max(len(line) for line in run(*command).splitlines()) <= 80


def test_a_size_of_ones_own_is_entered_and_taken_back(run, tmp_path):
    # 1.5 mm and 1 % of 231 mm, as the root of the sum of squares, times 1.96.
    said = "Photo 1 (LF350397.JPG), tape or ring: spread 231 ± 5 mm.\n"
    assert run("by-hand", "1", "--spread-mm", "231") == said
    told = run("by-hand", "1", "--callipers", "300,300", "900,420")
    assert "callipers by hand: spread " in told
    drawn = tmp_path / "drawn.json"
    drawn.write_text("[[300, 300], [700, 280], [900, 420], [800, 700], [400, 640]]")
    assert "outline by hand: spread " in run("by-hand", "1", "--outline", str(drawn))
    kept = tmp_path / "kept.json"
    assert "points written to" in run("by-hand", "1", "--outline-to", str(kept))
    assert len(json.loads(kept.read_text())) > 5
    assert run("by-hand", "1", "--back") == "Photo 1 (LF350397.JPG): no size counts.\n"


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "Say one of: a tape or ring reading"),
        (("--spread-mm", "231", "--back"), "Say one of: a tape or ring reading"),
        (("--callipers", "300,300", "there"), "'there' is no place on the photo"),
        (("--widest-mm", "98"), "Of photo 1, clump, can be read off"),
        (("--outline", "book.sqlite3"), "book.sqlite3 is no JSON file of places"),
        (("--outline", "gone.json"), "no such file or folder: gone.json"),
        (("--outline-to", "kept.json"), "Photo 1 has no outline yet"),
    ],
)
def test_sizes_of_ones_own_that_can_not_be(run, words, says):
    done = CliRunner().invoke(app, ["by-hand", "1", *words])
    assert done.exit_code == 1
    assert says in done.stderr


def test_what_a_photo_shows_is_said(run):
    said = run("shows", "1", "bloom side", "--held", "behind")
    assert said == "Photo 1 (LF350397.JPG): bloom side, the card behind.\n"
    assert "depth 61" in run("by-hand", "1", "--depth-mm", "61")
