"""The files of the Log page: one version over all, and a manifest that a phone can use."""

import dataclasses
from pathlib import Path

import pytest

from stillwing.errors import UnknownThing
from stillwing.web.log_files import LogFile, log_file, log_files, manifest, worker_script

from .test_look import tokens

HELD = {"a.js": LogFile(b"1", "text/javascript"), "b.css": LogFile(b"2", "text/css")}


def test_whatever_changes_makes_a_new_version() -> None:
    scripts = {
        worker_script("page", HELD, ["/log"]),
        worker_script("page 2", HELD, ["/log"]),
        worker_script("page", HELD, ["/log", "/log/more"]),
        worker_script("page", HELD | {"a.js": dataclasses.replace(HELD["a.js"], content=b"3")}, ["/log"]),
        worker_script("page", {"a.js": HELD["a.js"]}, ["/log"]),
        # The same bytes, parted otherwise.
        worker_script("page", {"a.js": LogFile(b"1\0b", "x"), "b.css": LogFile(b"2", "x")}, ["/log"]),
    }
    assert len(scripts) == 6
    assert worker_script("page", HELD, ["/log"]) in scripts


def test_all_files_of_the_folder_are_held_but_the_worker() -> None:
    folder = Path(__file__).parents[2] / "src/stillwing/web/static/log"
    assert {path.name for path in folder.iterdir()} - set(log_files()) == {"worker.js"}


def test_a_file_that_is_not_there_is_told() -> None:
    with pytest.raises(UnknownThing, match=r"the log has no file called '\.\./look\.css'"):
        log_file(HELD, "../look.css")


def test_the_manifest_has_what_a_home_screen_needs() -> None:
    # W3C Web Application Manifest: members and their meaning; "maskable" has its own picture.
    told = manifest()
    assert (told["start_url"], told["scope"], told["display"]) == ("/log", "/log", "standalone")
    assert told["theme_color"] == told["background_color"] == tokens()["--paper"][0]
    icons = told["icons"]
    assert isinstance(icons, list)
    assert {(one["sizes"], one["purpose"]) for one in icons} == {
        ("192x192", "any"), ("512x512", "any"), ("512x512", "maskable"),
    }  # fmt: skip
    assert {one["src"].removeprefix("/log/static/") for one in icons} <= set(log_files())
