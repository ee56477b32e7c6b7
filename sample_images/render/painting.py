"""Scenes that are laid out, handed to Blender's Python and brought back as light."""

from __future__ import annotations

import pickle
import subprocess
from pathlib import Path

import numpy as np
from layout import Layout
from numpy.typing import NDArray
from printed import write_textures

__all__ = ["painted"]

HERE = Path(__file__).parent


def painted(
    layouts: dict[str, Layout],
    *,
    work: Path,
    blender: Path,
    scale: float,
    samples: int,
    threads: int,
) -> dict[str, NDArray[np.float32]]:
    """(H, W, 3) linear light of every layout by name; what lies in ``work`` is not painted again.

    ``blender`` is a Python that has ``bpy`` 4.2; ``scale`` 1 is 1600 x 1200 pixels.
    """
    textures = work / "textures"
    if not textures.exists():
        write_textures(textures)
    missing = {n: x for n, x in layouts.items() if not (work / f"{n}.npy").exists()}
    if missing:
        for name, layout in missing.items():
            (work / f"{name}.layout").write_bytes(pickle.dumps(layout))
        command = [
            str(blender), str(HERE / "paint_laid.py"),
            *[str(work / f"{name}.layout") for name in missing],
            "--textures", str(textures), "--scale", str(scale),
            "--samples", str(samples), "--threads", str(threads),
        ]  # fmt: skip
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        for name in missing:
            (work / f"{name}.layout").unlink()
    return {n: np.load(work / f"{n}.npy").astype(np.float32) for n in layouts}
