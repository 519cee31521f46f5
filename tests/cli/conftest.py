"""What the tests of the commands share: the command run as a person does, and an outing already sifted."""

import contextlib
import io
import subprocess
import sys

import pytest

from stillwing.cli.app import main
from stillwing.fieldbook.sifting import SiftRun, sift

OUTPUT = "screen 400"


@pytest.fixture(scope="session")
def stillwing():
    """Give a function that runs the command in a process of its own."""

    def run(*words, **how):
        command = [sys.executable, "-c", "from stillwing.cli.app import main; main()", *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=300, **how)

    return run


@pytest.fixture
def stillwing_here(monkeypatch):
    """Give a function that runs the command in this process: its words and exit code, without a second to start."""

    def run(*words, cwd=None):
        if cwd is not None:
            monkeypatch.chdir(cwd)
        monkeypatch.setattr(sys, "argv", ["stillwing", *map(str, words)])
        out, err, code = io.StringIO(), io.StringIO(), 0
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            try:
                main()
            except SystemExit as ended:
                code = int(ended.code or 0)
        return subprocess.CompletedProcess(words, code, out.getvalue(), err.getvalue())

    return run


@pytest.fixture
def outing(tmp_path, draw_burst):
    """Give a folder with a burst of three frames, and the animal's true boxes."""
    folder = tmp_path / "outing"
    return folder, draw_burst(folder, (0.6, 1.4, 3.0))


@pytest.fixture
def book(tmp_path):
    return tmp_path / "book.sqlite"


@pytest.fixture(scope="session")
def kept_outing(tmp_path_factory, draw_burst):
    """Give a folder and its field book, for tests that write nothing into either."""
    return sifted_outing(tmp_path_factory.mktemp("kept"), draw_burst)


@pytest.fixture
def own_outing(tmp_path, draw_burst):
    """Give a folder and its field book, for a test that writes into them."""
    return sifted_outing(tmp_path, draw_burst)


def sifted_outing(place, draw_burst):
    """Return an outing sifted with its true boxes, for a screen that keeps the sharpest frame."""
    folder, book = place / "outing", place / "book.sqlite"
    boxes = draw_burst(folder, (0.6, 1.4, 3.0))
    sift(folder, book=book, sharp_for=OUTPUT, boxes=boxes, run=SiftRun(workers=1))
    return folder, book


def box_words(boxes):
    """Return the options that draw these boxes."""
    for path, box in boxes.items():
        yield from ("--box", f"{path}:{box.x_px},{box.y_px},{box.width_px},{box.height_px}")


@pytest.fixture
def small_disk(tmp_path):
    """Mount a disk of 600 kB; needs root, as a disk cannot be filled otherwise without filling this machine's."""
    place = tmp_path / "disk"
    place.mkdir()
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=600k", "tmpfs", place], capture_output=True, check=False
    )
    if mounted.returncode:
        pytest.skip("mounting a small disk needs root")
    yield place
    subprocess.run(["umount", place], check=True)


def fill(disk, n_bytes):
    """Write a file of that many bytes, or of as many as there is room for."""
    with (disk / "filler").open("wb", buffering=0) as filler:
        for _ in range(0, n_bytes, 4096):
            try:
                filler.write(bytes(4096))
            except OSError:
                return
