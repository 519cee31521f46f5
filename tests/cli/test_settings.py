"""``stillwing settings`` as a person uses it, and the documents that show it."""

import json
import re
import shlex
from pathlib import Path

import pytest

from stillwing.cli.settings import BEFORE_THE_SUN
from stillwing.fieldbook.asking import Asked, answer_asked
from stillwing.fieldbook.book import open_book
from stillwing.fieldbook.kits import EXAMPLE_KIT, save_kit
from stillwing.optics.advice import advice
from stillwing.optics.engraved import exposure_words, f_number_words
from stillwing.optics.subject import Behaviour

ROOT = Path(__file__).parents[2]
HAWKER = ("75 mm hawker", "--distance", "3")
BLOCK = re.compile(r"^```\n(\$ stillwing settings .*?)^```$", re.MULTILINE | re.DOTALL)
SHOWN = [
    (page.name, *block.split("\n", 1))
    for page in (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
    for block in BLOCK.findall(page.read_text())
]
"""Page, command line and output of every example in the documents; a line of dots stands for lines left out."""


@pytest.fixture
def settings(stillwing, book):
    """Give a function that runs the command on a field book of its own."""
    return lambda *words: stillwing("settings", *words, "--book", book)


@pytest.fixture(scope="module")
def hawker(stillwing, tmp_path_factory):
    """Give the table and the JSON of one question."""
    book = tmp_path_factory.mktemp("settings") / "book.sqlite"
    return [stillwing("settings", *HAWKER, "--book", book, *more) for more in ((), ("--json",))]


def asked(book, *words, **more):
    with open_book(book) as opened:
        return answer_asked(opened, Asked(*words, **more))


def test_advice_and_table_are_data_and_the_rest_is_talk(hawker, book):
    run, _ = hawker
    assert run.returncode == 0
    found = asked(book, "75 mm hawker", Behaviour.HOVER, "sun", 3.0)
    assert run.stdout.splitlines()[: len(advice(found))] == list(advice(found))
    rows = [line for line in run.stdout.splitlines() if " s  " in line]
    assert len(rows) == len(found.stops)
    assert run.stderr.splitlines()[-1] == BEFORE_THE_SUN
    assert BEFORE_THE_SUN not in run.stdout


def test_json_holds_the_figures_of_the_table_and_nothing_that_is_no_number(hawker):
    table, told = hawker
    answer = json.loads(told.stdout, parse_constant=lambda name: pytest.fail(f"{name} is not JSON"))
    best = answer["best"]
    (row,) = [line.split() for line in table.stdout.splitlines() if line.lstrip().startswith("best ")]
    assert row[2:5] == [*f_number_words(best["f_number"]).split(), *exposure_words(best["exposure_s"]).split()]
    assert row[5:] == [
        f"{best['blur_px']:.2f}",
        f"{best['sharpest_px']:.2f}",
        f"{best['usable_width_px']:,.0f}",
        f"{best['snr']:.0f}",
    ]
    assert best["words"] in answer["advice"][0]
    assert answer["advice"] == table.stdout.splitlines()[: len(answer["advice"])]
    assert (answer["distance_m"], answer["wish"]["ev100"], answer["subject"]["length_mm"]) == (3, 15, 75)
    assert answer["kit"]["words"] == EXAMPLE_KIT.words


def test_json_is_told_alone_on_standard_output(hawker):
    _, told = hawker
    assert told.returncode == 0
    assert told.stdout.count("\n") == 1
    assert "example kit" in told.stderr


def test_the_example_kit_is_named_as_such_where_none_is_stored(hawker):
    table, _ = hawker
    assert table.stderr.startswith(f"no kit of your own stands, so this is for the example kit: {EXAMPLE_KIT.words}")
    assert "stillwing kit add" in table.stderr


def test_who_has_a_kit_and_asks_for_the_example_is_not_told_that_they_have_none(settings, stillwing, book):
    own = ("--sensor", "22.3x14.9", "--pixels", "6000x4000", "--focal", "400", "--aperture", "5.6")
    assert stillwing("kit", "add", "long lens", *own, "--book", book).returncode == 0
    run = settings("gull", "--doing", "pass", "--distance", "20", "--kit", "example", "--json")
    assert run.returncode == 0
    assert "no kit" not in run.stderr
    assert json.loads(run.stdout)["kit"]["name"] == "example"
    standing = settings("gull", "--doing", "pass", "--distance", "20", "--json")
    assert json.loads(standing.stdout)["kit"]["name"] == "long lens"
    assert standing.stderr == ""


def test_every_option_reaches_the_question(settings, book):
    with open_book(book) as opened:
        save_kit(opened, EXAMPLE_KIT)
    run = settings(
        "gull", "--doing", "pass", "--size", "30", "--light", "EV 13", "--kit", "Example", "--focal-length", "200",
        "--sharp-for", "screen 1920", "--wings", "--angle", "25", "--panning-left", "40", "--shake", "2", "--json",
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    told = json.loads(run.stdout)
    wish, subject = told["wish"], told["subject"]
    assert (subject["behaviour"], subject["angle_deg"], subject["panning_left"]) == ("pass", 25, [0.2, 0.4, 0.8])
    assert told["size_in_frame"] == pytest.approx(0.3, rel=1e-3)
    assert (wish["ev100"], wish["focal_length_mm"], wish["shown_width_px"]) == (13, 200, 1920)
    assert (wish["wings_too"], wish["shake_deg_s"]) == (True, 2)


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("hawkr", "--distance", "3"), 'stillwing: no animal is called "hawkr"; closest: hawker'),
        (("gull", "--distance", "20"), "stillwing: the catalogue knows no hover of the gull; ask for one of: pass"),
        ((*HAWKER[:2], "nan"), "stillwing: the distance is nan m; it goes up to 2,000 m"),
        ((*HAWKER, "--light", "moonlight"), "stillwing: EV -2.5 is too dark for this at every setting"),
    ],
)
def test_what_cannot_be_answered_costs_one_sentence_and_exit_2(settings, words, sentence):
    run = settings(*words)
    assert (run.returncode, run.stdout) == (2, "")
    assert run.stderr.startswith(sentence)
    assert run.stderr.count("\n") == 1


@pytest.mark.parametrize("words", [(*HAWKER, "--doing", "swim"), (*HAWKER[:2], "three")])
def test_a_word_that_is_no_behaviour_or_number_is_refused(settings, words):
    run = settings(*words)
    assert (run.returncode, run.stdout) == (2, "")
    assert "Traceback" not in run.stderr


def test_a_field_book_that_is_none_is_exit_3(stillwing, tmp_path):
    wrong = tmp_path / "book.sqlite"
    wrong.write_text("these are the notes of a day at the pond, and no field book\n" * 9)
    run = stillwing("settings", *HAWKER, "--book", wrong)
    assert (run.returncode, run.stdout) == (3, "")


def test_the_help_tells_units_and_examples(stillwing):
    shown = " ".join(stillwing("settings", "--help").stdout.split())
    for told in ('"75 mm hawker"', "in m.", "in percent", '"EV 13"', '"1/1000 f/8 ISO 400"', "degrees a second"):
        assert told in shown


def test_readme_commands_and_model_each_show_an_example():
    assert {"README.md", "commands.md", "settings.md"} <= {page for page, _, _ in SHOWN}


@pytest.mark.parametrize(("page", "line", "output"), SHOWN, ids=[f"{page}: {line}" for page, line, _ in SHOWN])
def test_what_the_documents_show_is_what_is_printed(settings, page, line, output):
    run = settings(*shlex.split(line)[3:])
    assert run.returncode == 0, run.stderr
    printed = iter(run.stdout.splitlines())
    for shown in output.splitlines():
        assert shown == "..." or shown in printed, f"{page} shows what is not printed, or not there: {shown}"
