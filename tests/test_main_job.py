"""The main job on the sample photographs: whose photo it is, how large, and what changed.

True owners and sizes are in sample_images/truth.csv; the sizes come from the geometry that the
pictures were rendered from, never from their pixels.
"""

import shutil
import statistics
from pathlib import Path

import pytest
from typer.testing import CliRunner

from photolog.book import StockBook, history, judging, matching, measuring, seasons, showing
from photolog.cli.app import app
from photolog.demo import garden
from tests.sample_truth import SAMPLES, TRUTH

WIDEST = {"bloom": "widest_mm", "clump": "spread_mm"}


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo garden's folder, and what the demo printed."""
    folder = tmp_path_factory.mktemp("demo") / "garden"
    done = CliRunner().invoke(app, ["demo", str(folder)])
    assert done.exit_code == 0, f"{done.stdout}\n{done.stderr}\n{done.exception!r}"
    return folder, done.stdout


@pytest.fixture(scope="module")
def book(demo):
    with StockBook.open(demo[0]) as stock_book:
        yield stock_book


@pytest.fixture(scope="module")
def decided(demo, tmp_path_factory):
    """A copy of the garden after the grower decided whose the clump was that waited.

    The grower also said how the pocket card was held, which can't be seen on it.
    """
    folder = tmp_path_factory.mktemp("decided") / "garden"
    shutil.copytree(demo[0], folder)
    with StockBook.open(folder) as stock_book:
        [waits] = [photo for photo in matching.waiting(stock_book) if photo.shows == "clump"]
        matching.decide(stock_book, waits.photo_id, int(truth_named(waits.name)["tag"]))
        for photo in matching.matched(stock_book):
            truth = truth_named(photo.name)
            if truth["card"] == "pocket-1" and truth["subject"] == "bloom":
                showing.tell(stock_book, photo.photo_id, "bloom face", held=truth["held"])
        measuring.measure_all(stock_book)
        yield stock_book


@pytest.fixture(scope="module")
def looked_at(decided, tmp_path_factory):
    """A copy after the grower looked at each doubtful clump and accepted what follows the clump."""
    folder = tmp_path_factory.mktemp("looked at") / "garden"
    shutil.copytree(decided.folder, folder)
    with StockBook.open(folder) as stock_book:
        for _, record in measured_photos(stock_book):
            truth = truth_named(record.name)
            if truth["subject"] != "clump" or record.measured.refused:
                continue
            found = record.measured.sizes["spread_mm"].value / float(truth["spread_mm"])
            if record.measured.doubts and abs(found - 1) <= 0.05:
                judging.accept(stock_book, record.id)
        yield stock_book


def truth_named(name):
    [row] = [row for row in TRUTH.values() if row["file"] == name]
    return row


def measured_photos(book):
    tags = [*garden.CLUMPS, *garden.SEEDLINGS, garden.TRAY[0]]
    return [
        (tag, photo.record)
        for tag in tags
        for photo in history.of_tag(book, tag).photos
        if photo.record.measured is not None
    ]


def test_every_match_is_right_or_waits(book):
    for photo in matching.matched(book):
        truth = truth_named(photo.name)
        assert truth["expect_match"] == "matched", photo.name
        assert photo.tag == int(truth["tag"]), photo.name


def test_what_can_be_matched_is_matched(book):
    found = {photo.name for photo in matching.matched(book)}
    expected = {row["file"] for row in TRUTH.values() if row["expect_match"] == "matched"}
    assert expected <= found


def test_the_clump_after_a_missed_tag_shot_waits(book):
    [waits] = [
        row
        for row in TRUTH.values()
        if row["expect_match"] == "waiting" and row["subject"] == "clump"
    ]
    waiting = {photo.name: photo for photo in matching.waiting(book)}
    assert waits["file"] in waiting
    assert int(waits["tag"]) in [one.tag for one in waiting[waits["file"]].candidates]


def test_only_photos_with_a_card_are_measured(book):
    for _, record in measured_photos(book):
        if not record.measured.refused:
            assert truth_named(record.name)["card"], record.name


def errors(book, subject):
    """Relative error and flagged or not, of every measured photo of this subject."""
    out = {}
    for _, record in measured_photos(book):
        truth = truth_named(record.name)
        if truth["subject"] == subject and not record.measured.refused:
            true = float(truth[WIDEST[subject]])
            found = record.measured.sizes[WIDEST[subject]].value
            out[record.name] = (found / true - 1, [doubt.flag for doubt in record.measured.doubts])
    return out


@pytest.mark.parametrize("subject", ["bloom", "clump"])
def test_sizes_are_within_what_is_promised(decided, subject):
    found = errors(decided, subject)
    assert len(found) >= 10
    assert statistics.median(abs(error) for error, _ in found.values()) <= 0.02
    unflagged = {name: error for name, (error, flags) in found.items() if not flags}
    assert len(unflagged) >= 8
    assert all(abs(error) <= 0.08 for error in unflagged.values()), unflagged


def test_each_change_holds_the_true_one(looked_at):
    compared = seasons.compare(looked_at)
    assert (compared.first, compared.second) == (2024, 2025)
    changed = [row for row in compared.size.rows if row.change is not None]
    assert len(changed) >= 4
    for row in changed:
        low, high = row.change.interval95
        true = true_change(row.variety, compared.photos)
        assert low <= true <= high, row.variety


def true_change(variety, photos):
    """Ratio of the geometric means of the true spreads, of plants measured in both seasons."""
    spreads = {}
    for photo in photos:
        if photo.variety == variety:
            true = float(truth_named(photo.record.name)["spread_mm"])
            spreads.setdefault(photo.plant, {}).setdefault(photo.season, []).append(true)
    both = [seen for seen in spreads.values() if len(seen) == 2]
    ratios = [statistics.mean(seen[2025]) / statistics.mean(seen[2024]) for seen in both]
    return statistics.geometric_mean(ratios)


def test_the_demo_says_what_happened_and_what_to_open(demo):
    folder, said = demo
    assert "refused" in said
    for page in ("seasons.html", "plant-11.html", "plant-31.html", "waiting.html"):
        assert str(folder / page) in said
        assert "<html" in (Path(folder) / page).read_text(encoding="utf-8")


def test_taking_the_same_photos_in_again_changes_nothing(demo):
    folder, _ = demo
    done = CliRunner().invoke(app, ["intake", str(SAMPLES / "autumn-2025"), "--book", str(folder)])
    assert done.exit_code == 0, done.stderr
    assert "0 taken in" in done.stdout
