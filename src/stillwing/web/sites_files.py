"""What a page hands over to be kept: a file with a name that any system takes."""

import re
import unicodedata
from urllib.parse import quote

from fastapi.responses import Response

__all__ = ["as_file", "file_stem"]

LONGEST_STEM = 80


def file_stem(*parts: str) -> str:
    """Return a file's name without its suffix, from words that may hold anything.

    Examples
    --------
    >>> file_stem("Mühl-Teich / Nord", "2026-07-15")
    'mühl-teich-nord-2026-07-15'
    """
    plain = unicodedata.normalize("NFC", " ".join(parts)).casefold()
    return re.sub(r"[\W_]+", "-", plain).strip("-")[:LONGEST_STEM] or "stillwing"


def as_file(content: str | bytes, name: str, media_type: str) -> Response:
    """Return a response that the browser keeps as a file called ``name``."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    headers = {"Content-Disposition": f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"}
    return Response(content, media_type=media_type, headers=headers)
