"""Clocks, days and cameras on the command line: listed, put right, taken back, refused."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest
from typer.testing import CliRunner

from photolog.book import StockBook, cameras
from photolog.cli.app import app
from photolog.reports.clock_text import amount_text
from tests.book.test_clock_proposals import Phones
from tests.records import factories


@pytest.mark.parametrize(
    ("add_seconds", "said"),
    [
        (0, "right"),
        (1, "1 second slow"),
        (-61, "1 minute 1 second fast"),
        (569, "9 minutes 29 seconds slow"),
        (2820, "47 minutes slow"),
        (-3599, "1 hour fast"),
        (-25_190, "7 hours fast"),
        (19_800, "5 hours 30 minutes slow"),
        (86_400, "24 hours slow"),
        (195_659_400, "2,264 days 14 hours slow"),
        (172_799, "48 hours slow"),
        (259_190, "3 days slow"),
    ],
)
def test_by_how_much_a_clock_is_out(add_seconds, said):
    assert amount_text(add_seconds) == said


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Run a command in a stock book of its own."""
    runner = CliRunner()
    assert runner.invoke(app, ["start", str(tmp_path / "garden")]).exit_code == 0
    monkeypatch.chdir(tmp_path / "garden")

    def call(*words, fails=False):
        done = runner.invoke(app, list(words))
        assert (done.exit_code != 0) is fails, done.output
        said = done.stderr if fails else done.stdout
        assert max((len(line) for line in done.stdout.splitlines()), default=0) <= 80
        return " ".join(said.split())

    return call


@pytest.fixture
def ahead(run, tmp_path):
    """A pocket camera seven hours ahead, on two days beside a phone."""
    with StockBook.open(tmp_path / "garden") as book:
        phones = Phones(book)
        for n in range(2):
            phones.round(date(2026, 3, 10) + timedelta(days=n), pocket=timedelta(hours=7))
        return phones.photos["Pocket 28"][0]


def test_an_empty_book_has_no_cameras(run):
    assert run("clock") == "No photo in the stock book names its camera."


def test_proposed_confirmed_and_taken_back(run, ahead):
    said = run("clock")
    assert "(photolog clock-confirm 1, or clock-refuse 1)" in said
    assert "1 Larkfield Pocket 28: 7 hours fast, always: perhaps it is set to another zone." in said
    assert "Larkfield Pocket 28: 7 hours fast, always:" in run("clock-confirm", "1")
    assert "7 hours fast, always (confirmed: another zone)" in run("clock")
    assert "no longer 7 hours fast" in run("clock-undo", "1")
    assert "(photolog clock-confirm 2, or clock-refuse 2)" in run("clock")
    assert run("clock-refuse", "2") == "Turned down: Larkfield Pocket 28, 7 hours fast."
    assert "Proposed" not in run("clock")


def test_by_a_photo_of_a_clock(run, ahead):
    assert "7 hours" in run("clock-read", str(ahead), "14:01:30")
    assert "14:05 --on DAY" not in run("clock")
    assert "say what the clock read" in run("clock-read", str(ahead), fails=True)
    assert "'25:61' is no time of day" in run("clock-read", str(ahead), "25:61", fails=True)
    assert "leave out --on" in run(
        "clock-read", str(ahead), "14:05", "--entry", "1", "--on", "2026-03-10", fails=True
    )
    assert "Entry 7 of the day book is not there" in run(
        "clock-read", str(ahead), "--entry", "7", fails=True
    )


def test_a_camera_is_named_by_its_model(run, ahead):
    assert "Larkfield Pocket 28: 47 minutes slow" in run(
        "clock", "pocket 28", "--slow-minutes", "47"
    )


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("clock", "Pocket 28", "--slow-minutes", "nan"), "a clock is slow by a number of minutes"),
        (("clock", "Pocket 28", "--slow-minutes", "1e9"), "can't be 694444 days out: look at the"),
        (("clock-read", "{}", "14:05", "--on", "2099-01-01"), "2099-01-01 is still to come"),
        (("clock-read", "9" * 25, "14:05"), "A number is too large for the stock book"),
        (("clock-confirm", "1-99999999999"), "is too large for numbers of a"),
    ],
)
def test_what_no_clock_can_be(run, ahead, words, says):
    assert says in run(*(word.format(ahead) for word in words), fails=True)


def test_by_an_entry_of_the_day_book(run, ahead):
    run("did", "first frost", "--on", "2026-03-10")
    assert "says no hour" in run("clock-read", str(ahead), "--entry", "1", fails=True)
    run("clock-read", str(ahead), "14:01", "--entry", "1")
    assert "first frost at 14:01 on 2026-03-10 (entry 1)" in run("clock")


def test_by_hand_from_a_moment_up_to_another(run, ahead):
    pocket = "larkfield pocket 28"
    said = run("clock", pocket, "--slow-minutes", "-60", "--since", "2026-03-11")
    assert said.startswith("Larkfield Pocket 28: 1 hour fast, from 2026-03-11 00:00 on its own")
    run("clock", pocket, "--slow-minutes", "-60", "--since", "2026-03-11", "--until", "2026-03-12")
    assert "from 2026-03-11 00:00 until 2026-03-12 00:00 on its own clock (by hand)" in run("clock")
    assert "say by how much with --slow-minutes" in run("clock", pocket, fails=True)
    assert "say which camera's clock" in run("clock", "--slow-minutes", "5", fails=True)
    assert "'noon' is no moment" in run(
        "clock", pocket, "--slow-minutes", "5", "--since", "noon", fails=True
    )


def test_taken_back_the_one_before_is_named(run, ahead):
    run("clock", "larkfield pocket 28", "--slow-minutes", "-60")
    run("clock", "larkfield pocket 28", "--slow-minutes", "-420")
    said = run("clock-undo", "1")
    assert "Larkfield Pocket 28: no longer 7 hours fast, always: " in said
    assert said.endswith("As before, it is 1 hour fast, always.")


def test_a_clock_that_fell_back_is_told(run, tmp_path):
    with StockBook.open(tmp_path / "garden") as book, book.writing() as session:
        camera_id = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        for n in range(30):
            at = datetime(2026, 2, 1, 10) + timedelta(days=n)
            if n in (10, 11):
                at = datetime(2020, 1, 1 + n - 10)
            name = f"LF{101 + n:04d}.JPG"
            factories.photo(session, original_name=name, taken_at=at, camera_id=camera_id)
    said = run("clock")
    assert "the clock fell back to its first day. 2 photos (LF0111.JPG to" in said
    assert "LF0112.JPG) are dated 2020-01-01 on; by their numbers they were taken" in said
    assert "taken from 2026-02-11 to 2026-02-12" in said
    assert "photolog clock-read 11 14:05 --on DAY" in said
    assert "2 photos" in run("clock-read", "11", "10:00", "--on", "2026-02-11")
    assert "fell back" not in run("clock")


def test_cameras_of_one_model_are_told_apart(run, tmp_path):
    with StockBook.open(tmp_path / "garden") as book, book.writing() as session:
        camera_id = cameras.find_or_add(session, make="Larkfield", model="Field 35", serial="")
        for n in range(24):
            number = 401 + n if n % 4 < 2 else 5121 + n
            at = datetime(2026, 6, 1, 10) + timedelta(minutes=10 * n)
            name = f"LF{number:04d}.JPG"
            factories.photo(session, original_name=name, taken_at=at, camera_id=camera_id)
    assert "its files are counted in 2 lines side by side, LF0401.JPG to" in run("clock")
    told = run("camera-apart", "3", "Imke")
    assert told == "Larkfield Field 35 (Imke): 12 photos, no longer of Larkfield Field 35."
    assert "Larkfield Field 35 (Imke): 12 photos" in run("clock")
    assert "is Larkfield Field 35 again: 12 photos" in run("camera-apart", "3", "--back")
    assert "give the other camera a name" in run("camera-apart", "3", fails=True)


def test_days_told_at_once(run, tmp_path):
    assert run("dated") == "Every photo has a date, or was told its day."
    rng = np.random.default_rng(1)
    with StockBook.open(tmp_path / "garden") as book, book.writing() as session:
        for n in rng.permutation(5):
            factories.photo(
                session,
                original_name=f"IMG-20260517-{8 + n}.jpg",
                taken_at=None,
                width_px=1600,
                height_px=1200,
            )
    said = run("dated")
    assert "1-5: 5 photos without a date, IMG-20260517-8.jpg to IMG-20260517-12.jpg." in said
    assert "photolog dated 1,2,3,4,5" not in said
    assert "photolog dated 1-5 --on 2026-05-17" in said
    assert run("dated", "1-5", "--on", "2026-05-16").startswith("5 photos (1-5): 16 May 2026")
    assert run("dated", "--back").startswith("5 photos (1-5): no day any more")
    assert "say which photos and on which day" in run("dated", "1-5", fails=True)
    assert "'x' is no number of a photo" in run("dated", "x", fails=True)
    assert "leave out --on" in run("dated", "--back", "--on", "2026-05-16", fails=True)
