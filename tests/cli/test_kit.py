"""``stillwing kit`` as a person uses it."""

import json
import os
from pathlib import Path

import pytest
from PIL import Image

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import kit_named, kits
from stillwing.optics.kit import CameraBody, Kit, Lens

DATA = Path(os.environ.get("STILLWING_DATA", Path(__file__).resolve().parents[2].parent / "shared" / "data"))
needs_data = pytest.mark.skipif(not DATA.is_dir(), reason="the sample pictures are not here; set STILLWING_DATA")

NEEDED = ("--sensor", "17.4x13.0", "--pixels", "5184x3888", "--focal", "75-300", "--aperture", "4.8-6.7")


@pytest.fixture
def kit(stillwing_here, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing_here("kit", *words, "--book", book)


def stored(book, name=None):
    with open_book(book) as opened:
        return kit_named(opened, name)


def test_a_kit_with_all_its_figures_is_stored_as_typed(kit, book):
    more = ("--narrowest", "27", "--closest", "0.9", "--magnification", ".25", "--rate", "50", "--look-back", "0.7")
    last = ("--readout", "1/120", "--iso", "80-12800", "--shortest", "1/32000", "--converter", "1.4")
    run = kit("add", "long lens", *NEEDED, *more, *last)
    assert run.returncode == 0, run.stderr
    camera = CameraBody(
        17.4,
        13.0,
        5184,
        3888,
        lowest_iso=80.0,
        highest_iso=12800.0,
        shortest_s=1 / 32000,
        frames_per_s=50.0,
        look_back_s=0.7,
        readout_s=1 / 120,
    )
    lens = Lens(75.0, 300.0, 4.8, 6.7, narrowest=27.0, closest_focus_m=0.9, largest_magnification=0.25)
    assert stored(book) == Kit("long lens", camera, lens, 1.4)
    assert run.stderr.startswith("long lens stored and stands: 20 MP")


def test_what_is_typical_or_not_told_is_printed_as_such(kit):
    run = kit("add", "long lens", *NEEDED, "--rate", "50")
    rows = {line.split("  ")[0].strip(): line for line in run.stdout.splitlines() if line}
    assert rows["frames a second"].split()[-2:] == ["50", "given"]
    assert rows["narrowest aperture"].split()[-2:] == ["f/22", "typical"]
    assert rows["closest focus"].split()[-2:] == ["not", "told"]
    told_by = json.loads(kit("add", "b", *NEEDED, "--rate", "50", "--json").stdout)["told_by"]
    assert (told_by["frames_per_s"], told_by["narrowest"], told_by["closest_focus_m"]) == (
        "given",
        "typical",
        "not told",
    )


def test_what_is_needed_is_asked_for(kit, book):
    run = kit("add", "long lens", *NEEDED[:4])
    assert run.returncode == 2
    assert run.stderr == (
        "stillwing: the kit 'long lens' lacks the focal range, such as 75-300 mm; "
        "and the widest aperture at either end, such as 4.8-6.7\n"
    )
    assert not book.exists()


def test_a_figure_that_cannot_be_read_is_told_with_what_would_be_right(kit, book):
    run = kit("add", "long lens", *NEEDED, "--readout", "fast")
    assert run.returncode == 2
    assert run.stderr == "stillwing: --readout is 'fast'; write seconds, such as 1/60 or 0.02\n"
    assert not book.exists()


def test_a_figure_that_no_camera_has_is_refused(kit):
    run = kit("add", "long lens", *NEEDED, "--rate", "0")
    assert (run.returncode, run.stderr) == (
        2,
        "stillwing: frames_per_s of the camera is 0; it must be more than 0\n",
    )


def test_a_taken_name_is_refused_unless_replace_is_given(kit, book):
    kit("add", "long lens", *NEEDED)
    again = kit("add", "LONG lens", *NEEDED, "--rate", "50")
    assert again.returncode == 2
    assert "a kit called 'long lens' already" in again.stderr
    assert stored(book).camera.frames_per_s == 18.0
    assert kit("add", "LONG lens", *NEEDED, "--rate", "50", "--replace").returncode == 0
    assert stored(book).camera.frames_per_s == 50.0


def test_the_list_marks_the_kit_that_stands(kit, book):
    kit("add", "b", *NEEDED)
    kit("add", "[a]", *NEEDED, "--closest", "1.3", "--converter", "1.4")
    first, second = kit("list").stdout.split("─\n")[-1].splitlines()[:2]
    assert first.lstrip().startswith("[a] (stands)  ")
    assert "1.4x converter" in first
    assert second.lstrip().startswith("b  ")
    used = kit("use", "B")
    assert (used.returncode, used.stdout) == (0, "")
    assert used.stderr.startswith("b stands: 20 MP")
    assert [(one["name"], one["stands"]) for one in json.loads(kit("list", "--json").stdout)] == [
        ("[a]", False),
        ("b", True),
    ]
    assert kit("remove", "B").stderr == "b removed\n"
    assert stored(book).name == "[a]"


def test_a_book_without_kits_lists_none_and_says_what_to_do(kit):
    run = kit("list")
    assert (run.returncode, run.stdout) == (0, "")
    assert "no kit stored yet; add one with: stillwing kit add NAME" in run.stderr
    assert json.loads(kit("list", "--json").stdout) == []


@pytest.mark.parametrize("word", ["use", "remove"])
def test_an_unknown_kit_is_told_with_those_there_are(kit, word):
    kit("add", "long lens", *NEEDED)
    run = kit(word, "wide")
    assert (run.returncode, run.stderr) == (
        2,
        "stillwing: the field book holds no kit called 'wide'; it holds: long lens\n",
    )


@needs_data
def test_a_kit_is_read_off_a_picture_and_filled_in(kit, book):
    run = kit("read", "zoom", DATA / "exif/06.jpg", "--closest", "0.28", "--rate", "3")
    assert run.returncode == 0, run.stderr
    zoom = stored(book, "zoom")
    assert zoom.words == "10 MP, 24.0 x 16.1 mm sensor; 18-55 mm f/3.5-5.6"
    assert (zoom.lens.closest_focus_m, zoom.camera.frames_per_s) == (0.28, 3.0)
    assert "FocalLengthIn35mmFilm (rounded)" in run.stdout
    assert "06.jpg: taken at ISO 100, so the camera goes so low at least" in run.stderr
    told = json.loads(kit("read", "again", DATA / "exif/06.jpg", "--sensor", "23.6x15.8", "--json").stdout)
    assert told["told_by"]["sensor_width_mm"] == "given"
    assert told["told_by"]["shortest_mm"] == "maker's lens tag (exact)"
    assert told["kit"]["camera"]["sensor_width_mm"] == 23.6


def test_a_picture_that_tells_too_little_asks_for_the_rest(kit, book, tmp_path):
    Image.new("RGB", (640, 480)).save(tmp_path / "plain.jpg")
    run = kit("read", "k", tmp_path / "plain.jpg", "--sensor", "17.4x13.0")
    assert run.returncode == 2
    assert run.stderr.startswith("stillwing: the kit 'k' lacks the focal range, such as 75-300 mm; and")
    assert not book.exists()
    assert kit("read", "k", tmp_path / "plain.jpg", *NEEDED[:2], *NEEDED[4:]).returncode == 0
    assert (stored(book).camera.width_px, stored(book).camera.height_px) == (640, 480)


@pytest.mark.parametrize("content", [None, b"", b"plain words"])
def test_a_picture_that_cannot_be_read_is_named(kit, book, tmp_path, content):
    path = tmp_path / "broken.jpg"
    if content is not None:
        path.write_bytes(content)
    run = kit("read", "k", path)
    assert run.returncode == 2
    assert run.stderr.startswith(f"stillwing: {path}: ")
    assert not book.exists()


def test_the_example_kit_is_never_stored_by_itself(kit, book):
    kit("list")
    with open_book(book) as opened:
        assert kits(opened) == ()
