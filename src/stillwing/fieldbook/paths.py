"""Paths and words as the field book keeps them: absolute, and whatever bytes a file name or a tag holds."""

import json
import os
from collections.abc import Sequence
from pathlib import Path

from sqlalchemy import Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator

__all__ = ["AnyText", "FilePath", "paths_from", "paths_text", "stored_path"]


class FilePath(TypeDecorator[Path]):
    """An absolute path as text, or as bytes where a file name is no valid UTF-8."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: Path | None, dialect: Dialect) -> str | bytes | None:
        """Return what SQLite stores."""
        if value is None:
            return None
        written = str(value)
        try:
            written.encode()
        except UnicodeEncodeError:
            # SQLite keeps the bytes as they are; such a name compares with itself only, which is all that is asked.
            return os.fsencode(written)
        return written

    def process_result_value(self, value: str | bytes | None, dialect: Dialect) -> Path | None:
        """Return the path that was stored."""
        return None if value is None else Path(os.fsdecode(value))


class AnyText(TypeDecorator[str]):
    """Words that may come from a file name or a tag, stored as bytes where they are no valid UTF-8."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: str | None, dialect: Dialect) -> str | bytes | None:
        """Return what SQLite stores."""
        if value is None:
            return None
        written = value.encode("utf-8", "surrogatepass")
        return value if written.decode("utf-8", "ignore") == value else written

    def process_result_value(self, value: str | bytes | None, dialect: Dialect) -> str | None:
        """Return the words that were stored."""
        return value.decode("utf-8", "surrogatepass") if isinstance(value, bytes) else value


def stored_path(path: Path) -> Path:
    """Return ``path`` absolute and without ``..``, as the book keeps it.

    Links are not followed, so that a path read back still lies under the folder that the person named.
    """
    return Path(os.path.abspath(path))  # noqa: PTH100  Path.resolve follows links


def paths_text(paths: Sequence[Path]) -> str:
    """Return several paths as the text of one column."""
    # ASCII escapes carry names that are no valid UTF-8 through a text column.
    return json.dumps([str(stored_path(path)) for path in paths])


def paths_from(stored: str) -> tuple[Path, ...]:
    """Return the paths of one column that holds several."""
    return tuple(map(Path, json.loads(stored)))
