"""PNG pictures, of 8 or 16 bits, through Pillow."""

import io
import struct
import warnings
import zlib
from pathlib import Path

import numpy as np
from PIL import Image, PngImagePlugin

from stillwing.errors import UnreadableFrame
from stillwing.frames.jpeg import PILLOW_ERRORS, check_size

__all__ = ["decode_png"]


def decode_png(path: Path, data: bytes) -> tuple[Image.Image, bytes | None]:
    """Return the stored picture as "L" or "RGB" and its ICC profile.

    Raises
    ------
    UnreadableFrame
        If the picture is damaged, cut short or absurdly large.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            image = PngImagePlugin.PngImageFile(io.BytesIO(data))
            check_size(path, *image.size)
            image.load()
            if image.mode.startswith("I"):
                # 16-bit grey: 65535 is white.
                image_8bit = Image.fromarray((np.asarray(image).astype(np.uint32) // 257).astype(np.uint8))
                return image_8bit, None
            return image.convert("L" if image.mode in ("1", "L", "LA") else "RGB"), image.info.get("icc_profile")
    except (*PILLOW_ERRORS, zlib.error, struct.error) as error:
        reason = (str(error).splitlines() or [type(error).__name__])[0]
        raise UnreadableFrame(path, f"the PNG is damaged or cut short ({reason}); copy it again") from error
