"""Copies and bursts as a grower meets them: what the commands print, and what they refuse."""

from datetime import datetime, timedelta

import pytest
from PIL import Image
from typer.testing import CliRunner

from photolog.book import watching
from photolog.book.intake import IntakeReport, take_in
from photolog.cli.app import app
from tests.book.photographed import clump_picture, fill_garden, photo
from tests.photos.written import write

AT = datetime(2026, 5, 16, 14, 3, 22)


@pytest.fixture
def run(book, monkeypatch):
    book.close()
    monkeypatch.setenv("PHOTOLOG_BOOK", str(book.folder))

    def invoke(*words: str, fails: bool = False) -> str:
        result = CliRunner().invoke(app, list(words))
        assert result.exit_code == int(fails), result.output
        return " ".join(result.output.split())

    return invoke


@pytest.fixture
def garden(book, tmp_path, run):
    """A clump, a shot more of it two seconds later, and the first one as it was sent."""
    fill_garden(book)
    folder = tmp_path / "photos"
    folder.mkdir()
    picture = clump_picture(11)
    photo(folder, picture, AT, name="LF350112")
    photo(folder, picture[:-2, :-2], AT + timedelta(seconds=2), name="LF350113")
    small = Image.fromarray(picture).resize((600, 450))
    write(folder, name="IMG-0001", image=small, quality=60)
    return folder


def test_copies_from_intake_to_taking_it_back(garden, run):
    said = run("intake", "--no-measure", str(garden))
    assert "1 photo looks like a copy of another (photolog copies)." in said
    said = run("copies")
    assert "1 photo 1 IMG-0001.jpg looks like photo 2 LF350112.jpg: The same picture" in said
    assert "1 merged with the photos that they are copies of" in run("copies", "--same", "all")
    assert run("copies") == "No photo looks like a copy of another."
    assert "1 photo 1 IMG-0001.jpg is a copy of photo 2 LF350112.jpg" in run("copies", "--all")
    assert "1 taken back: 1 photo 1 IMG-0001.jpg looks like photo 2" in run("copies", "--back", "1")
    assert "1 photo 1 IMG-0001.jpg is no copy of photo 2" in run("copies", "--apart", "1")
    assert "There is no pair 7 among the copies" in run("copies", "--same", "7", fails=True)


def test_deciding_a_copy_says_which_photo_was_decided(garden, run):
    run("intake", "--no-measure", str(garden))
    run("copies", "--same", "1")
    assert run("decide", "1", "12").startswith(
        "Photo 2: tag 0012. Photo 1 is a copy of photo 2, which was decided in its stead."
    )


def test_other_files_are_listed(garden, run, tmp_path):
    run("intake", "--no-measure", str(garden))
    again = tmp_path / "LF350112 again.jpg"
    again.write_bytes((garden / "LF350112.jpg").read_bytes())
    run("intake", "--no-measure", str(again))
    assert "photo 2 LF350112.jpg: the same file as LF350112 again.jpg" in run("copies", "--all")


def test_bursts_from_intake_to_taking_it_back(garden, run):
    run("intake", "--no-measure", str(garden))
    assert run("bursts") == "2026-05-16 14:03:22 photos 2-3: 2 shots within 2 s"
    assert "of one burst with photo 2: counts once" in run("history", "11")
    alone = run("bursts", "--apart", "3")
    assert alone == "2026-05-16 14:03:24 photo 3 LF350113.jpg stands alone, as you said"
    assert "counts once" not in run("history", "11")
    assert "2 shots within 2 s, as you said" in run("bursts", "--together", "2-3")
    assert run("bursts", "--back", "2") == "2026-05-16 14:03:22 photos 2-3: 2 shots within 2 s"
    assert "There is no photo 99" in run("bursts", "--apart", "99", fails=True)


def test_no_bursts_and_no_copies(run):
    assert run("bursts") == "There are no bursts."
    assert run("copies") == "No photo looks like a copy of another."


@pytest.mark.parametrize("words", [["intake"], ["intake", "a.jpg", "--watch", "b"]])
def test_photos_or_a_folder_to_watch(run, words):
    result = CliRunner().invoke(app, words)
    assert result.exit_code == 2
    assert "name photos or folders of them" in result.output


def test_watching_says_which_photos_came_without_a_date(run, tmp_path, monkeypatch):
    """Of the lots in the book all at first; then those that a lot taken in belongs to."""
    phone = tmp_path / "phone"
    phone.mkdir()
    for number in (8, 9):
        photo(phone, clump_picture(11, seed=number), None, name=f"IMG-20260517-{number}")

    def one_lot(book, folder, *, stop, tell, after):
        after(take_in(book, [folder], workers=0))
        after(IntakeReport(taken=(), known=(), refused=(), passed_over=0, seconds=0.0))
        return watching.WatchReport(taken=2)

    monkeypatch.setattr(watching, "watch", one_lot)
    words = ("intake", "--watch", str(phone), "--no-measure")
    said = run(*words)
    assert said.count("photolog dated 1-2 --on 2026-05-17") == 1
    assert said.index("2 taken in") < said.index("1-2: 2 photos without a date")
    monkeypatch.setattr(watching, "watch", lambda *_, **__: watching.WatchReport())
    assert "1-2: 2 photos without a date" in run(*words)
    run("dated", "1-2", "--on", "2026-05-17")
    assert "without a date" not in run(*words)


def test_watching_what_is_not_there(run, tmp_path):
    said = run("intake", "--watch", str(tmp_path / "nowhere"), fails=True)
    assert "There is no folder" in said
    assert "to watch. Check its name, or make it first." in said
