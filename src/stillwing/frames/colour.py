"""Colour profiles: pixels as the file means them, turned into sRGB."""

import io

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageCms

from stillwing.frames.jpeg import segments

__all__ = ["jpeg_profile", "to_srgb"]

_ICC_START = b"ICC_PROFILE\0"


def jpeg_profile(data: bytes) -> bytes | None:
    """Return the ICC profile of a JPEG, joined from its APP2 segments; ``None`` where one or all are missing.

    References
    ----------
    .. [1] ICC.1:2022, annex B.4, "Embedding ICC profiles in JPEG files".
    """
    parts: dict[int, bytes] = {}
    n_parts = 0
    for marker, at, end in segments(data):
        body = data[at + 4 : end]
        if marker == 0xE2 and body.startswith(_ICC_START) and len(body) > 14:
            n_parts = body[13]
            parts[body[12]] = body[14:]
    if not parts or len(parts) != n_parts:
        return None
    return b"".join(parts[number] for number in sorted(parts))


def to_srgb(rgb: NDArray[np.uint8], profile: bytes | None) -> NDArray[np.uint8]:
    """Return RGB pixels in sRGB (IEC 61966-2-1), perceptual intent.

    A missing, broken or non-RGB ``profile`` leaves the pixels as they are: Exif 2.32 calls such a file sRGB.
    """
    if not profile:
        return rgb
    try:
        source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
        if source.profile.xcolor_space.strip() != "RGB":
            return rgb
        turned = ImageCms.profileToProfile(Image.fromarray(rgb), source, ImageCms.createProfile("sRGB"))
    except (ImageCms.PyCMSError, OSError, ValueError):
        return rgb
    return rgb if turned is None else np.asarray(turned)
