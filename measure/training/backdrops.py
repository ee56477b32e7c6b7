"""Photographs laid behind drawn blooms, all from packages, packed into one tensor.

    python -m measure.training.backdrops FILE

From scikit-image (its data/README.txt: public domain or CC0) and scikit-learn (china.jpg, CC BY,
Thomas Nagel). None shows a flower.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
import skimage
import sklearn
import torch

__all__ = ["main"]

_SIDE = 512
_PICTURES = {
    Path(skimage.__file__).parent / "data": (
        "astronaut.png brick.png chelsea.png coffee.png grass.png gravel.png moon.png page.png "
        "rocket.jpg motorcycle_left.png hubble_deep_field.jpg"
    ),
    Path(sklearn.__file__).parent / "datasets" / "images": "china.jpg",
}


def main() -> None:
    """Write (m, 3, 512, 512) uint8, red green blue."""
    pictures = []
    for folder, names in _PICTURES.items():
        for name in names.split():
            picture = cv2.imread(str(folder / name), cv2.IMREAD_COLOR_RGB)
            if picture is None:
                missing = f"{folder / name} can't be read; install the package again."
                raise SystemExit(missing)
            small = cv2.resize(picture, (_SIDE, _SIDE), interpolation=cv2.INTER_AREA)
            pictures.append(np.moveaxis(small, 2, 0))
    torch.save(torch.from_numpy(np.stack(pictures)), sys.argv[1])


if __name__ == "__main__":
    main()
