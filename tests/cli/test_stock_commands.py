"""The commands that keep the stock, from an empty folder to a divided clump."""

import pytest
from typer.testing import CliRunner

from photolog.cli.app import app


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Run a command in a fresh stock book's folder."""
    runner = CliRunner()
    assert runner.invoke(app, ["start", str(tmp_path / "garden")]).exit_code == 0
    monkeypatch.chdir(tmp_path / "garden")

    def call(*words):
        return runner.invoke(app, list(words))

    return call


@pytest.fixture
def planted(run):
    run("variety", "Tin Orchard", "--form", "decorative")
    for tag in ("11", "12"):
        done = run("plant", "Tin Orchard", "--tag", tag, "--since", "2025-11-08")
        assert done.exit_code == 0, done.stderr
    return run


def test_a_plant_is_listed_with_its_printed_tag(planted):
    assert "0011-N" in planted("stock").stdout


def test_one_line_enters_a_day_for_many(planted):
    done = planted("did", "lifted", "11-12", "--on", "2026-05-16")
    assert done.exit_code == 0
    assert "lifted" in planted("day-book", "12").stdout


def test_a_wrong_check_letter_is_refused_with_the_right_one(planted):
    done = planted("did", "lifted", "11-X", "--on", "2026-05-16")
    assert done.exit_code == 1
    assert done.stderr.startswith("Error: ")
    assert "N" in done.stderr


def test_an_unknown_variety_offers_the_nearest(planted):
    done = planted("plant", "Tin Orchid", "--tag", "13", "--since", "2025-11-08")
    assert done.exit_code == 1
    assert "Tin Orchard" in done.stderr


def test_a_tray_is_one_tag_and_a_count_and_can_be_split(planted):
    planted(
        "batch", "Tin Orchard", "--count", "40", "--kind", "pot tubers",
        "--tag", "101", "--since", "2026-06-06",
    )  # fmt: skip
    done = planted("split", "101", "--tags", "102-104", "--on", "2026-09-12")
    assert done.exit_code == 0, done.stderr
    assert "37 left in the batch." in done.stdout


def test_splitting_off_more_than_there_are_is_refused(planted):
    planted(
        "batch", "Tin Orchard", "--count", "4", "--kind", "pot tubers",
        "--tag", "101", "--since", "2026-06-06",
    )  # fmt: skip
    done = planted("split", "101", "--count", "5", "--on", "2026-09-12")
    assert done.exit_code == 1
    assert "4" in done.stderr


def test_a_day_that_is_none_is_refused(planted):
    done = planted("did", "lifted", "11", "--on", "2026-02-30")
    assert done.exit_code == 2
    assert "2026-02-30" in done.stderr


def test_tags_carry_the_varieties_name(planted, tmp_path):
    done = planted("tags", "11-14", "--out", str(tmp_path / "t.pdf"))
    assert done.exit_code == 0, done.stderr
    assert (tmp_path / "t.pdf").read_bytes().startswith(b"%PDF")


def test_a_ruler_reading_is_kept(planted):
    done = planted("ruler", "bench-1", "--on", "2026-05-02", "--across", "99.5", "--along", "99.8")
    assert done.exit_code == 0, done.stderr
    assert "99.5 mm across" in done.stdout


def test_what_is_told_later_is_kept(planted):
    planted("did", "planted out", "11-12", "--on", "2025-11-08")
    told = planted("grown", "11", "--season", "2025", "--disbudded", "--stems", "6")
    assert told.stdout.startswith("Tin Orchard, season 2025: disbudded, 6 stems"), told.stderr
    named = planted("rename", "Tin Orchard", "--to", "Pewter Orchard", "--on", "2026-09-01")
    assert named.exit_code == 0, named.stderr
    assert "Pewter Orchard" in planted("stock").stdout


def test_how_a_plant_grew_in_a_season_that_it_had_not_is_refused(planted):
    told = planted("grown", "11", "--season", "2019", "--disbudded")
    assert told.exit_code == 1
    assert "0011-N" in told.stderr
    assert "2019" in told.stderr


def test_a_tag_is_handed_on(planted):
    planted("plant", "Tin Orchard", "--tag", "13", "--since", "2025-11-08")
    done = planted("hand-on", "11", "--to", "13", "--on", "2026-06-01")
    assert done.exit_code == 0, done.stderr
    assert "0011-N is on Tin Orchard" in done.stdout


@pytest.mark.parametrize("words", [("hand-on", "11", "--to", "13"), ("tag-off", "11")])
def test_a_tag_does_not_move_on_a_day_still_to_come(planted, words):
    planted("plant", "Tin Orchard", "--tag", "13", "--since", "2025-11-08")
    before = planted("stock").stdout
    done = planted(*words, "--on", "2099-01-01")
    assert (done.exit_code, done.stdout) == (1, "")
    assert "2099-01-01 is still to come" in done.stderr
    assert planted("stock").stdout == before


def test_without_a_stock_book_the_sentence_says_what_to_do(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PHOTOLOG_BOOK", raising=False)
    done = CliRunner().invoke(app, ["stock"])
    assert done.exit_code == 1
    assert "photolog start DIR" in done.stderr


@pytest.fixture
def tray(planted):
    done = planted(
        "batch", "Tin Orchard", "--count", "40", "--kind", "pot tubers",
        "--tag", "101", "--since", "2026-06-06",
    )  # fmt: skip
    assert done.exit_code == 0, done.stderr
    return planted


def test_the_day_book_says_how_many_and_why_within_the_line(tray):
    note = "at the bottom of the tray where the sand stayed wet, the rest looks sound and is dry"
    done = tray(
        "did", "lost", "101", "--count", "3", "--cause", "rotted",
        "--on", "2026-07-01", "--note", note,
    )  # fmt: skip
    assert done.exit_code == 0, done.stderr
    assert "lost 3, rotted" in done.stdout
    tray("did", "found to be the same as", "11-12", "--on", "2026-07-02", "--note", "x" * 90)
    lines = tray("day-book").stdout.splitlines()
    assert any("lost 3, rotted" in line for line in lines)
    assert max(map(len, lines)) <= 80
    notes_begin = lines[0].index("note")
    assert note in " ".join(line[notes_begin:].strip() for line in lines[2:])


def test_a_day_still_to_come_is_refused_and_takes_nothing(tray):
    done = tray("did", "lost", "101", "--count", "3", "--cause", "rotted", "--on", "2031-01-05")
    assert done.exit_code == 1
    assert "2031-01-05 is still to come" in " ".join(done.stderr.split())
    assert "Nothing entered yet" in tray("day-book").stdout


def test_a_division_is_struck_out_with_its_pieces(planted):
    done = planted("divide", "11", "--into", "11,61", "--on", "2026-09-12")
    assert done.exit_code == 0, done.stderr
    gone = planted("strike-out", "1")
    assert gone.exit_code == 0, gone.stderr
    assert "divided: 0011-N." in gone.stdout
    assert "0061" not in planted("stock").stdout
