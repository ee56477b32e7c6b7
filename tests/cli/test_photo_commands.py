"""Photos on the command line: taken in, waiting, decided, and a decision taken back."""

import json

import pytest
import typer
from typer.testing import CliRunner

from photolog.cli.app import app
from photolog.cli.errors import user_errors
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
    call("intake", str(SAMPLES / "autumn-2026" / "LF350397.JPG"), "--no-measure")
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


def test_a_run_is_decided_at_once_and_taken_back(run):
    for name in ("LF350391.JPG", "LF350392.JPG"):
        run("intake", str(SAMPLES / "autumn-2026" / name), "--no-measure")
    assert run("decide", "1-3", "14").splitlines()[0] == "Photos 1-3: tag 0014."
    assert run("waiting").strip() == "Nothing waits."
    assert run("undecide", "2-3").startswith("Photo")
    assert run("decide", "1-3", "none", "--except", "2").startswith("Photos 1, 3: no plant.")
    back = run("undecide")
    assert "Photo 1: “Tin Orchard”, as decided before." in back
    run("undecide")
    done = CliRunner().invoke(app, ["undecide"])
    assert done.stderr == (
        "Error: No photo was decided by hand, so there is nothing to take back.\n"
    )


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("x", "14"), 2, "'x' is no number of a photo: write 3, 3-9, or 3,5,7-9"),
        (("3-1", "14"), 2, "'3-1' runs backwards"),
        (("1-99999999999", "14"), 2, "'1-99999999999' is too large for numbers of a photo"),
        (("9" * 25, "14"), 2, "is too large for numbers of a photo"),
        (("1", "14", "--except", "1"), 1, "No photo is left to decide: all of them are left out."),
        (("2026-05-17", "14"), 1, "Nothing of 2026-05-17 waits. photolog waiting lists"),
        (("2026-13-01", "14"), 2, "'2026-13-01' is no day"),
        (("1", "14,15"), 1, "1 photo of 1 plant, by their pauses, can't be laid along 2 tags"),
        (("1", "none", "--on", "2099-01-01"), 1, "2099-01-01 is still to come"),
        (("1", "box 3"), 1, "There is no box 3 in the stock book"),
        (("1", "sure"), 1, "None of these photos waits with a plant that is sure enough"),
        (("7", "14"), 1, "There is no photo 7"),
    ],
)
def test_decisions_that_can_not_be(run, words, code, says):
    done = CliRunner().invoke(app, ["decide", *words])
    assert done.exit_code == code
    assert says in " ".join(done.stderr.replace("│", " ").split())


@pytest.mark.parametrize(
    ("photos", "says"),
    [("7", "There is no photo 7 in"), ("1,7-9", "There are no photos 7-9 in the stock book.")],
)
def test_days_of_photos_that_are_not_there(run, photos, says):
    done = CliRunner().invoke(app, ["dated", photos, "--on", "2026-05-16"])
    assert done.exit_code == 1
    assert says in done.stderr


def test_a_closed_pager_is_told_nothing(capsys):
    with pytest.raises(typer.Exit, match=r"^1$"), user_errors():
        raise BrokenPipeError
    assert capsys.readouterr() == ("", "")


def test_what_waits_of_a_day_is_decided_by_the_day(run):
    assert run("decide", "2026-05-16", "14").splitlines()[0] == "Photo 1: tag 0014."
    assert run("waiting").strip() == "Nothing waits."


def test_an_entry_says_what_moved_by_it(run):
    run("plant", "Tin Orchard", "--tag", "15", "--since", "2025-11-08")
    taken = run("intake", str(SAMPLES / "autumn-2026" / "LF350394.JPG"), "--no-measure")
    assert "1 taken in" in taken
    # The photo is of tag 0013, which nothing wears yet.
    said = run("plant", "Tin Orchard", "--tag", "13", "--since", "2025-11-08")
    assert "1 photo no longer waits:\n    tag 0013 “Tin Orchard”: photo 2\n" in said
    lost = run("did", "lost", "13", "--on", "2026-01-03", "--cause", "rotted")
    assert "1 photo waits again:\n    was tag 0013 “Tin Orchard”: photo 2\n" in lost
    assert "1 photo no longer waits:" in run("strike-out", "1")
    moved = run("hand-on", "13", "--to", "15", "--on", "2026-02-01")
    assert "1 photo moved:\n    “Tin Orchard” → tag 0015 “Tin Orchard”: photo 2\n" in moved


def test_boxes_are_entered_listed_and_printed(run, tmp_path):
    assert run("boxes").startswith("No box is entered yet")
    assert run("box", "3", "--name", "blue crate", "--since", "2026-05-16") == (
        "Box 3 (blue crate), since 2026-05-16.\n"
    )
    assert "box 3  blue crate  2026-05-16       0" in run("boxes")
    run("decide", "1", "14+box 3")
    assert "box 3  blue crate  2026-05-16       1" in run("boxes")
    out = tmp_path / "boxes.pdf"
    assert run("box-tags", "1-3", "--out", str(out)) == f"Wrote {out}: 3 box tags.\n"
    assert out.read_bytes().startswith(b"%PDF")


def test_a_box_is_not_entered_for_a_day_still_to_come(run):
    done = CliRunner().invoke(app, ["box", "3", "--since", "2099-01-01"])
    assert (done.exit_code, done.stdout) == (1, "")
    assert done.stderr.startswith("Error: 2099-01-01 is still to come")
    assert run("boxes").startswith("No box is entered yet")


def test_the_waiting_list_as_a_page(run, tmp_path):
    page = tmp_path / "waiting.html"
    assert f"Wrote {page}." in run("waiting", "--html", str(page))
    assert "LF350397.JPG, photo 1" in page.read_text()
