"""Whole JPEG pictures from bytes, by libjpeg-turbo; a damaged one is refused, never half decoded.

libjpeg fills what is missing with grey and only warns. Here every warning counts, but for two that cost no pixel: a
missing end marker, and padding before it.
"""

import io
import re
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
import simplejpeg
from numpy.typing import NDArray
from PIL import JpegImagePlugin

from stillwing.errors import UnreadableFrame

__all__ = [
    "MAX_PIXELS",
    "PILLOW_ERRORS",
    "JpegHeader",
    "check_size",
    "decode_jpeg",
    "essential_segments",
    "jpeg_header",
    "segments",
]

MAX_PIXELS = 400_000_000
"""Twice the largest medium-format frame; anything above is a damaged or hostile header."""

MAX_PIXELS_PER_BYTE = 1024
"""A JPEG spends at least 2 bits on each block of 64 pixels (T.81, F.1.2); four times that allows for optimised runs."""

PILLOW_ERRORS = (
    OSError,
    SyntaxError,
    ValueError,
    OverflowError,
    EOFError,
    MemoryError,
    IndexError,
    KeyError,
    TypeError,
)
"""What Pillow's readers raise on damaged files."""

_END = b"\xff\xd9"
_NO_FRAME = (0xC4, 0xC8, 0xCC)
_LOSSLESS = (0xC3, 0xC5, 0xC6, 0xC7, 0xCB, 0xCD, 0xCE, 0xCF)
_PROGRESSIVE = (0xC2, 0xCA)
_PADDING = re.compile(r"(\d+) extraneous bytes before marker 0xd9")


@dataclass(frozen=True, slots=True)
class JpegHeader:
    """The frame header of a JPEG (T.81, B.2.2)."""

    process: int
    """Second byte of the start-of-frame marker, 0xC0 for baseline."""
    bits: int
    height_px: int
    width_px: int
    n_components: int


def segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Yield marker, start and end of each segment before the first scan (T.81, B.1.1); start is that of its marker."""
    at = 2
    while at + 4 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker in (0xD9, 0xDA):
            return
        if marker == 0xFF:
            at += 1
        elif marker == 0x01 or 0xD0 <= marker <= 0xD8:
            at += 2
        else:
            end = at + 2 + int.from_bytes(data[at + 2 : at + 4], "big")
            yield marker, at, end
            at = end


def jpeg_header(data: bytes) -> JpegHeader | None:
    """Return the frame header, found by walking the segments; ``None`` where there is none before the pixels."""
    for marker, at, _ in segments(data):
        if 0xC0 <= marker <= 0xCF and marker not in _NO_FRAME and at + 10 <= len(data):
            height, width = (int.from_bytes(data[at + place : at + place + 2], "big") for place in (5, 7))
            return JpegHeader(marker, data[at + 4], height, width, data[at + 9])
    return None


def essential_segments(data: bytes) -> bytes:
    """Return a JPEG of the Exif and frame header segments alone, without pixels."""
    kept = b"".join(
        data[at:end]
        for marker, at, end in segments(data)
        if (marker == 0xE1 and data[at + 4 : at + 10] == b"Exif\0\0")
        or (0xC0 <= marker <= 0xCF and marker not in _NO_FRAME)
    )
    return data[:2] + kept + _END


def check_size(path: Path, width: int, height: int, n_bytes: int | None = None) -> None:
    """Raise `UnreadableFrame` for a picture that claims no pixels or absurdly many. [px, px, bytes]"""
    if width < 1 or height < 1:
        raise UnreadableFrame(path, f"the header claims {width} x {height} px; the file is damaged")
    if width * height > MAX_PIXELS:
        raise UnreadableFrame(
            path,
            f"the header claims {width} x {height} px, more than the {MAX_PIXELS // 10**6} megapixels that are decoded",
        )
    if n_bytes is not None and width * height > MAX_PIXELS_PER_BYTE * n_bytes:
        raise UnreadableFrame(
            path, f"the header claims {width} x {height} px, but only {n_bytes} bytes follow; copy it again"
        )


def decode_jpeg(
    path: Path, data: bytes, colour: Literal["GRAY", "RGB"], *, at_least_px: int | None = None
) -> NDArray[np.uint8]:
    """Return the stored picture, not turned.

    Parameters
    ----------
    path : Path
        Named in the error only.
    data : bytes
        The whole file.
    colour : "GRAY" or "RGB"
        Grey is the luma that the file stores.
    at_least_px : int, optional
        Allow a picture reduced to 1/2, 1/4 or 1/8, as long as its longer side stays at least this long. [px]

    Returns
    -------
    ndarray of uint8, shape (rows, cols) or (rows, cols, 3)

    Raises
    ------
    UnreadableFrame
        If the picture is damaged, cut short, absurdly large, or of a kind that libjpeg-turbo does not decode.
    """
    header = jpeg_header(data)
    if header is None:
        raise UnreadableFrame(path, "no picture begins in this JPEG; copy it from the card again")
    check_size(path, header.width_px, header.height_px, len(data))
    if header.bits != 8 or header.process in _LOSSLESS:
        what = f"{header.bits}-bit " + ("lossless " if header.process in _LOSSLESS else "")
        raise UnreadableFrame(path, f"a {what}JPEG; only 8-bit lossy ones can be decoded, save it as such")
    if header.n_components not in (1, 3):
        return _by_pillow(path, data, colour)
    scale: dict[str, int] = {}
    if at_least_px is not None:
        share = at_least_px / max(header.width_px, header.height_px)
        scale = {
            "min_width": int(header.width_px * share),
            "min_height": int(header.height_px * share),
            "min_factor": 1,
        }
    try:
        picture = _turbo(data, colour, **scale)
    except ValueError as error:
        if "subsampling" in str(error):
            return _by_pillow(path, data, colour)
        picture = _recover(path, data, colour, header, error)
    return picture[..., 0] if colour == "GRAY" else picture


def _turbo(data: bytes, colour: str, **options: int) -> NDArray[np.uint8]:
    return np.asarray(simplejpeg.decode_jpeg(data, colour, **options))


def _recover(path: Path, data: bytes, colour: str, header: JpegHeader, error: ValueError) -> NDArray[np.uint8]:
    """Return the picture where ``error`` costs no pixel; else say what is wrong."""
    message = str(error)
    padding = _PADDING.search(message)
    if padding is not None and _is_padded(data, int(padding[1])):
        return _turbo(data, colour, strict=False)
    if "Premature end" in message:
        try:
            return _turbo(data + _END, colour)
        except ValueError:
            raise UnreadableFrame(path, _cut_short(data, header)) from error
    if "premature end of data segment" in message:
        raise UnreadableFrame(
            path, "part of the JPEG's data is missing or overwritten; copy it from the card again"
        ) from error
    raise UnreadableFrame(path, f"the JPEG is damaged ({message}); copy it from the card again") from error


def _is_padded(data: bytes, n_bytes: int) -> bool:
    """Return whether the bytes before an end marker are nothing but filling."""
    end = data.rfind(_END)
    while end > 0:
        if len(set(data[end - n_bytes : end])) == 1:
            return True
        end = data.rfind(_END, 0, end)
    return False


def _cut_short(data: bytes, header: JpegHeader) -> str:
    if header.process in _PROGRESSIVE:
        return "the progressive JPEG ends before its last scan; copy it from the card again"
    try:
        luma = _turbo(data, "GRAY", strict=False)[..., 0]
    except ValueError:
        return "the JPEG ends before its first pixel; copy it from the card again"
    # What libjpeg makes up after the end repeats one value, so that whole rows are flat.
    textured = np.flatnonzero(luma.max(axis=1) > luma.min(axis=1))
    share = (textured[-1] + 1) / len(luma) if textured.size else 0.0
    return f"the JPEG ends after {100 * share:.0f} % of the picture; copy it from the card again"


def _by_pillow(path: Path, data: bytes, colour: str) -> NDArray[np.uint8]:
    """Return a picture in inks, or with a sampling that the fast binding does not know."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            # The reader itself: Image.open has a limit of its own, below that of check_size.
            image = JpegImagePlugin.JpegImageFile(io.BytesIO(data))
            return np.asarray(image.convert("L" if colour == "GRAY" else "RGB"))
    except PILLOW_ERRORS as error:
        raise UnreadableFrame(
            path, f"the JPEG is damaged ({_first_line(error)}); copy it from the card again"
        ) from error


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
