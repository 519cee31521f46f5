"""RAW files through LibRaw: the embedded preview where it shows every pixel, else the developed sensor data."""

import os
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import rawpy
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame
from stillwing.frames.jpeg import check_size, jpeg_header

__all__ = ["raw_picture", "raw_thumbnail"]

FULL_SHARE = 0.9
"""A preview at least this wide is the full picture: cameras cut a few per cent of the sensor's edge."""


def raw_thumbnail(path: Path) -> bytes | None:
    """Return the largest embedded JPEG, not turned; ``None`` where there is none.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read as a RAW file.
    """
    try:
        with _quietly(), rawpy.imread(str(path)) as raw:
            return _preview(raw)
    except rawpy.LibRawError as error:
        raise _translate(path, error) from error


def raw_picture(path: Path) -> bytes | NDArray[np.uint8]:
    """Return the whole picture, not turned: the bytes of a full-size JPEG where one is embedded, else RGB pixels.

    Raises
    ------
    UnreadableFrame
        If the file is damaged or cut short, or LibRaw does not know it.
    """
    try:
        with _quietly(), rawpy.imread(str(path)) as raw:
            width, height = raw.sizes.width, raw.sizes.height
            check_size(path, width, height)
            preview = _preview(raw)
            header = None if preview is None else jpeg_header(preview)
            if preview is not None and header is not None and header.width_px >= FULL_SHARE * width:
                return preview
            # Linear interpolation: sharpness is measured, so nothing may sharpen; the camera's white; no stretching.
            developed = raw.postprocess(
                demosaic_algorithm=rawpy.DemosaicAlgorithm.LINEAR, use_camera_wb=True, no_auto_bright=True, user_flip=0
            )
            return np.asarray(developed)
    except rawpy.LibRawError as error:
        raise _translate(path, error) from error


@contextmanager
def _quietly() -> Iterator[None]:
    """Keep what LibRaw writes about a cut file, straight to the error stream, out of the middle of a progress display.

    Only in a main thread, as in a worker process: elsewhere other threads' words would be lost.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    kept = os.dup(2)
    with Path(os.devnull).open("wb") as nowhere:
        os.dup2(nowhere.fileno(), 2)
    try:
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _preview(raw: rawpy.RawPy) -> bytes | None:
    try:
        thumb = raw.extract_thumb()
    except (rawpy.LibRawNoThumbnailError, rawpy.LibRawUnsupportedThumbnailError):
        return None
    return bytes(thumb.data) if thumb.format == rawpy.ThumbFormat.JPEG else None


def _translate(path: Path, error: rawpy.LibRawError) -> UnreadableFrame:
    words = error.args[0].decode(errors="replace") if error.args and isinstance(error.args[0], bytes) else str(error)
    if isinstance(error, rawpy.LibRawFileUnsupportedError):
        return UnreadableFrame(
            path,
            "the RAW file is cut short, or of a kind that LibRaw does not know; copy it again or convert it to DNG",
        )
    return UnreadableFrame(path, f"the RAW file is damaged or cut short ({words}); copy it from the card again")
