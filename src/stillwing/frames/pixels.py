"""Pixels of a frame, upright and, in colour, as sRGB; the only door to the decoders.

Each function reads the file once, as plain bytes, and refuses what is damaged, cut short or absurdly large with one
sentence: a half-grey picture would be measured as a soft one.
"""

from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from stillwing.errors import OutsideModel, UnreadableFrame
from stillwing.frames.colour import jpeg_profile, to_srgb
from stillwing.frames.files import FileKind, check_kind, kind_of_bytes, read_head, read_whole
from stillwing.frames.frame import Frame
from stillwing.frames.heif import decode_heif
from stillwing.frames.jpeg import decode_jpeg
from stillwing.frames.measured import Box
from stillwing.frames.orientation import rect_stored, upright
from stillwing.frames.png import decode_png
from stillwing.frames.previews import jpeg_preview, raw_preview
from stillwing.frames.rawfiles import raw_picture
from stillwing.frames.tags import read_tags

__all__ = ["decode_luma", "decode_preview_luma", "decode_region_rgb", "picture_rgb"]

ASPECT_TOLERANCE = 0.02
"""A preview whose proportions differ from the picture's by more has black bars, or is that of a picture not yet cut."""

BAR_LEVEL = 24
"""Bars are this dark or darker in the mean. [DN]"""


def decode_luma(frame: Frame | Path) -> NDArray[np.uint8]:
    """Return the full-size grey picture, upright.

    Parameters
    ----------
    frame : Frame or Path
        A frame, whose first file is decoded, or a file.

    Returns
    -------
    ndarray of uint8, shape (rows, cols)
        Luma as JPEG stores it (ITU-R BT.601), 0 to 255.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read, is damaged or cut short, or claims more than 400 megapixels.

    Notes
    -----
    A RAW file gives its embedded preview where that is full-size, else its sensor data, linearly interpolated.
    """
    path, orientation = _path_and_orientation(frame)
    return upright(_stored_luma(path), orientation)


def decode_preview_luma(frame: Frame) -> NDArray[np.uint8] | None:
    """Return the largest embedded preview as grey, upright; the main picture is not decoded.

    Returns
    -------
    ndarray of uint8, shape (rows, cols), or None
        ``None`` where the file holds no preview of at least 300 px on its longer side, where it is damaged, or where it
        shows another part of the scene than the picture.

    Raises
    ------
    UnreadableFrame
        If the file cannot be read.
    """
    path, orientation = _path_and_orientation(frame)
    kind = _kind(path, read_head(path, 512))
    width, height = frame.tags.width_px or 0, frame.tags.height_px or 0
    data = None
    if kind is FileKind.JPEG:
        data = jpeg_preview(path)
    elif kind is FileKind.RAW:
        data = raw_preview(path, max(width, height))
    if data is None:
        return None
    try:
        luma = decode_jpeg(path, data, "GRAY")
    except UnreadableFrame:
        # The main picture may be whole all the same; it has the last word.
        return None
    return _without_bars(upright(luma, orientation), width, height)


def decode_region_rgb(frame: Frame | Path, box: Box) -> NDArray[np.uint8]:
    """Return the pixels in ``box`` at full size, upright, as sRGB.

    Parameters
    ----------
    frame : Frame or Path
    box : Box
        In pixels of the upright picture; the part outside the picture is left out.

    Returns
    -------
    ndarray of uint8, shape (rows, cols, 3)

    Raises
    ------
    UnreadableFrame
        If the file cannot be decoded.
    OutsideModel
        If no pixel of the picture lies in ``box``.
    """
    path, orientation = _path_and_orientation(frame)
    stored, profile = _stored_rgb(path, None)
    rows, cols = stored.shape[:2]
    height, width = (cols, rows) if orientation >= 5 else (rows, cols)
    left, top = max(0, round(box.x_px)), max(0, round(box.y_px))
    right, below = min(width, round(box.x_px + box.width_px)), min(height, round(box.y_px + box.height_px))
    if right <= left:
        raise OutsideModel("x_px", box.x_px, 0, width, "px")
    if below <= top:
        raise OutsideModel("y_px", box.y_px, 0, height, "px")
    x, y, w, h = (int(side) for side in rect_stored((left, top, right - left, below - top), width, height, orientation))
    return upright(to_srgb(np.ascontiguousarray(stored[y : y + h, x : x + w]), profile), orientation)


def picture_rgb(frame: Frame | Path, max_side_px: int) -> NDArray[np.uint8]:
    """Return the picture with its longer side at most ``max_side_px``, upright, as sRGB; it is never enlarged.

    Returns
    -------
    ndarray of uint8, shape (rows, cols, 3)

    Raises
    ------
    UnreadableFrame
        If the file cannot be decoded.
    OutsideModel
        If ``max_side_px`` is below 1.
    """
    if max_side_px < 1:
        raise OutsideModel("max_side_px", max_side_px, 1, 100_000, "px")
    path, orientation = _path_and_orientation(frame)
    stored, profile = _stored_rgb(path, max_side_px)
    rows, cols = stored.shape[:2]
    share = min(1.0, max_side_px / max(rows, cols))
    if share < 1:
        size = max(1, round(cols * share)), max(1, round(rows * share))
        stored = np.asarray(cv2.resize(stored, size, interpolation=cv2.INTER_AREA))
    return upright(to_srgb(stored, profile), orientation)


def _path_and_orientation(frame: Frame | Path) -> tuple[Path, int]:
    if isinstance(frame, Frame):
        return frame.path, frame.tags.orientation
    return frame, read_tags(frame).orientation


def _kind(path: Path, data: bytes) -> FileKind:
    """Return the kind by the contents: a wrong ending is the listing's concern, the pixels are there."""
    return kind_of_bytes(data) or check_kind(path, data)


def _stored_luma(path: Path) -> NDArray[np.uint8]:
    data = read_whole(path)
    match _kind(path, data):
        case FileKind.JPEG:
            return decode_jpeg(path, data, "GRAY")
        case FileKind.PNG:
            return np.asarray(decode_png(path, data)[0].convert("L"))
        case FileKind.HEIF:
            return np.asarray(decode_heif(path, data)[0].convert("L"))
        case FileKind.RAW:
            picture = raw_picture(path)
            if isinstance(picture, bytes):
                return decode_jpeg(path, picture, "GRAY")
            return np.asarray(cv2.cvtColor(picture, cv2.COLOR_RGB2GRAY))


def _stored_rgb(path: Path, at_least_px: int | None) -> tuple[NDArray[np.uint8], bytes | None]:
    """Return RGB pixels, perhaps reduced but no shorter than ``at_least_px``, and their profile."""
    data = read_whole(path)
    match _kind(path, data):
        case FileKind.JPEG:
            return decode_jpeg(path, data, "RGB", at_least_px=at_least_px), jpeg_profile(data)
        case FileKind.PNG:
            image, profile = decode_png(path, data)
            return np.asarray(image.convert("RGB")), profile
        case FileKind.HEIF:
            image, profile = decode_heif(path, data)
            return np.asarray(image.convert("RGB")), profile
        case FileKind.RAW:
            picture = raw_picture(path)
            if isinstance(picture, bytes):
                return decode_jpeg(path, picture, "RGB", at_least_px=at_least_px), jpeg_profile(picture)
            return picture, None


def _without_bars(luma: NDArray[np.uint8], width: int, height: int) -> NDArray[np.uint8] | None:
    """Return the preview cut to the picture's proportions: cameras set a 3:2 picture into a 4:3 preview."""
    if not width or not height:
        return luma
    rows, cols = luma.shape
    kept_rows, kept_cols = min(rows, cols * height // width), min(cols, rows * width // height)
    if kept_rows >= rows * (1 - ASPECT_TOLERANCE) and kept_cols >= cols * (1 - ASPECT_TOLERANCE):
        return luma
    top, left = (rows - kept_rows) // 2, (cols - kept_cols) // 2
    inside = luma[top : top + kept_rows, left : left + kept_cols]
    n_outside = luma.size - inside.size
    if int(luma.sum(dtype=np.int64)) - int(inside.sum(dtype=np.int64)) > BAR_LEVEL * n_outside:
        # Software that cuts a picture often leaves the preview of the whole in place.
        return None
    return np.ascontiguousarray(inside)
