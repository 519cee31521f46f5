"""The files of the Log page: everything that a phone needs, under one prefix, with one version over all of it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from stillwing.errors import UnknownThing
from stillwing.web.log_icons import GROUND, ICONS, icon_png

__all__ = ["LogFile", "log_file", "log_files", "manifest", "worker_script"]

TYPES = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml", ".png": "image/png"}
WORKER = "worker.js"
"""Served at its own address, which says what it may answer for."""
SHARED = ("look.css", "icon.svg")
"""Of all pages; the phone reaches nothing outside its prefix, so it gets them under it."""


@dataclass(frozen=True, slots=True)
class LogFile:
    """One file as it is sent."""

    content: bytes
    media_type: str


def log_files() -> Mapping[str, LogFile]:
    """Return the files under ``/log/static`` by name, as they are on disk now."""
    static = Path(str(files("stillwing.web") / "static"))
    own = sorted(path for path in (static / "log").iterdir() if path.suffix in TYPES and path.name != WORKER)
    found = {path.name: _file(path.name, path.read_bytes()) for path in (*own, *(static / name for name in SHARED))}
    return found | {name: _file(name, icon_png(name)) for name in ICONS}


def log_file(held: Mapping[str, LogFile], name: str) -> LogFile:
    """Return one of them, or raise `UnknownThing`."""
    if name not in held:
        raise UnknownThing(f"the log has no file called {name!r}")
    return held[name]


def manifest() -> dict[str, object]:
    """Return what a phone needs to put the page on its home screen (W3C Web Application Manifest)."""
    icons = [
        {"src": f"/log/static/{name}", "sizes": f"{one.side_px}x{one.side_px}", "type": "image/png",
         "purpose": one.purpose}
        for name, one in ICONS.items()
    ]  # fmt: skip
    return {
        "id": "/log",
        "name": "stillwing field log",
        "short_name": "Field log",
        "start_url": "/log",
        "scope": "/log",
        "display": "standalone",
        "background_color": GROUND,
        "theme_color": GROUND,
        "icons": icons,
    }


def worker_script(page: str, held: Mapping[str, LogFile], addresses: list[str]) -> bytes:
    """Return the service worker for a page and its files; whatever of them changes makes it a new one.

    Parameters
    ----------
    page : str
        The page as HTML.
    held : mapping of str to LogFile
        As `log_files` returns it.
    addresses : list of str
        What the worker keeps and answers.
    """
    summed = hashlib.sha256(page.encode())
    for name, file in sorted(held.items()):
        summed.update(f"\0{name}\0{len(file.content)}\0".encode() + file.content)
    head = f"const VERSION = {json.dumps(summed.hexdigest()[:16])};\nconst KEPT = {json.dumps(addresses)};\n"
    return head.encode() + (files("stillwing.web") / "static" / "log" / WORKER).read_bytes()


def _file(name: str, content: bytes) -> LogFile:
    return LogFile(content, TYPES[Path(name).suffix])
