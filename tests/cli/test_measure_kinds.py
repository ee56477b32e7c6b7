"""Blooms from the side, seeds, and two shots of one bloom, measured on the command line."""

import json
from datetime import datetime

import numpy as np
import pytest
from PIL import Image
from typer.testing import CliRunner

from measure.staging import stage_bloom
from photolog.cli.app import app
from tests.measure.seeds.drawn import SheetPlan, draw_sheet
from tests.measure.side_scenes import side_scene
from tests.photos.written import FOCAL35, exif, write

NOON = datetime(2026, 5, 16, 12, 0)


def taken(folder, picture, *, name, focal35_mm):
    """The picture as a phone's photo that tells its focal length."""
    block = exif(original=f"{NOON:%Y:%m:%d %H:%M:%S}", details={FOCAL35: round(focal35_mm)})
    image = Image.fromarray(picture)
    return write(folder, "jpeg", name=name, image=image, block=block, quality=95)


def run(*words):
    done = CliRunner().invoke(app, ["measure", *(str(word) for word in words)])
    assert done.exit_code == 0, done.output
    return done.stdout


def told(*words):
    (line,) = run(*words, "--json").splitlines()
    return json.loads(line)


def holds(size, true):
    low, high = size["interval95"]
    return low < true < high


def test_a_bloom_from_the_side(tmp_path):
    drawn = side_scene("ball", in_plane_deg=8.0, seed=6)
    focal = drawn.scene.camera.focal35_mm
    file = taken(tmp_path, drawn.picture(), name="side", focal35_mm=focal)
    record = told(file, "--of", "bloom-side")
    # The drawn bloom's own sizes.
    assert holds(record["sizes"]["depth_mm"], drawn.depth_mm)
    assert holds(record["sizes"]["across_mm"], drawn.across_mm)
    assert record["colours"] is None
    words = run(file, "--of", "bloom-side")
    assert "  depth          " in words
    assert "  across         " in words


def test_seeds_are_counted(tmp_path):
    sheet = draw_sheet(SheetPlan(seeds=16, chaff=0, size_px=(1600, 1200), seed=901))
    file = taken(tmp_path, sheet.picture, name="seeds", focal35_mm=sheet.optics.focal35_mm)
    record = told(file, "--of", "seeds")
    assert abs(record["sizes"]["seeds"]["value"] - 16) <= 1
    assert holds(record["sizes"]["length_mm"], float(np.median(sheet.lengths_mm)))
    words = run(file, "--of", "seeds", "--overlay", tmp_path / "drawn")
    assert "  seeds          1" in words
    assert "  usual length   " in words
    assert [one.name for one in (tmp_path / "drawn").iterdir()] == ["seeds-outline.jpg"]


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    """Photos of one ball from 370 and 820 mm, and its scenes."""
    folder = tmp_path_factory.mktemp("pair")
    files = []
    for name, distance_mm in (("far", 820.0), ("near", 370.0)):
        scene = stage_bloom(
            "ball", widest_mm=95.0, seed=1, distance_mm=distance_mm, size_px=(2000, 1500)
        )
        focal = scene.camera.focal35_mm
        files.append(taken(folder, scene.canvas().finish(), name=name, focal35_mm=focal))
    return files, scene


def test_two_shots_make_one_line(pair, tmp_path):
    files, scene = pair
    record = told(*files, "--of", "bloom", "--two-shots", "--overlay", tmp_path)
    assert (record["photo"], record["together_with"]) == (str(files[0]), [str(files[1])])
    assert holds(record["sizes"]["widest_mm"], scene.bloom.widest_mm)
    # The outline is drawn on the nearer of them, in which the bloom is the larger.
    assert record["card"]["distance_mm"] < 500.0
    with Image.open(tmp_path / "far-outline.jpg") as drawn:
        off = []
        for file in files:
            with Image.open(file) as taken_one:
                small = np.asarray(taken_one.resize(drawn.size), float)
            off.append(np.abs(np.asarray(drawn, float) - small).mean())
    assert off[1] < 0.5 * off[0]
    assert run(*files, "--of", "bloom", "--two-shots").startswith("far.jpg + near.jpg\n")


def test_two_shots_from_one_distance_are_refused_in_one_record(pair):
    (_, near), _ = pair
    done = CliRunner().invoke(
        app, ["measure", str(near), str(near), "--of", "bloom", "--two-shots", "--json"]
    )
    assert done.exit_code == 1
    record = json.loads(done.stdout)
    assert record["status"] == "refused"
    assert "distances too alike" in record["reason"]


def test_colours_are_told_in_words_and_as_lab(pair):
    (_, near), _ = pair
    record = told(near, "--of", "bloom")
    colours = record["colours"]
    assert colours["balanced_on"] in ("greys", "paper")
    assert sum(one["share"] for one in colours["colours"]) == pytest.approx(1.0, abs=0.01)
    first = colours["colours"][0]
    assert len(first["lab"]) == 3
    assert first["word"] in run(near, "--of", "bloom")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["a.jpg", "--of", "bloom", "--two-shots"], "two photos or more of one bloom's face"),
        (["a.jpg", "b.jpg", "--of", "clump", "--two-shots"], "two photos or more of one bloom's"),
        (["a.jpg", "--of", "seeds", "--lift-mm", "3"], "A height is told of one photo of"),
    ],
)
def test_what_can_not_be_asked(words, says):
    done = CliRunner().invoke(app, ["measure", *words])
    assert done.exit_code == 1
    assert says in done.stderr
