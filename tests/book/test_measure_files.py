"""Measuring photo files without a stock book."""

import json
from datetime import datetime

import pytest

from measure.staging import stage_bloom
from photolog.book.errors import WrongEntry
from photolog.book.measure_files import measure_file, measure_files
from tests.book.photographed import clump_picture, photo, sharp_picture

NOON = datetime(2026, 5, 16, 12, 0)

KEYS = [
    "photo",
    "together_with",
    "of",
    "status",
    "reason",
    "remedy",
    "sizes",
    "card",
    "lift_mm",
    "flags",
    "outline_confidence",
    "colours",
]


def test_the_shape_of_a_measured_record(tmp_path):
    source = photo(tmp_path, clump_picture(11), NOON, name="LF1")
    record = measure_file(source, of="clump", overlay_dir=tmp_path / "drawn")
    assert list(record) == KEYS
    assert (record["photo"], record["of"], record["status"]) == (str(source), "clump", "measured")
    assert (record["reason"], record["remedy"]) == (None, None)
    assert list(record["card"]) == ["design", "corners", "residual_px", "tilt_deg", "distance_mm"]
    assert set(record["lift_mm"]) == {"value", "u"}
    for size in record["sizes"].values():
        assert list(size) == ["value", "u", "interval95", "components", "again"]
        low, high = size["interval95"]
        assert low <= size["value"] <= high
    spread = record["sizes"]["spread_mm"]
    assert spread["value"] == pytest.approx(220.0, rel=0.05)
    assert spread["again"] == {"lay": pytest.approx(0.03 * spread["value"])}
    assert 0.0 <= record["outline_confidence"] <= 1.0
    assert json.loads(json.dumps(record, allow_nan=False)) == record
    assert [file.name for file in (tmp_path / "drawn").iterdir()] == ["LF1-outline.jpg"]


def test_bad_files_and_pictures_are_refused_one_by_one(tmp_path):
    good = photo(tmp_path, clump_picture(11), NOON, name="good")
    (tmp_path / "empty.jpg").write_bytes(b"")
    (tmp_path / "cut.jpg").write_bytes(good.read_bytes()[:9000])
    (tmp_path / "text.jpg").write_text("Dear Imke")
    no_card = photo(tmp_path, sharp_picture(), NOON, name="no-card")
    files = [*(tmp_path / name for name in ("empty.jpg", "cut.jpg", "text.jpg", "gone.jpg"))]
    records = list(measure_files([*files, no_card, good], of="clump"))
    assert [record["status"] for record in records] == ["refused"] * 5 + ["measured"]
    assert [record["reason"] for record in records[:5]] == [
        "The file is empty.",
        "The photo is damaged or cut short.",
        "The file is named like a JPEG photo but holds text.",
        "There is no such file.",
        "No scale card in the picture.",
    ]
    for record in records[:5]:
        assert list(record) == KEYS
        assert record["remedy"]
        assert (record["sizes"], record["card"], record["flags"]) == ({}, None, [])


def test_photos_of_one_name_keep_their_own_overlays(tmp_path):
    files = []
    for folder in ("one", "two"):
        (tmp_path / folder).mkdir()
        files.append(photo(tmp_path / folder, clump_picture(11), NOON, name="LF1"))
    list(measure_files(files, of="clump", overlay_dir=tmp_path / "drawn"))
    assert sorted(file.name for file in (tmp_path / "drawn").iterdir()) == [
        "LF1-2-outline.jpg",
        "LF1-outline.jpg",
    ]


def test_a_ruler_reading_scales_every_length(tmp_path):
    source = photo(tmp_path, clump_picture(11), NOON, name="LF1")
    plain = measure_file(source, of="clump")["sizes"]["spread_mm"]
    read = measure_file(source, of="clump", printing=(101.0, 101.0))["sizes"]["spread_mm"]
    assert read["value"] / plain["value"] == pytest.approx(1.01, abs=0.002)
    assert read["u"] < plain["u"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"of": "leaf"}, "Photos are measured of: bloom, bloom-side, clump, seeds; not 'leaf'"),
        ({"of": "bloom", "form": "round"}, "Forms are: single, .*; not 'round'"),
        ({"of": "bloom", "held": "aloft"}, "The card is held: level, behind, bench; not 'aloft'"),
        ({"of": "clump", "lift_mm": 900.0}, "can't be 900 mm above the card"),
        ({"of": "clump", "printing": (10.0, 100.0)}, "A ruler can't read 10 and 100 mm"),
    ],
)
def test_options_that_can_not_be(tmp_path, options, says):
    with pytest.raises(WrongEntry, match=says):
        measure_file(tmp_path / "any.jpg", **options)


def test_a_height_above_the_lens_is_refused_with_a_sentence(tmp_path):
    source = photo(tmp_path, clump_picture(11), NOON, name="LF1")
    record = measure_file(source, of="clump", lift_mm=450.0)
    assert record["status"] == "refused"
    assert "can't be 450 mm when the photo was taken from" in record["reason"]
    assert "Measure the height above the card with a ruler" in record["remedy"]
    ball = stage_bloom("ball", widest_mm=95.0, distance_mm=370.0, size_px=(1600, 1200))
    picture = photo(tmp_path, ball.canvas().finish(), NOON, name="LF2")
    bloom = measure_file(picture, of="bloom", lift_mm=450.0)
    assert (bloom["status"], bloom["sizes"]) == ("refused", {})
    assert "runs from -100 to 300 mm, got 450" in bloom["reason"]
    assert measure_file(source, of="clump", lift_mm=10.0)["status"] == "measured"


def test_in_processes_the_same_comes_out(tmp_path):
    source = photo(tmp_path, clump_picture(11), NOON, name="LF1")
    (here,) = measure_files([source], of="clump")
    (there,) = measure_files([source], of="clump", workers=1)
    assert there["sizes"].keys() == here["sizes"].keys()
    for name, size in here["sizes"].items():
        assert there["sizes"][name]["value"] == pytest.approx(size["value"], rel=1e-6)
