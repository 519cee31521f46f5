"""What bursts teach, kept on disk: a flight takes a second to be made out, and an outing has hundreds."""

import hashlib
import json
import os
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

import platformdirs

from stillwing.review.burstlesson import BurstLesson, Setting

__all__ = ["LessonShelf", "code_version", "default_shelf_folder"]

MADE_BY = ("flight", "optics", "frames", "review", "fieldbook")
"""Rooms whose code decides what a burst teaches."""


def default_shelf_folder() -> Path:
    """Return where lessons are kept: the platform's folder for what can be made again."""
    return platformdirs.user_cache_path("stillwing", appauthor=False) / "lessons"


@cache
def code_version() -> str:
    """Return a digest of the code that makes lessons: another version makes all of them again."""
    digest = hashlib.sha256()
    for room in MADE_BY:
        for file in sorted(files("stillwing").joinpath(room).iterdir(), key=lambda one: one.name):
            if file.name.endswith(".py"):
                digest.update(file.read_bytes())
    return digest.hexdigest()


class LessonShelf:
    """Lessons by burst, one small file each, with what they were made from; a lesson whose causes changed is made anew.

    Parameters
    ----------
    folder : Path
        Made when the first lesson is kept. Where nothing can be written, lessons are made each time.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def lesson(self, place: tuple[object, ...], cause: object, make: Callable[[], BurstLesson]) -> BurstLesson:
        """Return the lesson that is kept for a place and a cause, else what ``make`` gives.

        Parameters
        ----------
        place : tuple
            Which burst of which field book: one lesson is kept for each.
        cause : object
            All that the lesson depends on; its ``repr`` is compared.
        make : callable
            Makes the lesson.
        """
        path = self._folder / f"{_digest(repr(place))[:32]}.json"
        key = _digest(code_version() + repr(cause))
        kept = _read(path, key)
        if kept is None:
            kept = make()
            _write(path, {"key": key, "lesson": asdict(kept)})
        return kept


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def _read(path: Path, key: str) -> BurstLesson | None:
    try:
        told = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return None
    if not isinstance(told, dict) or told.get("key") != key:
        return None
    return _lesson(told["lesson"])


def _lesson(told: dict[str, Any]) -> BurstLesson:
    setting, won = told["setting"], told["won"]
    more = {
        "setting": None if setting is None else Setting(**setting),
        "won": None if won is None else {change: tuple(steps) for change, steps in won.items()},
    }
    return BurstLesson(**(told | more))


def _write(path: Path, told: dict[str, Any]) -> None:
    # What cannot be kept is made again next time.
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_suffix(f".{os.getpid()}.part")
        draft.write_text(json.dumps(told), encoding="utf-8")
        draft.replace(path)
