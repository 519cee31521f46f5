"""The originals at one pixel of the picture to one pixel of the screen, in square pieces.

A phone must not load 20 megapixels to look at one wing: the page asks for the pieces in view. Decoding a part of a JPEG
costs nearly as much as all of it, so the picture looked at last stays decoded for the pieces that follow.
"""

import threading
from collections import OrderedDict
from pathlib import Path

import numpy as np
import simplejpeg
from numpy.typing import NDArray

from stillwing.errors import UnknownThing, UnreadableFrame
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_region_rgb

__all__ = ["TILE_PX", "Originals"]

TILE_PX = 512

PICTURES_HELD = 2
"""Decoded pictures kept: the one looked at and its neighbour; a 20 MP picture takes 60 MB."""

WHOLE = Box(0.0, 0.0, 1e6, 1e6)
"""A box that holds any picture; decoding leaves out what lies outside."""

JPEG_QUALITY = 92


class Originals:
    """The originals looked at last, decoded."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._held: OrderedDict[tuple[Path, int, int], NDArray[np.uint8]] = OrderedDict()

    def tile(self, path: Path, column: int, row: int) -> bytes:
        """Return one piece of the upright original as JPEG; pieces at the right and bottom edge are smaller.

        Parameters
        ----------
        path : Path
            The original.
        column, row : int
            Which piece, from 0 at the top left.

        Raises
        ------
        UnreadableFrame
            If the original is gone or cannot be decoded.
        UnknownThing
            If the picture has no such piece.
        """
        # One decode at a time: the pieces of a view are asked for together, and all but the first find it done.
        with self._lock:
            rgb = self._decoded(path)
        piece = rgb[row * TILE_PX : (row + 1) * TILE_PX, column * TILE_PX : (column + 1) * TILE_PX]
        if column < 0 or row < 0 or piece.size == 0:
            raise UnknownThing(f"{path.name} has no piece in column {column}, row {row}")
        packed: bytes = simplejpeg.encode_jpeg(
            np.ascontiguousarray(piece), quality=JPEG_QUALITY, colorspace="RGB", colorsubsampling="444"
        )
        return packed

    def _decoded(self, path: Path) -> NDArray[np.uint8]:
        try:
            status = path.stat()
        except OSError as error:
            raise UnreadableFrame(
                path, "the original is not there; put back the card or drive that it lies on, and look again"
            ) from error
        key = path, status.st_size, status.st_mtime_ns
        if key not in self._held:
            self._held[key] = decode_region_rgb(path, WHOLE)
        self._held.move_to_end(key)
        while len(self._held) > PICTURES_HELD:
            self._held.popitem(last=False)
        return self._held[key]
