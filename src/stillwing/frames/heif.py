"""HEIF pictures, where the optional ``pillow-heif`` package is installed."""

import io
from pathlib import Path

from PIL import Image

from stillwing.errors import UnreadableFrame
from stillwing.frames.jpeg import PILLOW_ERRORS, check_size

try:
    import pillow_heif
except ImportError:
    IS_INSTALLED = False
else:
    IS_INSTALLED = True

__all__ = ["decode_heif", "heif_size"]


def heif_size(data: bytes) -> tuple[int, int] | None:
    """Return width and height of the upright picture from the headers; ``None`` where they cannot be read. [px]"""
    if not IS_INSTALLED:
        return None
    try:
        width, height = pillow_heif.open_heif(io.BytesIO(data)).size
    except (*PILLOW_ERRORS, RuntimeError):
        return None
    return int(width), int(height)


def decode_heif(path: Path, data: bytes) -> tuple[Image.Image, bytes | None]:
    """Return the picture, already upright, as "L" or "RGB" and its ICC profile.

    Raises
    ------
    UnreadableFrame
        If the library is not installed, or the picture is damaged, cut short or absurdly large.
    """
    if not IS_INSTALLED:
        raise UnreadableFrame(
            path, "HEIF pictures need one more package; install it with: pip install 'stillwing[heif]'"
        )
    try:
        file = pillow_heif.open_heif(io.BytesIO(data), convert_hdr_to_8bit=True)
        check_size(path, *file.size)
        image = file.to_pillow()
        return image.convert("L" if image.mode in ("L", "LA") else "RGB"), file.info.get("icc_profile")
    except (*PILLOW_ERRORS, RuntimeError) as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0]
        raise UnreadableFrame(
            path, f"the HEIF picture is damaged or cut short ({reason}); copy it from the card again"
        ) from error
