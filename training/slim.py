"""Halve the size of an exported network: weights are stored in 16 bits and widened once when the network is loaded.

    python training/slim.py IN.onnx OUT.onnx

What the networks say changes by less than it differs from one training to the next.
"""

import sys

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

LEAST_VALUES = 256
"""Smaller tensors, biases among them, stay as they are."""


def slim(model: onnx.ModelProto) -> onnx.ModelProto:
    """Return the network with its large float32 weights in float16, each behind a cast."""
    casts = []
    for tensor in list(model.graph.initializer):
        values = numpy_helper.to_array(tensor)
        if tensor.data_type != TensorProto.FLOAT or values.size < LEAST_VALUES:
            continue
        name = tensor.name
        model.graph.initializer.remove(tensor)
        model.graph.initializer.append(numpy_helper.from_array(values.astype(np.float16), f"{name}_16"))
        casts.append(helper.make_node("Cast", [f"{name}_16"], [name], to=TensorProto.FLOAT))
    for cast in reversed(casts):
        model.graph.node.insert(0, cast)
    onnx.checker.check_model(model)
    return model


if __name__ == "__main__":
    onnx.save(slim(onnx.load(sys.argv[1])), sys.argv[2])
