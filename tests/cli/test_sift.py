import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from cli.conftest import box_words
from stillwing.cli.sift import parse_box
from stillwing.errors import InputError
from stillwing.frames.measured import Box


def test_the_table_names_the_best_frame_and_why(stillwing, outing, book):
    folder, boxes = outing
    run = stillwing("sift", folder, "--book", book, "--workers", 1, *box_words(boxes))
    assert run.returncode == 0, run.stderr
    assert "blur [px]" in run.stdout
    assert "A0001.JPG" in run.stdout
    assert "sharpest of 3" in run.stdout
    assert "3 frames in 1 bursts" in run.stderr


def test_json_holds_each_choice_with_its_reason(stillwing, outing, book):
    folder, boxes = outing
    run = stillwing("sift", folder, "--book", book, "--workers", 1, "--json", *box_words(boxes))
    told = json.loads(run.stdout)
    assert {Path(choice["file"]).name for choice in told["choices"]} == {"A0001.JPG", "A0002.JPG", "A0003.JPG"}
    assert all(choice["reason"] for choice in told["choices"])
    blur = told["bursts"][0]["best_blur"]
    assert blur["blur_low_px"] <= blur["blur_px"] <= blur["blur_high_px"]


def test_two_outputs_give_two_results(stillwing, outing, book):
    folder, boxes = outing
    words = ("sift", folder, "--book", book, "--workers", 1, "--json", *box_words(boxes))
    small, full = (json.loads(stillwing(*words, "--sharp-for", output).stdout) for output in ("screen 100", "full"))
    assert small["sharp_for"] == "screen 100"
    n_keep = [sum(choice["choice"] == "keep" for choice in told["choices"]) for told in (small, full)]
    assert n_keep[0] >= n_keep[1]
    assert small["choices"] != full["choices"]


def test_a_file_that_cannot_be_read_has_one_line_and_exit_code_1(stillwing, outing, book):
    folder, _ = outing
    (folder / "A0002.JPG").write_bytes(b"")
    run = stillwing("sift", folder, "--book", book, "--workers", 1)
    assert run.returncode == 1
    assert sum("A0002.JPG" in line for line in run.stderr.splitlines()) == 1
    assert "Traceback" not in run.stderr


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--sharp-for", "poster"], 2, "write 'full'"),
        (["--workers", "0"], 2, "workers is 0"),
        (["--box", "A0001.JPG"], 2, "FILE:x,y,w,h"),
        (["--box", "A0001.JPG:1,2,-5,4"], 2, "no area"),
        (["--box", "A0001.JPG:600,2,500,4"], 2, "beyond the picture"),
        (["--outing", "  "], 2, "name is empty"),
        (["--no-such-word"], 2, "no-such-word"),
    ],
)
def test_a_wrong_word_is_refused_in_one_sentence(stillwing, outing, book, words, code, said):
    folder, _ = outing
    run = stillwing("sift", folder, "--book", book, *words)
    assert run.returncode == code
    assert said in run.stderr
    assert "Traceback" not in run.stderr
    assert run.stdout == ""


def test_a_folder_that_is_not_there_is_exit_code_2(stillwing, tmp_path, book):
    run = stillwing("sift", tmp_path / "nowhere", "--book", book)
    assert run.returncode == 2
    assert len(run.stderr.splitlines()) == 1
    assert "nowhere" in run.stderr


def test_a_file_that_is_no_field_book_is_exit_code_3(stillwing, outing, tmp_path):
    folder, _ = outing
    text = tmp_path / "notes.txt"
    text.write_text("these are notes, not a field book")
    run = stillwing("sift", folder, "--book", text)
    assert run.returncode == 3
    assert len(run.stderr.splitlines()) == 1
    assert text.read_text() == "these are notes, not a field book"


@pytest.mark.skipif(os.name != "posix", reason="signals of the keyboard as POSIX sends them")
def test_the_keyboard_stops_a_run_and_the_next_goes_on(stillwing, tmp_path, draw_burst, book):
    folder = tmp_path / "outing"
    for i in range(12):
        draw_burst(folder / f"b{i}", (1.0,) * 4, prefix=f"B{i}_", start_s=60.0 * i)
    command = [sys.executable, "-c", "from stillwing.cli.app import main; main()"]
    command += ["sift", str(folder), "--book", str(book), "--workers", "1"]
    # A group of its own, as a terminal gives each command: Ctrl-C reaches the workers too.
    run = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, process_group=0)
    while not (book.exists() and book.with_name(book.name + "-wal").exists()):
        time.sleep(0.02)
    time.sleep(1.0)
    os.killpg(run.pid, signal.SIGINT)
    _, said = run.communicate(timeout=120)
    if run.returncode == 0:
        pytest.skip("the run was over before it could be stopped")
    assert run.returncode == 130
    assert said.splitlines()[-1].startswith("stopped; what was measured is stored")
    assert "Traceback" not in said
    rest = stillwing("sift", folder, "--book", book, "--json")
    told = json.loads(rest.stdout)
    assert told["n_known"] + told["n_measured"] == 48
    assert rest.returncode == 0


def test_a_box_is_read_from_the_right_of_its_file_name():
    assert parse_box("C:/card/a:b.jpg:1,2.5,3,4") == (Path("C:/card/a:b.jpg"), Box(1, 2.5, 3, 4))


@pytest.mark.parametrize("text", ["", "1,2,3,4", "a.jpg:1,2,3", "a.jpg:1,2,3,x", ":1,2,3,4"])
def test_a_box_of_another_form_is_refused(text):
    with pytest.raises(InputError, match="FILE:x,y,w,h"):
        parse_box(text)
