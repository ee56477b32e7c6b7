"""Keep a network's weights in half precision: half the file, and the same outlines.

python -m measure.training.halve IN.onnx OUT.onnx
"""

from __future__ import annotations

import sys

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

__all__ = ["halve"]

# Weights fewer than this are left as they are.
_WORTH_IT = 64


def halve(source: str, target: str) -> None:
    """Write ``source`` to ``target`` with its large weights as float16, cast back when loaded."""
    model = onnx.load(source)
    graph = model.graph
    for weights in list(graph.initializer):
        values = numpy_helper.to_array(weights)
        if values.dtype != np.float32 or values.size <= _WORTH_IT:
            continue
        half = numpy_helper.from_array(values.astype(np.float16), weights.name + "_half")
        graph.initializer.remove(weights)
        graph.initializer.append(half)
        cast = helper.make_node("Cast", [half.name], [weights.name], to=TensorProto.FLOAT)
        graph.node.insert(0, cast)
    onnx.save(model, target)


if __name__ == "__main__":
    halve(sys.argv[1], sys.argv[2])
