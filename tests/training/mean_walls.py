"""Write the mean of two networks' weights: of ones that were trained on from one another it is often the better one.

Usage: python -m tests.training.mean_walls FIRST.onnx SECOND.onnx SHARE OUT.onnx; the share is that of the second.
It needs onnx. Weights are told by their order, as names differ from run to run (M. Wortsman et al., Model soups, 2022).
"""

from __future__ import annotations

import sys

import numpy as np
import onnx
from onnx import TensorProto, numpy_helper


def weights_of(model: onnx.ModelProto) -> list[TensorProto]:
    """Return the weights of a network's convolutions, layer by layer."""
    named = {one.name: one for one in model.graph.initializer}
    return [named[name] for node in model.graph.node if node.op_type.startswith("Conv") for name in node.input[1:]]


def main(first: str, second: str, share: str, out: str) -> None:
    """Write it."""
    made, other, part = onnx.load(first), onnx.load(second), float(share)
    for one, two in zip(weights_of(made), weights_of(other), strict=True):
        mean = (1 - part) * numpy_helper.to_array(one) + part * numpy_helper.to_array(two)
        one.CopyFrom(numpy_helper.from_array(mean.astype(np.float32), one.name))
    onnx.save(made, out)


if __name__ == "__main__":
    main(*sys.argv[1:])
