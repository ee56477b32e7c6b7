"""Average the weights of several runs of one network, each gone on from the last, and write ONNX.

    python -m measure.training.averaged bloom OUT.onnx FIRST.pt SECOND.pt THIRD.pt

Runs on scenes that were bettered in between each forget a little of what the others know; their
mean outlines what it has not seen at least as well as the best of them.
"""

from __future__ import annotations

import sys
from pathlib import Path

import torch

from measure.training.model import Model
from measure.training.train import CHANNELS, export

__all__ = ["averaged"]


def averaged(net: str, target: Path, sources: list[Path]) -> None:
    """Write the mean of the runs' weights (the statistics of their layers too) to ``target``."""
    runs = [torch.load(source, map_location="cpu") for source in sources]
    mean = {
        name: (sum(run[name].double() for run in runs) / len(runs)).to(first.dtype)
        for name, first in runs[0].items()
    }
    model = Model(CHANNELS[net])
    model.load_state_dict(mean)
    export(model, target)


if __name__ == "__main__":
    averaged(sys.argv[1], Path(sys.argv[2]), [Path(source) for source in sys.argv[3:]])
