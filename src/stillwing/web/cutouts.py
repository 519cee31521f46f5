"""Small pictures of the animals, cut out of the originals once and kept on disk.

A cut-out is named by all it depends on: the file's identity (path, size, time of change), the box and the size asked
for. A file that changed gets a new one; while the memory card that it lies on is out, the one made last is shown.
"""

import hashlib
import os
import tempfile
import threading
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from stillwing.errors import UnreadableFrame, WriteFailed
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_region_rgb, picture_rgb

__all__ = ["MARGIN_SHARE", "SIDES_PX", "CutOuts", "Subject", "padded"]

MARGIN_SHARE = 0.15
"""Room left round the box on each side, as a share of its longest side."""

SIDES_PX = {"lane": 168, "plate": 640}
"""Longest side of a stored cut-out by its use: hung on a curve, or laid on the plate. Never enlarged."""

WHOLE_SIDE_PX = 1600
"""Longest side of a whole picture, shown where no animal was found and where a box is drawn."""

JPEG_QUALITY = 84
MADE_BY = "1"
"""Changes whenever the same subject would give another picture."""

KEPT_BYTES = 2 * 1024**3
"""The folder is trimmed to this at start, the pictures made longest ago first."""


@dataclass(frozen=True, slots=True)
class Subject:
    """What a small picture shows: a part of one frame, or all of it where ``box`` is ``None``."""

    path: Path
    box: Box | None

    def key(self) -> str:
        """Return a name for the file's path and the box."""
        box = self.box
        corners = () if box is None else (box.x_px, box.y_px, box.width_px, box.height_px)
        told = "|".join([MADE_BY, *(f"{one:.2f}" for one in corners)])
        return hashlib.sha256(os.fsencode(self.path) + b"\0" + told.encode()).hexdigest()[:32]


class CutOuts:
    """The folder of small pictures, and the few threads that make them."""

    def __init__(self, folder: Path, workers: int | None = None) -> None:
        self.folder = folder
        self._threads = ThreadPoolExecutor(workers or os.cpu_count() or 1, thread_name_prefix="cut-out")
        self._lock = threading.Lock()
        self._in_hand: dict[str, Future[None]] = {}

    def close(self) -> None:
        """Stop making pictures; what was asked for and not begun is dropped."""
        self._threads.shutdown(wait=True, cancel_futures=True)

    def trim(self, kept_bytes: int = KEPT_BYTES) -> int:
        """Delete the oldest pictures beyond ``kept_bytes``; return how many went."""
        files = [(entry.stat(), entry) for entry in self.folder.glob("*/*.jpg")]
        files.sort(key=lambda one: one[0].st_mtime_ns, reverse=True)
        kept, n_gone = 0, 0
        for status, file in files:
            kept += status.st_size
            if kept > kept_bytes:
                file.unlink(missing_ok=True)
                n_gone += 1
        return n_gone

    def cut_out(self, subject: Subject, use: str) -> Path:
        """Return the small picture of an animal for one of `SIDES_PX`, made when it is not there yet.

        One decode makes it for every use. Without a box, it shows the whole picture.

        Raises
        ------
        UnreadableFrame
            If the original cannot be decoded, or is gone and no picture was kept of it.
        """
        return self._kept(subject, use, self._make_cut_outs)

    def whole(self, path: Path) -> Path:
        """Return the whole picture, reduced; raises as `cut_out` does."""
        return self._kept(Subject(path, None), "whole", self._make_whole)

    def _kept(self, subject: Subject, use: str, make: Callable[[Subject, str], None]) -> Path:
        try:
            status = subject.path.stat()
        except OSError as error:
            return self._made_last(subject, use, error)
        name = f"{subject.key()}-{status.st_size}-{status.st_mtime_ns}"
        path = self._path(name, use)
        if path.exists():
            return path
        with self._lock:
            if path.exists():  # made while this request waited for the lock
                return path
            # Two requests for one picture, or for two sizes of it, wait for the same decode.
            task = f"{make.__name__} {name}"
            future = self._in_hand.get(task)
            if future is None:
                future = self._threads.submit(make, subject, name)
                self._in_hand[task] = future
                future.add_done_callback(lambda _: self._in_hand.pop(task, None))
        future.result()
        return path

    def _made_last(self, subject: Subject, use: str, error: OSError) -> Path:
        key = subject.key()
        made = sorted(
            (self.folder / key[:2]).glob(f"{key}-*-{use}.jpg"), key=lambda one: one.stat().st_mtime_ns, reverse=True
        )
        if made:
            return made[0]
        raise UnreadableFrame(
            subject.path,
            "the original is not there; put back the card or drive that it lies on, and load the page again",
        ) from error

    def _path(self, name: str, use: str) -> Path:
        return self.folder / name[:2] / f"{name}-{use}.jpg"

    def _make_cut_outs(self, subject: Subject, name: str) -> None:
        if subject.box is None:
            rgb = picture_rgb(subject.path, max(SIDES_PX.values()))
        else:
            rgb = decode_region_rgb(subject.path, subject.box)
        for use, side_px in SIDES_PX.items():
            _write(self._path(name, use), reduced(rgb, side_px))

    def _make_whole(self, subject: Subject, name: str) -> None:
        _write(self._path(name, "whole"), picture_rgb(subject.path, WHOLE_SIDE_PX))


def padded(box: Box, frame_width_px: float, frame_height_px: float) -> Box:
    """Return ``box`` with its margin, on whole pixels, within the frame."""
    margin = MARGIN_SHARE * max(box.width_px, box.height_px)
    left = max(0.0, np.floor(box.x_px - margin))
    top = max(0.0, np.floor(box.y_px - margin))
    right = min(frame_width_px, np.ceil(box.x_px + box.width_px + margin))
    bottom = min(frame_height_px, np.ceil(box.y_px + box.height_px + margin))
    return Box(float(left), float(top), float(max(right - left, 1.0)), float(max(bottom - top, 1.0)))


def reduced(rgb: NDArray[np.uint8], side_px: int) -> NDArray[np.uint8]:
    """Return ``rgb`` with its longest side at most ``side_px``, averaged down."""
    rows, columns = rgb.shape[:2]
    scale = side_px / max(rows, columns)
    if scale >= 1:
        return rgb
    size = max(1, round(columns * scale)), max(1, round(rows * scale))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)


def _write(path: Path, rgb: NDArray[np.uint8]) -> None:
    """Store a JPEG; another process sees all of it or nothing."""
    packed = simplejpeg.encode_jpeg(np.ascontiguousarray(rgb), quality=JPEG_QUALITY, colorspace="RGB")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, suffix=".part", delete=False) as file:
            file.write(packed)
        Path(file.name).replace(path)
    except OSError as error:
        raise WriteFailed(path, f"the small picture could not be kept: {error.strerror}") from error
