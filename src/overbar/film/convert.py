"""Convert a net's published graph (TF.js graph model) to ONNX, with NumPy and onnx alone.

Only the layer kinds the two nets of :mod:`overbar.film.weights` use are known;
anything else is an error. Layers the asked outputs do not need (a segmentation
branch) are left out. Weights are stored as 16-bit floats, as published, and cast
to 32 bits when a session is made, so the same package always gives the same bytes.
"""

from __future__ import annotations

import base64
import json
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from overbar.errors import BadInput

Array = NDArray[Any]
OPSET = 17
IR_VERSION = 9
STORE_AS_HALF_FROM = 16
"""Constants of at least this many values are weights and stored in 16 bits."""


@dataclass(frozen=True)
class Graph:
    """A published graph: its layers by name and its weights."""

    layers: dict[str, dict[str, Any]]
    weights: dict[str, Array]


@dataclass(frozen=True)
class Output:
    """One output: the layer it comes from, its name and shape; ``times`` scales its sigmoid if given."""

    layer: str
    name: str
    shape: tuple[int, ...]
    times: Array | None = None


@dataclass
class _Build:
    graph: Graph
    nodes: list[onnx.NodeProto] = field(default_factory=list)
    constants: list[onnx.TensorProto] = field(default_factory=list)
    done: dict[str, str] = field(default_factory=dict)

    def constant(self, name: str, value: Array) -> str:
        value = np.ascontiguousarray(value)
        if value.dtype == np.float32 and value.size >= STORE_AS_HALF_FROM and _exact_in_half(value):
            self.constants.append(numpy_helper.from_array(value.astype(np.float16), name + "/half"))
            return self.node("Cast", [name + "/half"], name, to=TensorProto.FLOAT)
        self.constants.append(numpy_helper.from_array(value, name))
        return name

    def node(self, kind: str, inputs: list[str], output: str, **settings: Any) -> str:
        self.nodes.append(helper.make_node(kind, inputs, [output], **settings))
        return output


def read_graph(description: bytes, weights: bytes) -> Graph:
    """Read the graph from the bytes of its ``.json`` and ``.bin``.

    Raises
    ------
    BadInput
        The weights are stored in an unknown way or do not fill the file.
    """
    data = json.loads(description)
    table: dict[str, Array] = {}
    at = 0
    for item in data["weightsManifest"][0]["weights"]:
        count = int(np.prod(item["shape"], dtype=np.int64)) if item["shape"] else 1
        packed = item.get("quantization", {}).get("dtype", item["dtype"])
        kinds = {"float16": np.float16, "float32": np.float32, "int32": np.int32, "bool": np.bool_}
        if packed not in kinds:
            raise BadInput(f"weights stored as {packed}", where=item["name"])
        kind = np.dtype(kinds[packed])
        values = np.frombuffer(weights, kind, count, at)
        at += count * kind.itemsize
        if packed == "float16":
            values = values.astype(np.float32)
        table[item["name"]] = values.reshape(item["shape"])
    if at != len(weights):
        raise BadInput(f"the weights fill {at} of {len(weights)} bytes")
    return Graph({layer["name"]: layer for layer in data["modelTopology"]["node"]}, table)


def to_onnx(
    graph: Graph,
    side: int,
    outputs: list[Output],
    start: str,
    scale: tuple[Array, Array, Array] | None = None,
) -> bytes:
    """Return the ONNX file of the part of a graph that makes the asked outputs.

    Parameters
    ----------
    graph : Graph
        The published graph.
    side : int
        Side of the square picture that goes in, in pixels (shape 1, side, side, 3).
    outputs : list of Output
        What comes out, channels last.
    start : str
        Name of the layer the picture enters at.
    scale : tuple of three arrays, optional
        (a, b, c): the picture enters as ``(picture - a) * b - c``.

    Returns
    -------
    bytes
        The same bytes for the same graph.
    """
    build = _Build(graph)
    build.node("Transpose", ["picture"], "planes", perm=[0, 3, 1, 2])
    build.done[start] = "planes"
    if scale:
        a, b, c = (value.reshape(1, -1, 1, 1).astype(np.float32) for value in scale)
        build.node("Sub", ["planes", build.constant("scale/a", a)], "scale/1")
        build.node("Mul", ["scale/1", build.constant("scale/b", b)], "scale/2")
        build.done[start] = build.node("Sub", ["scale/2", build.constant("scale/c", c)], "scale/3")
    infos = []
    for output in outputs:
        made = _layer(build, output.layer)
        if output.times is not None:
            factor = build.constant(output.name + "/times", output.times.astype(np.float32))
            made = build.node("Sigmoid", [made], output.name + "/chance")
            made = build.node("Mul", [made, factor], output.name + "/weighted")
        if len(output.shape) == 4:
            build.node("Transpose", [made], output.name, perm=[0, 2, 3, 1])
        else:
            build.node("Identity", [made], output.name)
        infos.append(helper.make_tensor_value_info(output.name, TensorProto.FLOAT, output.shape))
    picture = helper.make_tensor_value_info("picture", TensorProto.FLOAT, [1, side, side, 3])
    made_graph = helper.make_graph(build.nodes, "net", [picture], infos, build.constants)
    model = helper.make_model(
        made_graph, opset_imports=[helper.make_opsetid("", OPSET)], producer_name="overbar"
    )
    model.ir_version = IR_VERSION
    onnx.checker.check_model(model)
    return model.SerializeToString(deterministic=True)


def _exact_in_half(value: Array) -> bool:
    with np.errstate(over="ignore"):
        return bool(np.array_equal(value.astype(np.float16).astype(np.float32), value))


def _layer(build: _Build, name: str) -> str:
    """Return the tensor a layer makes, building what it needs first (without recursion: nets are deep)."""
    waiting = [name.split(":")[0]]
    while waiting:
        layer = build.graph.layers[waiting[-1]]
        needs = [source for source in _sources(build, layer) if source not in build.done]
        if needs:
            waiting.extend(needs)
            continue
        if waiting[-1] not in build.done:
            build.done[waiting[-1]] = _make(build, layer)
        waiting.pop()
    return build.done[name.split(":")[0]]


def _sources(build: _Build, layer: dict[str, Any]) -> list[str]:
    inputs = [one.split(":")[0] for one in layer.get("input", [])]
    return [one for one in inputs if one not in build.graph.weights and not _is_constant(build, one)]


def _is_constant(build: _Build, name: str) -> bool:
    return build.graph.layers[name]["op"] == "Const"


def _make(build: _Build, layer: dict[str, Any]) -> str:
    name, kind, settings = layer["name"], layer["op"], layer.get("attr", {})
    inputs = [one.split(":")[0] for one in layer.get("input", [])]
    weights = build.graph.weights
    first = build.done.get(inputs[0], "") if inputs else ""
    if kind in ("_FusedConv2D", "FusedDepthwiseConv2dNative", "DepthwiseConv2dNative", "Conv2D"):
        return _convolution(build, layer, inputs, first)
    if kind in ("AddV2", "Add"):
        if inputs[1] in weights:
            other = build.constant(name + "/k", weights[inputs[1]].reshape(1, -1, 1, 1))
        else:
            other = build.done[inputs[1]]
        return build.node("Add", [first, other], name)
    if kind == "ResizeBilinear":
        twice = build.constant(name + "/scales", np.array([1, 1, 2, 2], np.float32))
        half = settings.get("half_pixel_centers", {}).get("b")
        corners = settings.get("align_corners", {}).get("b")
        mode = "half_pixel" if half else ("align_corners" if corners else "asymmetric")
        return build.node(
            "Resize", [first, "", twice], name, mode="linear", coordinate_transformation_mode=mode
        )
    if kind == "Pad":
        margins = weights[inputs[1]].tolist()
        planes_first = [margins[0], margins[3], margins[1], margins[2]]
        flat = [before for before, _ in planes_first] + [after for _, after in planes_first]
        return build.node("Pad", [first, build.constant(name + "/margins", np.array(flat, np.int64))], name)
    if kind == "MaxPool":
        return build.node(
            "MaxPool",
            [first],
            name,
            kernel_shape=_whole(settings["ksize"])[1:3],
            strides=_whole(settings["strides"])[1:3],
            auto_pad=_padding(settings),
        )
    if kind == "Reshape":
        last = build.node("Transpose", [first], name + "/last", perm=[0, 2, 3, 1])
        shape = build.constant(name + "/shape", weights[inputs[1]].astype(np.int64))
        return build.node("Reshape", [last, shape], name)
    if kind == "Identity":
        return first
    if kind == "Relu6":
        return _clip(build, first, name)
    if kind in ("Relu", "Sigmoid"):
        return build.node(kind, [first], name)
    raise BadInput(f"layer kind {kind} is not known", where=name)


def _convolution(build: _Build, layer: dict[str, Any], inputs: list[str], source: str) -> str:
    name, settings = layer["name"], layer["attr"]
    kernel = build.graph.weights[inputs[1]]
    groups = 1
    if "Depthwise" in layer["op"]:
        high, wide, planes, many = kernel.shape
        kernel = kernel.reshape(high, wide, 1, planes * many).transpose(3, 2, 0, 1)
        groups = planes
    else:
        kernel = kernel.transpose(3, 2, 0, 1)
    fused = [base64.b64decode(s).decode() for s in settings.get("fused_ops", {}).get("list", {}).get("s", [])]
    sources = [source, build.constant(name + "/w", kernel)]
    if "BiasAdd" in fused:
        sources.append(build.constant(name + "/b", build.graph.weights[inputs[2]]))
    after = [one for one in fused if one != "BiasAdd"]
    made = build.node(
        "Conv",
        sources,
        name + "/sum" if after else name,
        auto_pad=_padding(settings),
        strides=_whole(settings["strides"])[1:3],
        dilations=_whole(settings["dilations"])[1:3] if "dilations" in settings else [1, 1],
        group=groups,
        kernel_shape=list(kernel.shape[2:]),
    )
    if after == ["Relu6"]:
        return _clip(build, made, name)
    if after == ["Relu"]:
        return build.node("Relu", [made], name)
    if after:
        raise BadInput(f"fused step {after} is not known", where=name)
    return made


def _clip(build: _Build, source: str, name: str) -> str:
    low = build.constant(name + "/low", np.array(0, np.float32))
    high = build.constant(name + "/high", np.array(6, np.float32))
    return build.node("Clip", [source, low, high], name)


def _whole(setting: dict[str, Any]) -> list[int]:
    return [int(v) for v in setting["list"].get("i", [])]


def _padding(settings: dict[str, Any]) -> str:
    kind = base64.b64decode(settings["padding"]["s"]).decode()
    return {"SAME": "SAME_UPPER", "VALID": "VALID"}[kind]
