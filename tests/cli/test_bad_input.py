"""Bad files, folders and books on the command line: a sentence each, and the rest goes on."""

import json
import sqlite3
import struct
import zlib

import pytest
from PIL import Image
from typer.testing import CliRunner

from photolog.cli.app import app
from tests.sample_truth import SAMPLES, TRUTH

GOOD = next(
    SAMPLES / name
    for name, row in TRUTH.items()
    if row["subject"] == "clump" and row["expect"] == "measured" and name.endswith("JPG")
)


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def huge_png(path):
    """A PNG whose header says 25,000 by 20,000 pixels, with nothing behind it worth decoding."""
    head = struct.pack(">IIBBBBB", 25_000, 20_000, 1, 0, 0, 0, 0)
    chunks = ((b"IHDR", head), (b"IDAT", zlib.compress(b"\0" * 64)), (b"IEND", b""))
    with path.open("wb") as out:
        out.write(b"\x89PNG\r\n\x1a\n")
        for kind, data in chunks:
            out.write(struct.pack(">I", len(data)) + kind + data)
            out.write(struct.pack(">I", zlib.crc32(kind + data)))


@pytest.fixture
def bad(tmp_path):
    """One file of every bad kind, by what its sentence must mention."""
    (tmp_path / "empty.jpg").write_bytes(b"")
    (tmp_path / "cut.jpg").write_bytes(GOOD.read_bytes()[:40_000])
    (tmp_path / "letter.jpg").write_text("Dear Imke, the tubers came.")
    Image.new("RGB", (640, 480), (90, 120, 60)).save(tmp_path / "no-card.jpg")
    huge_png(tmp_path / "huge.png")
    return {
        tmp_path / "empty.jpg": "empty",
        tmp_path / "cut.jpg": "cut",
        tmp_path / "letter.jpg": "holds text",
        tmp_path / "huge.png": "500 megapixels",
        tmp_path / "no-card.jpg": "card",
        tmp_path / "gone.jpg": "no",
    }


def test_each_bad_file_is_refused_with_its_reason_and_a_remedy(bad):
    done = run("measure", *bad, "--of", "clump", "--json")
    assert done.exit_code == 1
    results = [json.loads(line) for line in done.stdout.splitlines()]
    assert [result["status"] for result in results] == ["refused"] * len(bad)
    for result, word in zip(results, bad.values(), strict=True):
        assert word in result["reason"].lower(), result["reason"]
        assert result["remedy"]


def test_a_bad_file_never_stops_the_rest(bad):
    done = run("measure", *bad, GOOD, "--of", "clump", "--json")
    assert done.exit_code == 0
    assert json.loads(done.stdout.splitlines()[-1])["status"] == "measured"


def test_the_table_says_why(bad):
    done = run("measure", *bad, "--of", "clump")
    assert "not measured" in done.stdout
    assert "Traceback" not in done.stdout + done.stderr


@pytest.fixture
def book(tmp_path):
    folder = tmp_path / "garden"
    assert run("start", folder).exit_code == 0
    return folder


def test_a_missing_folder_is_said(book, tmp_path):
    done = run("intake", tmp_path / "nowhere", "--book", book)
    assert done.exit_code == 1
    assert "nowhere" in done.stdout + done.stderr


def test_intake_sets_bad_files_aside_and_takes_the_rest(book, bad):
    folder = next(iter(bad)).parent
    done = run("intake", folder / "letter.jpg", folder / "cut.jpg", GOOD, "--book", book)
    assert done.exit_code == 0, done.stderr
    assert "1 taken in" in done.stdout
    assert "2 refused" in done.stdout


def test_a_book_of_a_newer_version_is_left_alone(book):
    with sqlite3.connect(book / "book.sqlite3") as file:
        file.execute("UPDATE alembic_version SET version_num = '9999'")
    done = run("stock", "--book", book)
    assert done.exit_code == 1
    assert "newer" in done.stderr


def test_a_folder_that_is_no_stock_book_is_said(tmp_path):
    done = run("stock", "--book", tmp_path)
    assert done.exit_code == 1
    assert done.stderr.startswith("Error: ")


def test_an_unknown_tag_is_said_with_what_there_is(book):
    done = run("history", "77", "--book", book)
    assert done.exit_code == 1
    assert "77" in done.stderr


def test_seasons_of_an_empty_book_says_what_is_missing(book):
    done = run("seasons", "--book", book)
    assert done.exit_code == 1
    assert done.stderr.startswith("Error: ")


def test_a_form_that_is_none_is_said(bad):
    done = run("measure", next(iter(bad)), "--of", "bloom", "--form", "cabbage")
    assert done.exit_code == 1
    assert "decorative" in done.stderr
