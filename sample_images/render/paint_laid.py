"""Scenes that are laid out already, painted one after the other: run with the Python of ``bpy``.

Each is a pickled ``Layout``; its light is left beside it as ``NAME.npy``.
"""

from __future__ import annotations

import argparse
import pickle
from pathlib import Path

import numpy as np
from paint import paint

__all__ = ["main"]

BOUNCES = 2
"""How often light is followed: enough outdoors, and quick."""


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("layouts", nargs="+", type=Path)
    parser.add_argument("--textures", type=Path, required=True)
    parser.add_argument("--scale", type=float, required=True)
    parser.add_argument("--samples", type=int, required=True)
    parser.add_argument("--threads", type=int, required=True)
    given = parser.parse_args()
    for file in given.layouts:
        light = paint(
            pickle.loads(file.read_bytes()),
            textures=given.textures,
            scale=given.scale,
            samples=given.samples,
            threads=given.threads,
            device="CPU",
            bounces=BOUNCES,
        )
        with file.with_suffix(".part").open("wb") as out:
            np.save(out, light.astype(np.float16))
        file.with_suffix(".part").rename(file.with_suffix(".npy"))


if __name__ == "__main__":
    main()
