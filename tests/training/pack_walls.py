"""Make the network that is shipped out of the one that was trained: whole numbers of eight bits for its weights.

Usage: python -m tests.training.pack_walls [--from walls.onnx] [--out takeoff/trace/scans/models/walls.onnx]
It needs onnx beside the project. What the layers' values range over is taken from made-up scans. Weights take seven of
the eight bits: on processors without VNNI instructions sums of two products would otherwise be cut off at 16 bits
(ONNX Runtime's guide to quantization). The first and the last layer keep single numbers. Chances are made of the
scores by whoever asks.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper
from onnxruntime.quantization import CalibrationDataReader, QuantType, quantize_static

from takeoff.sheet.frame import displayed_size
from takeoff.trace.scans.wall_network import darkness_of
from tests.trace.made_scans import QUALITIES, scan_plan
from tests.trace.plans import DEVELOPMENT, KINDS, SHAPES, make_plan

HERE = Path(__file__).parent
SHIPPED = HERE.parents[1] / "takeoff" / "trace" / "scans" / "models" / "walls.onnx"
CROP = 960
"""Pixels along the crops of the made-up scans."""
KEPT = ("stem", "head")
"""Layers that keep single numbers."""


def flat(model: onnx.ModelProto) -> onnx.ModelProto:
    """Return the network with scores for chances, for pictures of any size, its lifts as convolutions.

    A lift doubles height and width without overlap: it is a convolution of one pixel to four times the channels, which
    are then laid out two by two. In this form it can be done in whole numbers.
    """
    values = {i.name: numpy_helper.to_array(i) for i in model.graph.initializer}
    nodes: list[onnx.NodeProto] = []
    for node in model.graph.node:
        if node.op_type == "Softmax":
            nodes[-1].output[0] = "scores"
        elif node.op_type == "ConvTranspose":
            weight, bias, name = *(values.pop(name) for name in node.input[1:]), node.name
            values[f"{name}.w"] = weight.transpose(1, 2, 3, 0).reshape(-1, len(weight), 1, 1)
            values[f"{name}.b"] = np.repeat(bias, 4)
            inputs = [node.input[0], f"{name}.w", f"{name}.b"]
            nodes.append(helper.make_node("Conv", inputs, [f"{name}.deep"], name, kernel_shape=[1, 1]))
            outputs = [node.output[0]]
            nodes.append(
                helper.make_node("DepthToSpace", [f"{name}.deep"], outputs, f"{name}.laid", blocksize=2, mode="CRD")
            )
        else:
            nodes.append(node)
    graph = helper.make_graph(
        nodes,
        "walls",
        [helper.make_tensor_value_info("darkness", TensorProto.FLOAT, [1, 1, "height", "width"])],
        [helper.make_tensor_value_info("scores", TensorProto.FLOAT, [1, 6, "height", "width"])],
        [numpy_helper.from_array(np.ascontiguousarray(v), name) for name, v in values.items()],
    )
    return helper.make_model(graph, opset_imports=[helper.make_opsetid("", 17)], ir_version=8)


def crops() -> Iterator[dict[str, NDArray[np.float32]]]:
    """Make the middle of a scan of every kind of made-up plan, worn more or less by turns."""
    for i, kind in enumerate((*KINDS, *SHAPES)):
        scan = scan_plan(make_plan(DEVELOPMENT[i % len(DEVELOPMENT)], kind), QUALITIES[i % len(QUALITIES)])
        scale = (scan.calibration.mx, scan.calibration.my)
        seen = darkness_of(scan.pixels, displayed_size(scan.sheet), scale)[0]
        top, left = ((size - min(CROP, size // 32 * 32)) // 2 for size in seen.shape)
        part = seen[top : top + CROP, left : left + CROP]
        down, across = (size // 32 * 32 for size in part.shape)
        yield {"darkness": np.ascontiguousarray(part[:down, :across])[None, None]}


class Crops(CalibrationDataReader):
    """Hands the crops over."""

    def __init__(self) -> None:
        self.left = crops()

    def get_next(self) -> dict[str, NDArray[np.float32]] | None:
        """Return the next, or nothing."""
        return next(self.left, None)


def main() -> None:
    """Pack."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--from", dest="start", type=Path, default=HERE / "walls.onnx")
    parser.add_argument("--out", type=Path, default=SHIPPED)
    wanted = parser.parse_args()
    model = flat(onnx.load(wanted.start))
    with TemporaryDirectory() as there:
        onnx.save(model, Path(there) / "flat.onnx")
        quantize_static(
            Path(there) / "flat.onnx",
            wanted.out,
            Crops(),
            per_channel=True,
            reduce_range=True,
            activation_type=QuantType.QUInt8,
            weight_type=QuantType.QInt8,
            nodes_to_exclude=[n.name for n in model.graph.node if any(part in n.name for part in KEPT)],
        )


if __name__ == "__main__":
    main()
