"""Make the pictures of right and wrong for docs/taking-photos.md.

``python sample_images/render/make_guide.py --work DIR --blender PYTHON [NAME ...]``: run with a
Python that has photolog's own dependencies and its test extra; ``--blender`` names another Python
that has ``bpy`` 4.2. What is painted already in DIR is not painted again.
"""

from __future__ import annotations

import argparse
import tempfile
from dataclasses import replace
from pathlib import Path

from develop import develop, write_photo
from guide_scenes import GUIDE
from painting import painted

__all__ = ["main"]

PICTURES = Path(__file__).parent.parent.parent / "docs" / "pictures"

QUALITY = 82
"""Of the JPEG: small enough for a page, good enough for the card to be read."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("names", nargs="*", help="pictures by name; all when none")
    parser.add_argument("--work", type=Path, required=True, help="folder for painted light")
    parser.add_argument("--blender", type=Path, required=True, help="a Python that has bpy 4.2")
    parser.add_argument("--into", type=Path, default=PICTURES)
    parser.add_argument("--scale", type=float, default=0.4, help="1 is 1600 x 1200 pixels")
    parser.add_argument("--samples", type=int, default=8)
    parser.add_argument("--threads", type=int, default=2)
    given = parser.parse_args()
    given.work.mkdir(parents=True, exist_ok=True)
    given.into.mkdir(parents=True, exist_ok=True)
    chosen = [g for g in GUIDE if not given.names or g.name in given.names]
    layouts = {g.name: g.layout() for g in chosen}
    lights = painted(
        {(g.like or g.name): layouts[g.name] for g in chosen},
        work=given.work,
        blender=given.blender,
        scale=given.scale,
        samples=given.samples,
        threads=given.threads,
    )
    for guide in chosen:
        shot = replace(layouts[guide.name].shot, folder="")
        shown = develop(lights[guide.like or guide.name], shot)
        with tempfile.TemporaryDirectory() as folder:
            file = write_photo(shown, shot, Path(folder), quality=QUALITY)
            (given.into / f"{guide.name}.jpg").write_bytes(file.read_bytes())
        print(f"{guide.name}  {(given.into / f'{guide.name}.jpg').stat().st_size / 1000:.0f} kB")


if __name__ == "__main__":
    main()
