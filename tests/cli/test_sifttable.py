import json
import math
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.console import Console

from stillwing.cli.sifttable import sift_closing, sift_json, sift_table
from stillwing.errors import UnreadableFrame
from stillwing.fieldbook.choices import StandingChoice
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.sifting import Sifted, SiftedBurst
from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, BlurKind

BLUR = Blur(0.634, 0.5, 0.8, 0.6, 0.66, None, BlurKind.SHARP)


def standing(name, choice=Choice.KEEP, usable_width_px=5184.0):
    return StandingChoice(1, 1, "b", (Path(name),), choice, False, choice, "sharpest of 3", usable_width_px)


@pytest.fixture
def sifted():
    keeper, unmeasured = standing("/card/[bold]1.JPG"), standing("/card/2.JPG", Choice.LEAVE, math.nan)
    return Sifted(
        outing=Outing(1, "pond [red]", Path("/card"), datetime.now(UTC), "full", None),
        book_path=Path("/book.sqlite"),
        n_measured=7,
        n_known=3,
        bursts=(
            SiftedBurst("sharp", 3, 3, 1, 0, keeper, BLUR),
            SiftedBurst("tiny", 4, 4, 0, 0, None, None),
            SiftedBurst("empty", 3, 0, 0, 0, None, None),
        ),
        choices=(keeper, unmeasured),
        failed=(UnreadableFrame(Path("/card/3.JPG"), "the file is empty"),),
        elapsed_s=2.0,
    )


def printed(table):
    console = Console(width=200)
    with console.capture() as captured:
        console.print(table)
    return captured.get()


def test_a_row_gives_blur_file_choice_and_reason(sifted):
    (row,) = [line for line in printed(sift_table(sifted)).splitlines() if line.strip().startswith("sharp")]
    assert row.split() == ["sharp", "3", "3", "1", "0.63", "[bold]1.JPG", "keep:", "sharpest", "of", "3"]


def test_names_in_square_brackets_are_no_styles(sifted):
    assert "Outing pond [red]" in printed(sift_table(sifted))


def test_nothing_found_and_nothing_measurable_are_told_apart(sifted):
    lines = printed(sift_table(sifted)).splitlines()
    assert any("tiny" in line and "too small or too plain to measure" in line for line in lines)
    assert any("empty" in line and "no animal found" in line for line in lines)


def test_json_has_no_figure_that_is_none(sifted):
    told = json.loads(sift_json(sifted), parse_constant=lambda name: pytest.fail(f"{name} is no JSON"))
    assert [choice["usable_width_px"] for choice in told["choices"]] == [5184, None]
    assert told["failed"] == [{"file": "/card/3.JPG", "reason": "the file is empty"}]
    assert told["bursts"][0]["best_blur"]["kind"] == "sharp"


def test_the_closing_line_counts_and_times(sifted):
    assert sift_closing(sifted) == (
        "10 frames in 3 bursts: 1 to keep for full; 7 measured in 2.0 s (3.5 frames/s); "
        "3 known already; 1 could not be read"
    )
