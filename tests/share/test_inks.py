import math
import re
from dataclasses import asdict
from pathlib import Path

import pytest

from stillwing.frames.chosen import Choice
from stillwing.frames.measured import Blur, BlurKind
from stillwing.share.inks import DARK, LIGHT, blur_words, choice_words, height_in_trace, usable_words

LOOK = Path(__file__).parents[2] / "docs" / "look.md"


def test_the_colours_are_those_of_the_look():
    rows = re.findall(r"\| `--([a-z-]+)` \| `(#[0-9a-f]{6})` \| `(#[0-9a-f]{6})` \|", LOOK.read_text())
    table = {name.replace("-", "_"): (light, dark) for name, light, dark in rows}
    assert len(table) >= 7
    for name, colour in asdict(LIGHT).items():
        assert (colour, asdict(DARK)[name]) == table[name], name


def luminance(colour):
    """Relative luminance, WCAG 2.2."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("inks", [LIGHT, DARK], ids=["light", "dark"])
def test_text_can_be_read_in_sunlight(inks):
    for ink in (inks.ink, inks.ink_soft, inks.accent):
        bright, dim = sorted((luminance(ink), luminance(inks.paper)), reverse=True)
        assert (bright + 0.05) / (dim + 0.05) >= 7


@pytest.mark.parametrize(
    ("blur", "low", "high", "words"),
    [(1.234, 1.1, 1.4, "blur 1.23 px (1.1 to 1.4)"), (6.04, 4.2, 8.9, "blur 6.0 px (4 to 9)")],
)
def test_a_blur_has_its_unit_and_the_digits_that_its_interval_allows(blur, low, high, words):
    assert blur_words(Blur(blur, low, high, 1, 1, None, BlurKind.SHARP)) == words


def test_what_was_not_measured_is_said():
    assert blur_words(None) == "blur not measured"
    assert usable_words(math.nan) == ""


def test_a_usable_width_is_told_in_print_too():
    # 2835 px at 240 ppi are 30 cm.
    assert usable_words(2834.6) == "usable to 2835 px wide, 30 cm at 240 ppi"


def test_a_choice_says_whose_it_is():
    assert choice_words(Choice.KEEP, is_by_hand=False) == "keep, proposed"
    assert choice_words(Choice.SPARE, is_by_hand=True) == "spare, decided"


def test_sharper_is_up_and_each_doubling_is_one_step():
    heights = [height_in_trace(blur_px) for blur_px in (8, 4, 2, 1, 0.5)]
    assert heights == pytest.approx([0, 0.25, 0.5, 0.75, 1])
    assert (height_in_trace(100), height_in_trace(0.1)) == (0, 1)
