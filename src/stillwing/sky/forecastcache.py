"""The last answer of a forecast service for a place, kept so that the plan works without a network."""

import json
import secrets
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import platformdirs

from stillwing.errors import WriteFailed

__all__ = ["KeptAnswer", "default_folder", "keep", "kept"]


@dataclass(frozen=True, slots=True)
class KeptAnswer:
    """An answer as it came, and when."""

    fetched_at: datetime
    answer: Any


def default_folder() -> Path:
    """Return the folder for kept answers in the platform's cache folder."""
    return platformdirs.user_cache_path("stillwing", appauthor=False) / "forecasts"


def kept(path: Path) -> KeptAnswer | None:
    """Return the answer kept at ``path``, None where there is none or it is damaged: it will be fetched again."""
    try:
        held = json.loads(path.read_bytes())
        fetched_at = datetime.fromisoformat(held["fetched_at"]).astimezone(UTC)
        return KeptAnswer(fetched_at, held["answer"])
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return None


def keep(path: Path, fetched_at: datetime, answer: object) -> None:
    """Put an answer in the place of the one kept before, whole or not at all.

    Raises
    ------
    WriteFailed
        If the folder cannot be written.
    """
    # Not flushed to disk, unlike what a person makes: after a power cut a damaged copy is just fetched again.
    draft = path.with_name(f".{path.name}-{secrets.token_hex(6)}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        draft.write_text(json.dumps({"fetched_at": fetched_at.isoformat(), "answer": answer}), "utf-8")
        draft.replace(path)
    except OSError as error:
        with suppress(OSError):
            draft.unlink(missing_ok=True)
        raise WriteFailed(path, f"cannot be written: {error.strerror or error}") from error
