"""Make the network that is shipped out of the one that was trained: whole numbers of eight bits for its weights.

Usage: python -m tests.training.pack_walls [--from walls.onnx] [--mean next/walls.onnx 0.7] [--out shipped.onnx]
With ``--mean`` the first becomes the mean of both before. It needs onnx beside the project. What the layers' values
range over is taken from made-up scans. Weights take seven of the eight bits: on processors without VNNI instructions
sums of two products would otherwise be cut off at 16 bits (ONNX Runtime's guide to quantization). The first and the
last layer keep single numbers. Chances are made of the scores by whoever asks.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
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


class LaidOut:
    """The packed network with its values in the order that whole numbers are worked on in: pixel by pixel.

    It takes patches of 4 by 4 pixels, 1 × half the height × half the width × 16, and gives the scores of the pixels two
    by two, 24 × their number: the same scores to the last bit. The first and the last layer become products of
    matrices, and a lift's channels are put in the order in which they are laid. Without it two fifths of the time go
    into turning values from one order into the other.
    """

    def __init__(self, packed: onnx.ModelProto) -> None:
        nodes = packed.graph.node
        self.values = {i.name: numpy_helper.to_array(i) for i in packed.graph.initializer}
        self.maker = {name: node for node in nodes for name in node.output}
        self.taker = {name: node for node in nodes for name in node.input}
        self.nodes: list[onnx.NodeProto] = []
        for node in nodes:
            before = self.maker.get(node.input[0])
            if node.op_type == "QuantizeLinear" and before is not None and "stem" in before.output[0]:
                self.stem(node, self.maker[before.input[0]])
            elif node.op_type == "QuantizeLinear" and before is not None and before.op_type == "DepthToSpace":
                self.lift(node, before.output[0].removesuffix("_output_0"), self.maker[before.input[0]].input[0])
            elif node.op_type == "Conv" and "head" in node.output[0]:
                self.head(node, before)
            elif node.op_type != "DepthToSpace":
                self.nodes.append(node)
        needed = {"scores"}
        for node in reversed(self.nodes):
            needed.update(node.input if needed & set(node.output) else ())
        self.nodes = [node for node in self.nodes if node.output[0] in needed]

    def put(self, kind: str, inputs: Sequence[str], output: str, **how: object) -> str:
        """Put in a step; return what it makes."""
        self.nodes.append(helper.make_node(kind, inputs, [output], output, **how))
        return output

    def numbers(self, name: str, *numbers: int) -> str:
        """Put in whole numbers; return their name."""
        self.values[name] = np.array(numbers, np.int64)
        return name

    def stem(self, pack: onnx.NodeProto, conv: onnx.NodeProto) -> None:
        """Put in the first layer; what is below nothing is cut off as it is packed."""
        weight, bias = (self.values[name] for name in conv.input[1:])
        self.values |= {"stem.w": weight.reshape(len(weight), -1).T, "stem.b": bias}
        rows = self.put("Reshape", ["patches", self.numbers("stem.flat", -1, 16)], "stem.rows")
        packed = self.put(
            "QuantizeLinear", [self.put("Gemm", [rows, "stem.w", "stem.b"], "stem.out"), *pack.input[1:]], "stem.packed"
        )
        size = [self.put("Shape", ["patches"], "stem.size", end=3), self.numbers("stem.deep", len(weight))]
        laid = self.put("Reshape", [packed, self.put("Concat", size, "stem.to", axis=0)], "stem.laid")
        self.put("Transpose", [laid], pack.output[0], perm=[0, 3, 1, 2])

    def lift(self, pack: onnx.NodeProto, name: str, deep: str) -> None:
        """Lay out a lift, ``deep`` as it is packed, to the size of what it is joined with."""
        side = self.maker[self.taker[self.taker[pack.output[0]].output[0]].input[1]].input[0]
        width = len(self.values[f"{name}.b_quantized"]) // 4
        order = np.arange(4 * width).reshape(width, 4).T.ravel()
        for one in [v for v in self.values if v.startswith((f"{name}.w", f"{name}.b")) and self.values[v].ndim]:
            self.values[one] = self.values[one][order]
        rows = self.put("Transpose", [deep], f"{name}.rows", perm=[0, 2, 3, 1])
        fours = self.put("Reshape", [rows, self.numbers(f"{name}.two", 0, 0, 0, 2, 2 * width)], f"{name}.fours")
        laid = self.put("Transpose", [fours], f"{name}.laid", perm=[0, 1, 3, 2, 4])
        size = [self.put("Shape", [side], f"{name}.size"), self.numbers(f"{name}.last", 0, 2, 3, 1)]
        whole = self.put("Reshape", [laid, self.put("Gather", size, f"{name}.to")], f"{name}.whole")
        self.put("Transpose", [whole], pack.output[0], perm=[0, 3, 1, 2])

    def head(self, conv: onnx.NodeProto, unpack: onnx.NodeProto) -> None:
        """Put in the last layer."""
        weight, bias = (self.values[name] for name in conv.input[1:])
        self.values |= {"head.w": weight[:, :, 0, 0], "head.b": bias[:, None]}
        laid = self.put("Transpose", unpack.input[:1], "head.laid", perm=[0, 2, 3, 1])
        rows = self.put("Reshape", [laid, self.numbers("head.flat", -1, weight.shape[1])], "head.rows")
        values = self.put("DequantizeLinear", [rows, *unpack.input[1:]], "head.in")
        self.put("Gemm", ["head.w", values, "head.b"], "scores", transB=1)

    def model(self) -> onnx.ModelProto:
        """Return all of it."""
        needed = {name for node in self.nodes for name in node.input}
        graph = helper.make_graph(
            self.nodes,
            "walls",
            [helper.make_tensor_value_info("patches", TensorProto.FLOAT, [1, "height", "width", 16])],
            [helper.make_tensor_value_info("scores", TensorProto.FLOAT, [24, "pixels"])],
            [
                numpy_helper.from_array(np.array(v, order="C"), name)
                for name, v in self.values.items()
                if name in needed
            ],
        )
        return helper.make_model(graph, opset_imports=[helper.make_opsetid("", 17)], ir_version=8)


def meant(first: onnx.ModelProto, second: onnx.ModelProto, share: float) -> onnx.ModelProto:
    """Return a network as trained with the mean of two networks' weights, of which the second has a share."""
    places = []
    for model in (first, second):
        values = {i.name: i for i in model.graph.initializer}
        places.append([values[name] for n in model.graph.node if n.op_type.startswith("Conv") for name in n.input[1:]])
    for one, other in zip(*places, strict=True):
        mean = (1 - share) * numpy_helper.to_array(one) + share * numpy_helper.to_array(other)
        other.CopyFrom(numpy_helper.from_array(mean.astype(np.float32), other.name))
    return second


def main() -> None:
    """Pack."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--from", dest="start", type=Path, default=HERE / "walls.onnx")
    parser.add_argument("--out", type=Path, default=SHIPPED)
    parser.add_argument("--mean", nargs=2, metavar=("NETWORK", "SHARE"), help="trained on; its share of a mean with it")
    wanted = parser.parse_args()
    trained = onnx.load(wanted.start)
    if wanted.mean:
        trained = meant(trained, onnx.load(wanted.mean[0]), float(wanted.mean[1]))
        onnx.save(trained, wanted.start)
    model = flat(trained)
    with TemporaryDirectory() as there:
        onnx.save(model, Path(there) / "flat.onnx")
        packed = Path(there) / "packed.onnx"
        quantize_static(
            Path(there) / "flat.onnx",
            packed,
            Crops(),
            per_channel=True,
            reduce_range=True,
            activation_type=QuantType.QUInt8,
            weight_type=QuantType.QInt8,
            nodes_to_exclude=[n.name for n in model.graph.node if any(part in n.name for part in KEPT)],
        )
        onnx.save(LaidOut(onnx.load(packed)).model(), wanted.out)


if __name__ == "__main__":
    main()
