"""Make the sample photographs: textures, painting, developing, and truth.csv.

Run with a Python that has photolog's own dependencies and its test extra; ``--blender`` names
another Python that has ``bpy`` 4.2. Pictures already painted are not painted again.
"""

from __future__ import annotations

import argparse
import subprocess
from pathlib import Path

import numpy as np
from develop import develop, write_photo
from printed import write_textures
from shot import Shot
from shots import SHOTS
from truth import write_table

__all__ = ["main"]

HERE = Path(__file__).parent


def _paint(shot: Shot, given: argparse.Namespace, textures: Path) -> None:
    options = {
        "--textures": textures,
        "--into": given.work,
        "--scale": given.scale,
        "--samples": given.samples,
        "--threads": given.threads,
        "--device": given.device,
    }
    words = [str(word) for pair in options.items() for word in pair]
    command = [str(given.blender), str(HERE / "paint.py"), shot.file, *words]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("shots", nargs="*", help="file names; all when none is given")
    parser.add_argument("--truth-only", action="store_true", help="write truth.csv, paint nothing")
    parser.add_argument("--blender", type=Path, help="a Python that has bpy 4.2")
    parser.add_argument("--work", type=Path, help="folder for painted light and textures")
    parser.add_argument("--into", type=Path, default=HERE.parent, help="folder of the photographs")
    parser.add_argument("--scale", type=float, default=1.0)
    parser.add_argument("--samples", type=int, default=64)
    parser.add_argument("--threads", type=int, default=2)
    parser.add_argument("--device", default="CPU", help="CPU, or CUDA, OPTIX, HIP, METAL")
    given = parser.parse_args()
    chosen = tuple(
        s
        for s in SHOTS
        if not given.shots or s.file in given.shots or s.file.split(".")[0] in given.shots
    )
    given.into.mkdir(parents=True, exist_ok=True)
    write_table(given.into / "truth.csv")
    if given.truth_only:
        return
    if given.work is None:
        parser.error("--work names the folder for painted light and textures")
    textures = given.work / "textures"
    write_textures(textures)
    for shot in chosen:
        painted = given.work / f"{Path(shot.file).stem}.npy"
        if not painted.exists():
            _paint(shot, given, textures)
        file = write_photo(develop(np.load(painted), shot), shot, given.into)
        print(f"{shot.path}  {file.stat().st_size / 1000:.0f} kB", flush=True)


if __name__ == "__main__":
    main()
