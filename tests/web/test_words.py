"""Figures in words."""

import math
from datetime import datetime
from pathlib import Path

import pytest

from stillwing.frames.frame import Tags
from stillwing.web import words


@pytest.mark.parametrize(
    ("value_px", "told"),
    [
        (0.8349, "0.83 px"),
        (1.0, "1.0 px"),
        (9.96, "10.0 px"),
        (12.4, "12 px"),
        (math.nan, "not measured"),
        (None, "not measured"),
    ],
)
def test_a_blur_has_its_unit_and_no_more_digits_than_it_carries(value_px: float | None, told: str) -> None:
    assert words.pixels(value_px) == told


@pytest.mark.parametrize(
    ("value_s", "told"), [(1 / 2000, "1/2000 s"), (1 / 3, "0.333333 s"), (0.25, "1/4 s"), (2.0, "2 s")]
)
def test_exposures_are_told_as_cameras_do(value_s: float, told: str) -> None:
    assert words.exposure(value_s) == told


@pytest.mark.parametrize(("value_s", "told"), [(0.05, "50 ms"), (0.4, "0.40 s"), (9.99, "9.99 s"), (75.2, "75 s")])
def test_durations_change_their_unit_with_their_length(value_s: float, told: str) -> None:
    assert words.seconds(value_s) == told


@pytest.mark.parametrize(
    ("share", "told"), [(0.0, "0 %"), (0.0004, "0 %"), (0.004, "0.4 %"), (0.61, "61 %"), (math.nan, "not measured")]
)
def test_shares_are_told_in_percent(share: float, told: str) -> None:
    assert words.percent(share) == told


def test_settings_leave_out_what_the_file_does_not_tell() -> None:
    assert words.settings(Tags(exposure_s=1 / 3200, iso=1600)) == "1/3200 s · ISO 1600"
    assert words.settings(Tags()) == ""
    assert words.settings(Tags(exposure_s=0.0)) == ""


def test_dates_do_not_depend_on_the_language_of_the_machine() -> None:
    assert words.day(datetime(2024, 7, 4, 23, 59)) == "4 July 2024"
    assert words.clock(None) == "no clock"


def test_a_name_that_is_no_valid_text_is_shown_all_the_same() -> None:
    assert words.file_name(Path("/card/a\udcffb.jpg")) == "a?b.jpg"
