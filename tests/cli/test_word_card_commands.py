"""Word cards from the command line: printed, listed, confirmed, put right, taken back."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from photolog.book import StockBook, daybook, matching, plants, varieties
from photolog.cli.app import app
from photolog.terms import EventKind
from tests.book.word_photos import WordShoot


@pytest.fixture
def said(book: StockBook):
    """Run a command on a book with a morning's photos: what it prints."""
    varieties.add(book, "Tin Orchard")
    for number in (11, 12, 13):
        plants.add(book, variety="Tin Orchard", since=date(2025, 10, 1), tag=number)
    daybook.enter(book, EventKind.PLANTED_OUT, on=date(2025, 11, 8), tags=[11, 12, 13])
    daybook.enter(book, EventKind.LOST, on=date(2026, 2, 1), tags=[13], cause="rotted")
    shoot = WordShoot(book, datetime(2026, 5, 16, 8, 30))
    shoot.shot(tags=(11,), words="lifted")
    shoot.shot(tags=(12,), words="lifted, eaten")
    shoot.shot(tags=(13,), words="lifted")
    matching.match_all(book)

    def run(*words: str, code: int = 0) -> str:
        done = CliRunner().invoke(app, [*words, "--book", str(book.folder)])
        assert done.exit_code == code, done.output
        return done.output

    return run


def test_with_nothing_proposed_nothing_is_entered(said) -> None:
    said("confirm")
    said("refuse", "4")
    assert said("confirm") == "Nothing is proposed, so nothing was entered.\n"


def test_word_cards_are_printed(tmp_path: Path) -> None:
    out = tmp_path / "cards.pdf"
    done = CliRunner().invoke(app, ["word-cards", "lifted, label lost", "--out", str(out)])
    assert done.output == f"Wrote {out}: 2 word cards.\n"
    assert out.read_bytes().startswith(b"%PDF")
    wrong = CliRunner().invoke(app, ["word-cards", "danced", "--out", str(out)])
    assert wrong.exit_code == 1
    assert "There is no word card 'danced'. There are: lifted, washed" in wrong.output


def test_listed_and_confirmed(said) -> None:
    listed = said("proposed")
    assert "3 to be confirmed at once (photolog confirm):" in listed
    assert "2026-05-16 08:30  lifted: tag 0011 “Tin Orchard”  (LF000001.jpg)" in listed
    assert "1 that need a look" in listed
    assert "But: By the day book “Tin Orchard” was lost (rotted) on 2026-02-01" in listed
    assert max(map(len, listed.splitlines())) <= 80
    confirmed = said("confirm")
    assert confirmed.startswith("3 entries made in the day book.\n1 left, since they need a look:")
    assert "eaten" in said("day-book", "12")
    assert said("unconfirm").startswith("3 taken back:\n")
    assert "eaten" not in said("day-book", "12")


def test_put_right_refused_and_wrong_numbers(said) -> None:
    assert "rotted: tag 0011" in said("correct", "3", "--tag", "11", "--word", "rotted")
    assert said("confirm", "1,3").startswith("2 entries made in the day book.")
    assert "Turned down: 2  2026-05-16 08:30  lifted: tag 0012" in said("refuse", "2")
    assert "Nothing is proposed." not in said("proposed")
    said("refuse", "4")
    assert said("proposed") == "Nothing is proposed.\n"
    assert said("unconfirm", "2").startswith("1 taken back:\n")
    assert "There is no proposal 77. photolog proposed lists them." in said("confirm", "77", code=1)
    assert "'x' is no number of a proposal" in said("confirm", "x", code=2)
    assert "say what is to be put right" in said("correct", "2", code=2)
