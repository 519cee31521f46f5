"""``stillwing look-back``."""

import json

import pytest


@pytest.fixture
def book(tmp_path):
    return str(tmp_path / "book.sqlite")


def test_it_tells_how_often_and_how_long(stillwing_here, book):
    run = stillwing_here("look-back", "--buffer", "0.3", "--book", book)
    assert run.returncode == 0
    assert "A buffer of 0.3 s holds the take-off in 90 of 100." in run.stdout
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
    of_kit = json.loads(stillwing_here("look-back", "--json", "--speed", "10", "--book", book).stdout)
    assert of_kit["look_back_s"] >= 0.0
    assert of_kit["gone_m"] == pytest.approx(2.43)


@pytest.mark.parametrize("words", [["--age", "5"], ["--buffer", "-1"], ["--speed", "-2"], ["--kit", "none of mine"]])
def test_what_cannot_be_costs_one_sentence(stillwing_here, book, words):
    run = stillwing_here("look-back", "--book", book, *words)
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
