"""What the tests of the commands share: the command run as a person does, and an outing already sifted."""

import subprocess
import sys

import pytest


@pytest.fixture(scope="session")
def stillwing():
    """Give a function that runs the command in a process of its own."""

    def run(*words, **how):
        command = [sys.executable, "-c", "from stillwing.cli.app import main; main()", *map(str, words)]
        return subprocess.run(command, capture_output=True, text=True, check=False, timeout=120, **how)

    return run


@pytest.fixture
def outing(tmp_path, draw_burst):
    """Give a folder with a burst of three frames, and the animal's true boxes."""
    folder = tmp_path / "outing"
    return folder, draw_burst(folder, (0.6, 1.4, 3.0))


@pytest.fixture
def book(tmp_path):
    return tmp_path / "book.sqlite"


@pytest.fixture
def sifted(stillwing, outing, book):
    """Give the field book of the outing, sifted with its true boxes for a screen that keeps the sharpest frame."""
    folder, boxes = outing
    run = stillwing("sift", folder, "--book", book, "--workers", 1, "--sharp-for", "screen 400", *box_words(boxes))
    assert run.returncode == 0, run.stderr
    return book


def box_words(boxes):
    """Return the options that draw these boxes."""
    for path, box in boxes.items():
        yield from ("--box", f"{path}:{box.x_px},{box.y_px},{box.width_px},{box.height_px}")
