"""The command that tells what the waiting teaches."""

import json

import pytest

from review.tapped import Tapping
from stillwing.fieldbook.book import open_book


@pytest.fixture
def logged(book):
    with open_book(book) as opened:
        tapping = Tapping(opened)
        tapping.rich_day()
        tapping.tap(90000, "pass", animal="emperor", site="gravel pit", stand="")
    return book


@pytest.fixture
def waiting(stillwing_here, logged):
    return lambda *words: stillwing_here("waiting", *words, "--book", logged)


def test_sentences_come_first_and_then_the_tables(waiting):
    run = waiting("--site", "mill pond", "--animal", "Hawker")
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    assert lines[0].startswith("Last 6 returns ")
    assert lines[1] == "Of 29 absences 24 ended in a return, 4 in a landing elsewhere and 1 was not seen to its end."
    for words in (
        "away from the perch",
        "to the next hover",
        "Chance of a return",
        "returns and landings",
        "cloud, gusts",
    ):
        assert words in run.stdout
    assert run.stderr.startswith("hawker at mill pond: 1 stay, ")


def test_without_names_it_is_about_what_was_logged_most(waiting):
    assert waiting().stdout == waiting("--site", "mill pond").stdout


def test_json_holds_the_curves_and_null_for_what_was_not_seen(waiting):
    told = json.loads(waiting("--json").stdout)
    assert (told["site"], told["animal"], told["away"]["n_returned"]) == ("mill pond", "hawker", 24)
    assert len(told["away"]["back"]["at_s"]) == len(told["away"]["back"]["low"])
    assert told["hovers"]["weibull"]["shape"]["likely"] > 1
    assert told["times"][0]["what"] == "away from the perch"
    few = json.loads(waiting("--site", "gravel pit", "--json").stdout)
    assert few["away"] is None and few["hovers"] is None and few["missing"]


def test_too_little_is_said_with_the_taps_that_would_tell_more(waiting):
    run = waiting("--site", "gravel pit")
    assert run.returncode == 0
    assert "no hover is logged: tap hover when one begins" in run.stderr


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--site", "moor"), "stillwing: nothing was logged at 'moor'; "),
        (("--animal", "gull"), "stillwing: no 'gull' was logged at 'mill pond'; there is hawker"),
    ],
)
def test_what_was_not_logged_is_said_in_a_sentence(waiting, words, message):
    run = waiting(*words)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr.startswith(message) and run.stderr.count("\n") == 1


def test_an_empty_book_says_how_to_log(stillwing_here, book):
    run = stillwing_here("waiting", "--book", book)
    assert run.returncode == 2
    assert (
        run.stderr == "stillwing: no animal is logged yet; the Log page of `stillwing serve` takes one tap per moment\n"
    )
