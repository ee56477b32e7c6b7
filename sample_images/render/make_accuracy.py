"""Make the blind accuracy set in a folder: pictures, and truth.csv beside them.

``python sample_images/render/make_accuracy.py DIR --blender PYTHON``: run with a Python that has
photolog's own dependencies and its test extra; ``--blender`` names another Python that has ``bpy``
4.2. What is painted already is not painted again; the truth grows with the pictures, so that a
part of the set can be used while the rest is painted. ``--set 2`` paints another set, with other
numbers: BL2001 in place of BL0001.
"""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

from accuracy_layout import lay_out_scene
from accuracy_scenes import Scene, scenes_of
from develop import develop, write_photo
from layout import Layout
from painting import painted
from truth import COLUMNS, bloom_sizes, clump_sizes, side_sizes

__all__ = ["main"]

HERE = Path(__file__).parent

EXTRA_COLUMNS = ("colour", "build", "lens_mm", "distance_mm")
"""What truth.csv of this set says beyond the sample photographs' one."""


def truth_of(scene: Scene, layout: Layout) -> dict[str, str]:
    """One line of truth.csv."""
    shot = layout.shot
    row = {
        "file": shot.file,
        "folder": shot.folder,
        "taken_at": shot.taken_at,
        "camera": " ".join(shot.camera[:2]),
        "subject": shot.subject,
        "form": scene.form,
        "card": shot.card,
        "held": scene.held,
        "camera_height_mm": f"{layout.camera.eye[2]:.1f}",
        "tilt_deg": f"{shot.tilt:g}",
        "expect": "measured",
        "expect_match": "no plant",
        "background": shot.surface,
        "light": shot.light,
        "colour": scene.colour,
        "build": scene.build,
        "lens_mm": str(shot.camera[2]),
        "distance_mm": f"{shot.distance_mm:.0f}",
    }
    sizes = {"bloom": bloom_sizes, "bloom-side": side_sizes, "clump": clump_sizes}
    return row | sizes[shot.subject](layout)


def _known_rows(table: Path) -> dict[str, dict[str, str]]:
    if not table.exists():
        return {}
    with table.open(newline="", encoding="utf-8") as lines:
        return {row["file"]: row for row in csv.DictReader(lines)}


def _made(scene: Scene, folder: Path, rows: dict[str, dict[str, str]]) -> bool:
    shot = scene.shot
    return shot.file in rows and (folder / shot.folder / shot.file).exists()


def _write_rows(table: Path, rows: dict[str, dict[str, str]]) -> None:
    part = table.with_suffix(".part")
    with part.open("w", newline="", encoding="utf-8") as out:
        writer = csv.DictWriter(out, (*COLUMNS, *EXTRA_COLUMNS), restval="", lineterminator="\n")
        writer.writeheader()
        writer.writerows(rows[file] for file in sorted(rows))
    part.replace(table)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", type=Path)
    parser.add_argument("names", nargs="*", help="scenes by name, such as BL0007; all when none")
    parser.add_argument("--set", type=int, default=1, dest="drawn", help="1 to 9: the set drawn")
    parser.add_argument("--blender", type=Path, help="a Python that has bpy 4.2")
    parser.add_argument("--truth-only", action="store_true", help="write truth.csv, paint nothing")
    parser.add_argument("--scale", type=float, default=0.65, help="1 is 1600 x 1200 pixels")
    parser.add_argument("--samples", type=int, default=3)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--at-once", type=int, default=6, help="scenes a painter takes at a time")
    given = parser.parse_args()
    work = given.folder / "work"
    work.mkdir(parents=True, exist_ok=True)
    table = given.folder / "truth.csv"
    rows = _known_rows(table)
    chosen = [s for s in scenes_of(given.drawn) if not given.names or s.name in given.names]
    if not given.truth_only:
        chosen = [s for s in chosen if not _made(s, given.folder, rows)]
    for start in range(0, len(chosen), given.at_once):
        layouts = {s: lay_out_scene(s) for s in chosen[start : start + given.at_once]}
        rows |= {s.shot.file: truth_of(s, layout) for s, layout in layouts.items()}
        if not given.truth_only:
            lights = painted(
                {s.name: x for s, x in layouts.items()},
                work=work,
                blender=given.blender,
                scale=given.scale,
                samples=given.samples,
                threads=given.threads,
            )
            for scene, layout in layouts.items():
                shown = develop(lights[scene.name], layout.shot)
                file = write_photo(shown, layout.shot, given.folder)
                print(f"{file}  {file.stat().st_size / 1000:.0f} kB", flush=True)
        _write_rows(table, rows)


if __name__ == "__main__":
    main()
