"""Photographs are sacred: whatever a command does, the originals are byte for byte what they were."""

import hashlib
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from pathlib import Path

import pytest
import typer.main

from stillwing.cli.app import app
from stillwing.fieldbook.sifting import SiftRun, sift

COMMANDS = sorted(typer.main.get_command(app).list_commands(None))
PROGRAM = (sys.executable, "-c", "from stillwing.cli.app import main; main()")
REAL = Path(os.environ.get("STILLWING_DATA", Path(__file__).parents[2] / "shared" / "data"))
PAGES_LOOKED_AT = 200

WORDS = {
    "conditions": ["conditions", "support=tripod", "stance=", "--burst", "A0001", "--book", "{book}"],
    "export": ["export", "{out}/t.csv", "--book", "{book}"],
    "keepers": ["keepers", "{originals}", "--book", "{book}", "--choice", "keep", "--choice", "leave"],
    "identify": ["identify", "--burst", "A0001", "--region", "britain-and-ireland", "--remember", "--book", "{book}"],
    "kit": ["kit", "read", "k", "{originals}/05.jpg", "--sensor", "7.6x5.1", "--focal", "8-24", "--book", "{book}"],
    "light-year": ["light-year", "--year", "2024", "--book", "{book}"],
    "log": ["log", "export", "{out}/moments.json", "--book", "{book}"],
    "log bursts": ["log", "bursts", "--book", "{book}"],
    "log clock": ["log", "clock", "--book", "{book}"],
    "log track": ["log", "track", "--forget", "--book", "{book}"],
    "look-back": ["look-back", "--buffer", "0.5", "--book", "{book}"],
    "plan": ["plan", "--date", "2024-07-15", "--book", "{book}", "--write", "{out}/p.pdf", "--write", "{out}/p.ics"],
    "render": ["render", "{originals}"],
    "review": ["review", "--by", "exposure", "--would-do", "--export", "{out}/r.csv", "--book", "{book}"],
    "season": ["season", "--group", "bird"],
    "settings": ["settings", "gull", "--doing", "pass", "--distance", "20", "--book", "{book}"],
    "sheet": ["sheet", "{out}/s.html", "--book", "{book}", "--choice", "spare", "--choice", "keep"],
    "sidecars": ["sidecars", "--book", "{book}", "--keyword", "a", "--positions", "--names", "--sensitive-positions"],
    "sightings": ["sightings", "add", "Brown Hawker", "--burst", "A0001", "--place", "TL 45 58", "--book", "{book}"],
    "simulate": ["simulate", "robin", "--distance", "5", "--book", "{book}"],
    "site": ["site", "write", "{out}/s.geojson", "--book", "{book}"],
    "waiting": ["waiting", "--site", "pond", "--book", "{book}"],
    "sift": ["sift", "{originals}", "--book", "{book}", "--again", "--sidecars", "--export", "{out}/t.parquet"],
}
"""Each command at its boldest, some in several ways; for ``serve`` the pages are looked through instead."""

WRONG_WORDS = {
    "a review that is an original": ["review", "--export", "{originals}/A0001.JPG", "--book", "{book}"],
    "a book that is an original": ["sift", "{originals}", "--book", "{originals}/A0001.JPG"],
    "a table that is an original": ["export", "{originals}/A0001.JPG", "--book", "{book}"],
    "a sheet that is an original": ["sheet", "{originals}/A0001.JPG", "--book", "{book}"],
    "keepers in a file's place": ["keepers", "{originals}/A0001.JPG", "--book", "{book}"],
    "a kit's book that is an original": ["kit", "list", "--book", "{originals}/A0001.JPG"],
    "a log that is an original": ["log", "export", "{originals}/A0001.JPG", "--book", "{book}"],
    "a track that is an original": ["log", "track", "{originals}/A0001.JPG", "--book", "{book}"],
    "a log from an original": ["log", "import", "{originals}/A0001.JPG", "--book", "{book}"],
    "a plan that is an original": ["plan", "--book", "{book}", "--write", "{originals}/A0001.JPG"],
    "a site's book that is an original": ["site", "list", "--book", "{originals}/A0001.JPG"],
    "a site from an original": ["site", "add", "{originals}/A0001.JPG", "--zone", "UTC", "--book", "{book}"],
    "sightings that are an original": ["sightings", "export", "{originals}/A0001.JPG", "--book", "{book}"],
    "sightings from an original": ["sightings", "import", "{originals}/A0001.JPG", "--book", "{book}"],
    "settings' book that is an original": ["settings", "hawker", "--size", "9", "--book", "{originals}/A0001.JPG"],
    "links to the originals themselves": ["keepers", "{originals}", "--book", "{book}", "--link"],
}


@pytest.fixture
def originals(tmp_path, draw_burst):
    """Give a folder of originals: a drawn burst, a torn, an empty and a mislabelled file, real ones where there are."""
    folder = tmp_path / "originals"
    draw_burst(folder, (0.6, 1.5, 3.0))
    whole = (folder / "A0001.JPG").read_bytes()
    (folder / "TORN.JPG").write_bytes(whole[: len(whole) // 2])
    (folder / "EMPTY.JPG").write_bytes(b"")
    (folder / "REALLY_A_JPEG.ORF").write_bytes(whole)
    for name in ("exif/05.jpg", "orientation/portrait_6.jpg"):
        if (REAL / name).exists():
            shutil.copyfile(REAL / name, folder / Path(name).name)
    return folder


@pytest.fixture
def book(tmp_path, originals):
    path = tmp_path / "book.sqlite"
    sift(originals, book=path, sharp_for="screen 400", run=SiftRun(workers=1))
    return path


def state(folder):
    """Return sum, size and time of change of each picture."""
    return {
        path.name: (hashlib.sha256(path.read_bytes()).hexdigest(), path.stat().st_size, path.stat().st_mtime_ns)
        for path in sorted(folder.iterdir())
        if path.suffix.lower() in (".jpg", ".orf")
    }


def filled(words, **places):
    return [word.format(**places) for word in words]


def test_every_command_is_tried():
    assert sorted({"serve", *(words[0] for words in WORDS.values())}) == COMMANDS


@pytest.mark.parametrize("name", WORDS)
def test_a_command_leaves_the_originals_as_they_were(name, originals, book, tmp_path):
    before = state(originals)
    words = filled(WORDS[name], originals=originals, book=book, out=tmp_path)
    run = subprocess.run([*PROGRAM, *words], capture_output=True, text=True, check=False, timeout=120)
    assert "Traceback" not in run.stderr
    after = state(originals)
    assert {name: after.get(name) for name in before} == before


@pytest.mark.parametrize("case", WRONG_WORDS)
def test_a_wrong_word_leaves_the_originals_as_they_were(case, originals, book):
    before = state(originals)
    words = filled(WRONG_WORDS[case], originals=originals, book=book)
    run = subprocess.run([*PROGRAM, *words], capture_output=True, text=True, check=False, timeout=120)
    assert "Traceback" not in run.stderr
    after = state(originals)
    assert {name: after.get(name) for name in before} == before


def test_looking_through_the_pages_leaves_the_originals_as_they_were(originals, book):
    before = state(originals)
    command = [*PROGRAM, "serve", "--book", str(book), "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as run:
        try:
            seen = look_through(run.stdout.readline().strip())
        finally:
            run.send_signal(signal.SIGINT)
            _, said = run.communicate(timeout=30)
    assert "Traceback" not in said
    assert any(page.endswith(".jpg") for page in seen), seen
    assert state(originals) == before


def look_through(home):
    """Follow the pages' links and pictures, and return what was seen."""
    waiting, seen = [home], []
    while waiting and len(seen) < PAGES_LOOKED_AT:
        address = waiting.pop(0)
        seen.append(address)
        try:
            with urllib.request.urlopen(address, timeout=30) as answer:
                body = answer.read().decode(errors="replace")
        except urllib.error.HTTPError:
            # A picture of a frame that could not be read; the page shows a sentence in its place.
            continue
        for link in re.findall(r'(?:href|src|data-[\w-]+)="([^"#]+)"', body):
            found = urllib.parse.urljoin(address, link)
            # Not every attribute of data is an address, and a plan has an address for every cell.
            is_address = ("/" in link or "?" in link) and " " not in link and "moment=" not in link
            if is_address and found.startswith(home) and found not in seen and found not in waiting:
                # Pictures first: they are what opens the originals.
                waiting.insert(0 if found.endswith(".jpg") else len(waiting), found)
    return seen
