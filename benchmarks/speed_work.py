"""What the speed benchmark compares with, as calls that a worker process makes."""

from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
import simplejpeg


def decode_only(paths: Sequence[Path]) -> int:
    """Read each file and decode it once at full size to grey; return the pixels seen."""
    return sum(simplejpeg.decode_jpeg(path.read_bytes(), "GRAY").size for path in paths)


def plain_sharpness(paths: Sequence[Path]) -> list[float]:
    """Return the variance of the Laplacian over each whole frame, decoded by OpenCV: the plain way."""
    return [
        float(cv2.Laplacian(cv2.imdecode(np.fromfile(path, np.uint8), cv2.IMREAD_GRAYSCALE), cv2.CV_64F).var())
        for path in paths
    ]
