"""Our small networks, run on one core of the processor."""

from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import numpy as np
import onnxruntime
from numpy.typing import NDArray

__all__ = ["run_network"]


def run_network(name: str, inputs: Mapping[str, NDArray[np.float32]]) -> list[NDArray[np.float32]]:
    """Return the outputs of the network ``name`` in the order in which it was exported.

    The weights come from ``training/`` and lie in ``frames/networks``; each is loaded once per process.
    """
    outputs: list[NDArray[np.float32]] = session(name).run(None, dict(inputs))
    return outputs


@cache
def session(name: str) -> onnxruntime.InferenceSession:
    """Load a network; the work is spread over frames, so that each session keeps to one thread."""
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    weights = files("stillwing.frames.networks").joinpath(f"{name}.onnx").read_bytes()
    return onnxruntime.InferenceSession(weights, options, providers=["CPUExecutionProvider"])
