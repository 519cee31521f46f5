"""Text as files hold it, read with one sentence for whatever is wrong."""

from pathlib import Path

from stillwing.errors import InputError

__all__ = ["read_text"]

LARGEST_MB = 50


def read_text(path: Path) -> str:
    """Return the text of a file.

    Raises
    ------
    InputError
        If it cannot be read, is larger than 50 MB, empty, or no text.
    """
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= LARGEST_MB * 1_000_000 else b""
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}") from error
    if size > LARGEST_MB * 1_000_000:
        raise InputError(f"{path} is {size / 1e6:,.0f} MB; an outline is up to {LARGEST_MB} MB")
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise InputError(f"{path} is not text in UTF-8: byte {error.start + 1} does not fit") from error
    if not text.strip():
        raise InputError(f"{path} is empty")
    return text
