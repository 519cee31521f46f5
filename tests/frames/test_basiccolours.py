"""Basic colour names, against names that people gave and names of an open standard."""

import csv
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.frames.basiccolours import BASIC_COLOURS, TONES, lab_of, named
from stillwing.frames.basiccolours_nbs import CENTROIDS

SURVEY = Path(__file__).parents[1] / "data" / "colour_name_survey.csv"
BRIGHTS = st.integers(0, 255)
# CSS Color Module Level 4 (W3C), named colours that are nothing but a basic name; its blue is left out: no pigment is
# like it, and it is told as half purple.
CSS = {
    "black": (0, 0, 0),
    "white": (255, 255, 255),
    "grey": (128, 128, 128),
    "red": (255, 0, 0),
    "orange": (255, 165, 0),
    "yellow": (255, 255, 0),
    "green": (0, 128, 0),
    "purple": (128, 0, 128),
    "pink": (255, 192, 203),
}


def first(rgb):
    shares = named(np.array([rgb], np.uint8))[0].sum(-1)
    return BASIC_COLOURS[int(shares.argmax())]


def survey():
    with SURVEY.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


@pytest.mark.parametrize(("name", "rgb"), CSS.items())
def test_colours_of_the_web_that_have_a_basic_name_get_it(name, rgb):
    assert first(rgb) == name


def test_three_in_four_names_of_the_survey_agree():
    rows = survey()
    rgb = np.array([list(bytes.fromhex(row["srgb"])) for row in rows], np.uint8)
    tops = [BASIC_COLOURS[number] for number in named(rgb).sum(-1).argmax(-1)]
    agree = np.mean([top == row["basic"] for top, row in zip(tops, rows, strict=True)])
    assert len(rows) > 250
    assert agree >= 0.74, f"{agree:.1%}"


def test_those_that_do_not_agree_are_mostly_neighbours():
    rows = survey()
    rgb = np.array([list(bytes.fromhex(row["srgb"])) for row in rows], np.uint8)
    shares = named(rgb).sum(-1)
    has_a_part = [shares[i, BASIC_COLOURS.index(row["basic"])] > 0.1 for i, row in enumerate(rows)]
    assert np.mean(has_a_part) >= 0.9


@given(BRIGHTS, BRIGHTS, BRIGHTS)
def test_shares_of_any_colour_sum_to_one(red, green, blue):
    shares = named(np.array([[red, green, blue]], np.uint8))
    assert shares.shape == (1, len(BASIC_COLOURS), len(TONES))
    assert shares.min() >= 0
    assert shares.sum() == pytest.approx(1, abs=1e-5)


def test_the_middle_of_a_block_has_its_name():
    # Strong red and vivid yellow of the system lie far from every other hue.
    assert first((0xBC, 0x3F, 0x4A)) == "red"
    assert first((0xF3, 0xC3, 0x00)) == "yellow"


def test_tones_tell_pale_from_dark():
    pale, dark = named(np.array([[145, 163, 176], [0, 48, 78]], np.uint8))[:, BASIC_COLOURS.index("blue")]
    assert pale.argmax() == TONES.index("pale")
    assert dark.argmax() == TONES.index("dark")


def test_lab_is_that_of_the_standard():
    # Mid-grey and the primaries of sRGB: B. Lindbloom's calculator, from memory, to a tenth.
    lab = lab_of(np.array([[119, 119, 119], [255, 0, 0], [0, 0, 255]], np.uint8))
    assert lab[0] == pytest.approx([50.0, 0, 0], abs=0.2)
    assert lab[1] == pytest.approx([53.2, 80.1, 67.2], abs=0.3)
    assert lab[2] == pytest.approx([32.3, 79.2, -107.9], abs=0.3)


def test_the_table_holds_the_blocks_of_the_system():
    # NBS Special Publication 440 has 267; one is left out as a misprint.
    assert sum(len(blocks.split(", ")) for _, blocks in CENTROIDS) == 266
