"""The command that keeps how one photographed."""

import json

import pytest

from review.invented import Taken, invent_outing
from stillwing.fieldbook.book import open_book


@pytest.fixture
def conditions(stillwing_here, book):
    with open_book(book) as opened:
        invent_outing(opened, "first", [Taken(), Taken()])
        invent_outing(opened, "second", [Taken()], day=1)
    return lambda *words: stillwing_here("conditions", *words, "--book", book)


def kept(conditions, *words):
    told = json.loads(conditions(*words, "--json").stdout)
    return [(each["burst"], each["name"], each["word"]) for each in told]


def test_conditions_are_kept_of_the_newest_outing_and_listed(conditions):
    run = conditions("support=tripod", "wind from = SW")
    assert run.returncode == 0, run.stderr
    assert [line.split() for line in run.stdout.splitlines()[3:5]] == [
        ["whole", "outing", "support", "tripod"],
        ["whole", "outing", "wind", "from", "SW"],
    ]
    assert kept(conditions, "--outing", "first") == []


def test_a_burst_has_words_of_its_own(conditions):
    conditions("support=tripod", "--outing", "first")
    conditions("support=hand", "--outing", "first", "--burst", "B01000")
    assert kept(conditions, "--outing", "first") == [(None, "support", "tripod"), ("B01000", "support", "hand")]


def test_an_empty_word_forgets(conditions):
    conditions("support=tripod", "stance=seated")
    assert kept(conditions, "support=") == [(None, "stance", "seated")]


def test_nothing_typed_names_what_is_usual(conditions):
    run = conditions()
    assert run.stdout == ""
    assert "nothing is typed of second yet; usual are support: hand, monopod, tripod, beanbag" in run.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("tripod",), '"tripod" is no condition; write a name, = and a word'),
        (("=tripod",), '"=tripod" is no condition'),
        (("support=tripod", "--burst", "X1"), 'second holds no burst "X1"'),
        (("support=tripod", "--outing", "third"), "no outing called 'third'"),
        ((f"support={'x' * 61}",), "the condition's word has 61 signs"),
    ],
)
def test_what_cannot_be_kept_is_said_in_one_sentence(conditions, words, said):
    run = conditions(*words)
    assert run.returncode == 2
    assert said in run.stderr
