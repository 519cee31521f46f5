"""JSON as this program prints it: one object or list, in which figures that are not finite are null."""

import json
import math
from typing import Any

import numpy as np

__all__ = ["json_text"]


def json_text(value: Any) -> str:
    """Return ``value`` as JSON; arrays become lists.

    Examples
    --------
    >>> json_text({"ev": float("inf"), "rates": np.array([0.5, np.nan])})
    '{"ev": null, "rates": [0.5, null]}'
    """
    return json.dumps(_plain(value))


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray | np.generic):
        return _plain(value.tolist())
    if isinstance(value, dict):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
