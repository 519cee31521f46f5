"""The command that tells which way of working gave keepers."""

import csv
import json
from pathlib import Path

import pytest

from review.invented import invent_season
from stillwing.fieldbook.book import open_book

DOCS = Path(__file__).parents[2] / "docs" / "commands.md"


@pytest.fixture
def season(book):
    with open_book(book) as opened:
        invent_season(opened)
    return book


@pytest.fixture
def review(stillwing_here, season):
    return lambda *words: stillwing_here("review", *words, "--book", season)


def test_sentences_come_first_and_then_the_tables(review):
    run = review()
    assert run.returncode == 0, run.stderr
    lines = run.stdout.splitlines()
    assert lines[0].startswith("All bursts kept ") and " in 48 bursts on 8 outings" in lines[0]
    assert lines[1].startswith("Exposure: 1/3200 s ")
    for words in ("share kept", "until inside", "June 8", "How soon the animal is in the frame"):
        assert words in run.stdout
    assert "which way gave keepers is counted, not why" in run.stderr
    assert run.stderr.count("4 measures were looked at") == 1


def test_the_documents_show_what_is_printed(review):
    shown = DOCS.read_text().split("$ stillwing review --by exposure\n")[1].split("```")[0].splitlines()
    assert len(shown) > 6
    printed = iter(review("--by", "exposure").stdout.splitlines())
    for line in shown:
        assert line == "..." or line in printed, f"commands.md shows what is not printed, or not there: {line}"


def test_a_factor_and_two_of_its_levels_can_be_asked_for(review):
    run = review("--by", "ISO", "--compare", "iso 400", "ISO 1600")
    assert run.stdout.splitlines()[2].startswith("ISO 400 kept ")
    assert "that ISO 1600 is better" in run.stdout


def test_json_holds_figures_as_shares_and_the_sentences(review):
    told = json.loads(review("--by", "exposure", "--json").stdout)
    assert [each["level"] for each in told["levels"]] == ["1/3200 s", "1/800 s"]
    short = told["levels"][0]
    assert short["frames_kept"]["likely"] == pytest.approx(short["n_keepers"] / short["n_frames"])
    assert told["compared"]["first"] == told["best"]["level"] == "1/3200 s"
    assert len(told["practice"][0]["outings"]) == 8
    assert told["goes_with"][0]["other"] == "iso"


def test_frames_that_would_do_are_more_than_those_kept(review):
    kept, would_do = (json.loads(review(*words, "--json").stdout)["overall"] for words in ((), ("--would-do",)))
    assert would_do["n_keepers"] > kept["n_keepers"]


def test_outings_can_be_named(review):
    told = json.loads(review("--outing", "June 1", "--outing", "June 3", "--json").stdout)
    assert (told["overall"]["n_outings"], told["overall"]["n_bursts"]) == (2, 12)
    assert "holds no outing called 'July'" in review("--outing", "July").stderr


def test_bursts_are_written_as_rows(review, tmp_path):
    run = review("--export", tmp_path / "bursts.csv")
    assert "bursts.csv: 48 bursts" in run.stderr
    with (tmp_path / "bursts.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 48
    assert {row["exposure_s"] for row in rows} == {"0.0003125", "0.00125"}
    assert review("--export", tmp_path / "bursts.parquet").returncode == 0
    assert (tmp_path / "bursts.parquet").stat().st_size > 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--by", "shoes"), "no burst tells 'shoes'"),
        (("--compare", "1/3200 s", "1/50 s"), "exposure has no level '1/50 s'"),
        (("--compare", "1/800 s", "1/800 s"), "cannot be compared with itself"),
        (("--export", "bursts.txt"), "written as .csv or .parquet"),
    ],
)
def test_what_cannot_be_is_said_in_one_sentence(review, words, said):
    run = review(*words)
    assert run.returncode == 2
    assert said in run.stderr
    assert len(run.stderr.splitlines()) == 1


def test_an_empty_book_says_how_to_begin(stillwing_here, book):
    run = stillwing_here("review", "--book", book)
    assert run.returncode == 2
    assert "stillwing sift FOLDER" in run.stderr
