"""``stillwing simulate`` as a person uses it, and the page that shows it."""

import json
import re
import shlex
from pathlib import Path

import pytest

from stillwing.cli.settings import BEFORE_THE_SUN
from stillwing.cli.simulate import AT_THE_EDGE

PAGE = Path(__file__).parents[2] / "docs" / "commands.md"
SHOWN = re.findall(r"^```\n\$ stillwing (simulate .*?)\n(.*?)^```$", PAGE.read_text(), re.MULTILINE | re.DOTALL)
LAUNCH = ("simulate", "azure damselfly", "--distance", "2", "--f-number", "f/8", "--exposure", "1/3200")
KIT = (
    "--sensor", "17.4x13.0", "--pixels", "5184x3888", "--focal", "75-300", "--aperture", "4.8-6.7",
    "--closest", "1.3", "--magnification", "0.25",
)  # fmt: skip


@pytest.fixture
def simulated(stillwing_here, book):
    """Give a function that runs the command and returns its JSON."""
    return lambda *words: json.loads(stillwing_here(*LAUNCH, *words, "--json", "--book", book).stdout)


@pytest.fixture(scope="module")
def plain(stillwing, tmp_path_factory):
    """Give the JSON of the launch with nothing more said."""
    book = tmp_path_factory.mktemp("plain") / "book.sqlite"
    return json.loads(stillwing(*LAUNCH, "--json", "--book", book).stdout)


def test_figures_are_data_and_cautions_are_talk(stillwing_here, book):
    run = stillwing_here(*LAUNCH, "--book", book)
    assert run.returncode == 0
    assert "at least one keeper in" in run.stdout
    rows = [line for line in run.stdout.splitlines() if line.lstrip().startswith(("with its", "in focus", "sharp,"))]
    assert len(rows) == 3
    assert run.stderr.splitlines()[-2:] == [BEFORE_THE_SUN, AT_THE_EDGE]
    assert "example kit" in run.stderr


def test_json_holds_the_figures_of_the_table(stillwing_here, simulated, book):
    run, told = stillwing_here(*LAUNCH, "--book", book), simulated()
    sharp = told["told"]["outcome"]["frames_sharp"]
    (row,) = [line.split() for line in run.stdout.splitlines() if line.lstrip().startswith("sharp,")]
    assert row[-4:] == [f"{sharp['mean']:.1f}", *(f"{sharp[name]:.0f}" for name in ("low", "median", "high"))]
    assert told["sentences"] == run.stdout.splitlines()[: len(told["sentences"])]


@pytest.mark.parametrize(("words", "shown"), SHOWN)
def test_the_page_shows_what_the_command_prints(stillwing_here, book, words, shown):
    assert stillwing_here(*shlex.split(words), "--book", book).stdout.strip() == shown.strip()


def test_the_page_shows_an_example():
    assert SHOWN


@pytest.mark.parametrize(
    "words",
    [
        ("--rate", "50"),
        ("--buffer", "0"),
        ("--reaction", "0.6"),
        ("--lag", "0.4"),
        ("--pre-focus", "40"),
        ("--towards", "100", "--angle", "60", "--pre-focus", "20"),
        ("--sharp-for", "full"),
        ("--focal-length", "150"),
        ("--angle", "80"),
        ("--shake", "20"),
        ("--doing", "landing"),
        (*KIT[:6], "--aperture", "6.7", *KIT[8:]),
    ],
)
def test_each_option_changes_what_comes_out(simulated, plain, words):
    outcome = simulated(*words)["told"]["outcome"]
    assert outcome != plain["told"]["outcome"]


def test_a_typed_kit_is_the_stored_one_of_the_same_figures(simulated, plain):
    assert simulated(*KIT, "--buffer", "0.5")["told"] == plain["told"]


def test_iso_and_light_change_the_noise(simulated, plain):
    assert simulated("--iso", "6400")["setting"]["snr"] < plain["setting"]["snr"]
    assert simulated("--light", "EV 13")["setting"]["iso"] > plain["setting"]["iso"]


def test_what_is_seen_coming_is_pressed_for_in_time_and_long_enough(simulated):
    landing = ("--doing", "landing", "--buffer", "0")
    late, early, short = (
        simulated(*landing, *more)["told"]["outcome"]["keeper_chance"]
        for more in ((), ("--lead", "0.3"), ("--lead", "0.3", "--held", "0.06"))
    )
    assert early > late + 0.2
    assert early > short + 0.2


def test_a_share_of_panning_counts_in_a_pass(stillwing_here, book):
    words = ("simulate", "gull", "--doing", "pass", "--distance", "25", "--json", "--book", book)
    some, much = (json.loads(stillwing_here(*words, "--panning-left", left).stdout) for left in ("5", "60"))
    assert much["told"]["outcome"]["keeper_chance"] < some["told"]["outcome"]["keeper_chance"]


@pytest.mark.parametrize(
    "words",
    [
        ["--doing", "perch"],
        ["--rate", "0"],
        ["--rate", "nan"],
        ["--held", "-1"],
        ["--buffer", "inf"],
        ["--reaction", "nan"],
        ["--towards", "101"],
        ["--pre-focus", "nan"],
        ["--sensor", "wide"],
        ["--pixels", "5184x3888"],
        ["--kit", "none of mine"],
        ["--iso", "many"],
    ],
)
def test_what_cannot_be_costs_one_sentence(stillwing_here, book, words):
    run = stillwing_here(*LAUNCH, *words, "--book", book)
    assert run.returncode == 2
    assert run.stderr.count("\n") == 1
    assert "Traceback" not in run.stderr
