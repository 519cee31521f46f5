"""``stillwing plan`` as a person uses it."""

import json
import re
import shlex
from pathlib import Path

import icalendar
import pytest

WEATHER = ("--weather", "21 C, wind 3 m/s from SW, cloud 20 %, dry")
DAY = ("--date", "2024-07-15")


@pytest.fixture(scope="module")
def plan(stillwing, tmp_path_factory):
    """Give a function that runs the command on an empty field book."""
    book = tmp_path_factory.mktemp("plan") / "book.sqlite"
    return lambda *words: stillwing("plan", *words, "--book", book)


@pytest.fixture(scope="module")
def fine(plan, tmp_path_factory):
    """Plan a fine day and write every copy."""
    out = tmp_path_factory.mktemp("copies")
    files = [out / f"p.{ending}" for ending in ("pdf", "ics", "gpx", "geojson")]
    run = plan(*DAY, *WEATHER, *(word for file in files for word in ("--write", file)))
    assert run.returncode == 0, run.stderr
    return run, files


def test_windows_are_told_with_why_and_what_would_spoil_them(fine):
    lines = fine[0].stdout.splitlines()
    assert lines[0] == "mill pond, Monday 15 July 2024: hawker, hover, at 3.0 m"
    assert lines[1] == "Weather: as typed: 21 C, wind 3 m/s from SW, cloud 20 %, dry"
    assert lines[2] == "Sharpness: all that the optics allow; no burst of your own outings is counted in it"
    assert lines[3].startswith("1. ") and " keepers to expect" in lines[3]
    assert lines[4].startswith("   why: sun ") and lines[5].startswith("   would spoil it: ")
    assert any(line.startswith("If the wind backs 30°") for line in lines)


def test_the_table_has_a_row_for_each_stretch_and_a_column_for_each_hour(fine):
    lines = fine[0].stdout.splitlines()
    heading = next(line for line in lines if line.startswith(" bank "))
    assert heading.split()[1:] == [f"{hour:02d}" for hour in range(4, 23)]
    assert any(line.startswith(" south bank") for line in lines)


def test_cautions_and_doubts_are_talk_not_data(fine):
    assert "Banks are soft and water is deep" in fine[0].stderr
    assert "12 encounters an hour are assumed" in fine[0].stderr
    assert "Banks are soft" not in fine[0].stdout


def test_copies_are_written_by_the_ending_of_their_names(fine):
    pdf, calendar, gpx, geojson = (file.read_bytes() for file in fine[1])
    assert pdf.startswith(b"%PDF")
    events = icalendar.Calendar.from_ical(calendar).walk("VEVENT")
    assert 1 <= len(events) <= 3 and "mill pond" in str(events[0]["SUMMARY"])
    assert b"<wpt" in gpx
    assert json.loads(geojson)["type"] == "FeatureCollection"


def test_json_tells_every_cell_and_what_is_not_known_as_null(plan):
    run = plan(*DAY, "--every", "60", "--json")
    told = json.loads(run.stdout)
    assert told["weather"] == "not told" and "nothing is known of the weather" in told["doubts"]
    stand = told["stands"][0]
    assert len(stand["keepers_h"]) == len(told["times"])
    assert set(stand["turned_deg"]) == {None}
    assert told["windows"][0]["chain"].keys() == {"active", "facing", "lit", "sharp", "clean"}


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (("--date", "15.7.2024"), 'the date is "15.7.2024"; write it as year, month and day, such as 2026-07-15'),
        (("--write", "plan.docx"), "a plan is written as .pdf, .ics, .gpx or .geojson"),
        (("--weather", "rainy"), "'rainy' is not understood; write the weather like"),
        (("--weather-file", "none.csv"), "none.csv cannot be read: No such file"),
        (("nowhere",), "holds no site called 'nowhere'"),
        ((*DAY, "--every", "0"), "a step of 0 minutes; it must be 1 to 60"),
    ],
)
def test_what_cannot_be_used_is_told_in_one_sentence(plan, words, sentence):
    run = plan(*words)
    assert run.returncode == 2 and sentence in run.stderr
    assert run.stderr.count("\n") == 1 and run.stdout == ""


def test_the_readme_shows_lines_that_are_printed(plan):
    (block,) = re.findall(
        r"```\n(\$ stillwing plan .*?)```", (Path(__file__).parents[2] / "README.md").read_text(), re.S
    )
    command, *shown = block.strip().split("\n")
    printed = plan(*shlex.split(command)[3:]).stdout.splitlines()
    assert len(shown) > 5 and [line for line in shown if line not in printed] == []
