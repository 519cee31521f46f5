"""``stillwing look-back``."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit


@pytest.fixture
def book(tmp_path):
    return str(tmp_path / "book.sqlite")


def test_it_tells_how_often_and_how_long(stillwing_here, book):
    run = stillwing_here("look-back", "--buffer", "0.3", "--book", book)
    assert run.returncode == 0
    assert "A buffer of 0.3 s holds the take-off in 90 of 100. For 99 it takes 0.39 s." in run.stdout
    assert "at 2 m/s the animal is 0.49 m gone" in run.stdout
    assert "watches for this one thing" in run.stderr


def test_a_camera_that_looks_back_at_nothing_is_told_so(stillwing_here, book):
    run = stillwing_here("look-back", "--buffer", "0", "--book", book)
    assert "can only be had by pressing before it" in run.stdout


def test_json_has_the_figures(stillwing_here, book):
    run = stillwing_here("look-back", "--buffer", "0.3", "--lead", "0.1", "--json", "--book", book)
    told = json.loads(run.stdout)
    assert told["chance_inside"] == pytest.approx(0.125, abs=0.001)
    assert [each["chance"] for each in told["needed"]] == [0.5, 0.9, 0.99]


@pytest.mark.parametrize(
    ("words", "lower"),
    [(["--age", "70"], True), (["--lag", "0.1"], True), (["--lag", "0"], False), (["--lead", "0.05"], True)],
)
def test_each_option_moves_the_chance(stillwing_here, book, words, lower):
    plain, other = (
        json.loads(stillwing_here("look-back", "--buffer", "0.3", "--json", "--book", book, *more).stdout)
        for more in ([], words)
    )
    assert (other["chance_inside"] < plain["chance_inside"]) is lower


def test_the_kits_own_buffer_and_speed_count(stillwing_here, book):
    camera = replace(EXAMPLE_KIT.camera, look_back_s=0.25, frames_per_s=30.0)
    with open_book(Path(book)) as opened:
        save_kit(opened, replace(EXAMPLE_KIT, name="short", camera=camera))
    example, short = (
        json.loads(stillwing_here("look-back", "--json", "--speed", "10", "--kit", kit, "--book", book).stdout)
        for kit in (EXAMPLE_KIT.name, "short")
    )
    assert (short["look_back_s"], short["frames_per_s"]) == (0.25, 30.0)
    assert short["chance_inside"] < example["chance_inside"]
    assert short["gone_m"] == pytest.approx(2.43)


@pytest.mark.parametrize(
    "words",
    [
        ["--age", "5"],
        ["--age", "nan"],
        ["--buffer", "-1"],
        ["--speed", "-2"],
        ["--buffer", "nan"],
        ["--buffer", "inf"],
        ["--speed", "nan"],
        ["--lead", "inf"],
        ["--lag", "nan"],
        ["--kit", "none of mine"],
    ],
)
def test_what_cannot_be_costs_one_sentence(stillwing_here, book, words):
    run = stillwing_here("look-back", "--book", book, *words)
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
