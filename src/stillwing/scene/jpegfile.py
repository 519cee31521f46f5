"""A frame's file as a camera writes it: JPEG 4:2:2, Exif with a thumbnail, and a larger preview behind the picture."""

import struct
from pathlib import Path

import cv2
import numpy as np
import simplejpeg
from numpy.typing import NDArray

from stillwing.scene.camera import Camera
from stillwing.scene.exif import Shot, with_tags

__all__ = ["frame_bytes", "write_frame"]

THUMBNAIL = (160, 120)
_MP_VERSION, _MP_COUNT, _MP_ENTRIES = 0xB000, 0xB001, 0xB002
_PRIMARY = 0x20030000
"""Type code of the representative picture (CIPA DC-007, table 4)."""
_VGA_PREVIEW, _HD_PREVIEW = 0x00010001, 0x00010002


def write_frame(path: Path, picture: NDArray[np.uint8], camera: Camera, shot: Shot) -> None:
    """Write the picture, shape (rows, cols, 3), to ``path``."""
    path.write_bytes(frame_bytes(picture, camera, shot))


def frame_bytes(picture: NDArray[np.uint8], camera: Camera, shot: Shot) -> bytes:
    """Return the file: main picture, tags, thumbnail, and behind it the preview named in a multi-picture index."""
    picture = np.ascontiguousarray(picture)
    main = simplejpeg.encode_jpeg(picture, camera.jpeg_quality, "RGB", "422", False)
    if not camera.preview_px:
        return with_tags(main, camera, shot, None)
    thumbnail = _encoded(cv2.resize(picture, THUMBNAIL, interpolation=cv2.INTER_AREA), 80)
    high, wide = picture.shape[:2]
    share = min(1.0, camera.preview_px / max(high, wide))
    size = (round(wide * share / 2) * 2, round(high * share / 2) * 2)
    preview = _encoded(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), 85)
    return _with_preview(
        with_tags(main, camera, shot, thumbnail), preview, _VGA_PREVIEW if size[0] < 1000 else _HD_PREVIEW
    )


def _encoded(picture: cv2.typing.MatLike, quality: int) -> bytes:
    return bytes(simplejpeg.encode_jpeg(np.ascontiguousarray(picture), quality, "RGB", "420", False))


def _with_preview(main: bytes, preview: bytes, type_code: int) -> bytes:
    """Return the file with a multi-picture index (CIPA DC-007) and the preview after the end of the main picture."""
    at = 2
    while main[at] == 0xFF and main[at + 1] in (0xE0, 0xE1):
        at += 2 + struct.unpack(">H", main[at + 2 : at + 4])[0]
    n_tags = 3
    entries_at = 8 + 2 + 12 * n_tags + 4
    header = struct.pack("<4sI H", b"II*\0", 8, n_tags)
    header += struct.pack("<HHI4s", _MP_VERSION, 7, 4, b"0100")
    header += struct.pack("<HHII", _MP_COUNT, 4, 1, 2)
    header += struct.pack("<HHII", _MP_ENTRIES, 7, 32, entries_at) + struct.pack("<I", 0)
    payload_length = 4 + entries_at + 32
    segment_length = 2 + payload_length
    total = len(main) + 2 + segment_length
    # Offsets count from the index's own byte-order mark, 8 bytes into the segment.
    base = at + 8
    entries = struct.pack("<IIIHH", _PRIMARY, total, 0, 0, 0)
    entries += struct.pack("<IIIHH", type_code, len(preview), total - base, 0, 0)
    segment = b"\xff\xe2" + struct.pack(">H", segment_length) + b"MPF\0" + header + entries
    return main[:at] + segment + main[at:] + preview
