"""Photos on the command line: taken in, waiting, decided, and a decision taken back."""

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
    assert run("decide", "1", "14").strip() == "Photo 1: tag 14."
    assert run("waiting").strip() == "Nothing waits."
    assert run("undecide", "1").startswith("Photo 1 waits again.")
    assert "LF350397.JPG" in run("waiting")


def test_no_line_is_wider_than_80(run):
    for command in (("waiting",), ("stock",), ("day-book",), ("clock",)):
        assert max(len(line) for line in run(*command).splitlines()) <= 80
