"""Small parts of SVG: escaping, and words that are as wide as they are reckoned."""

import io
import re
from xml.etree import ElementTree

import numpy as np
import pytest
import vl_convert
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from share.toldplans import HOSTILE
from stillwing.share.svgparts import FONT, PAGE, PAPER, SVG, cut_short, label, tag, text_width, wrapped
from web.test_look import contrast, tokens

LIGHT, DARK = 0, 1


@given(st.text())
def test_any_words_and_attributes_make_well_formed_xml(words):
    root = ElementTree.fromstring(tag("g", label(words, 0, 0, 10), data_name=words))
    for character in HOSTILE.replace("\x07", ""):
        if character in words:
            assert character in "".join(root[0].itertext())
            assert character in root.attrib["data-name"]


def test_a_control_code_is_shown_as_one_that_cannot_be_shown():
    assert "".join(ElementTree.fromstring(label("a\x07b", 0, 0, 10)).itertext()) == "a\ufffdb"


@pytest.mark.parametrize("words", ["north-east bank 3, facing NW (315°)", "WWWWWWWWWW", "iiiiiiiiii.,;", "0123456789"])
@pytest.mark.parametrize("is_strong", [False, True])
def test_words_are_as_wide_as_the_renderer_draws_them(words, is_strong):
    size = 40.0
    weight = "bold" if is_strong else None
    # Bars to either side, so that the bearings of the outer letters count as they do between words.
    apart = text_width("|", size, is_strong=is_strong) + text_width(words, size, is_strong=is_strong)
    bars = [label("|", x, 60, size, font_weight=weight) for x in (10.0, 10.0 + apart)]
    middle = label(f"|{words}|", 10, 160, size, font_weight=weight)
    svg = tag("svg", *bars, middle, xmlns=SVG, width=1200, height=200, font_family=FONT)
    ink = np.asarray(Image.open(io.BytesIO(vl_convert.svg_to_png(svg))))[..., 3] > 128
    reckoned, drawn = (np.flatnonzero(half.any(axis=0)).max() for half in (ink[:100], ink[100:]))
    assert reckoned == pytest.approx(drawn, abs=2)


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=200), st.floats(20, 200))
def test_wrapped_lines_keep_to_their_width_and_lose_nothing(words, width):
    lines = wrapped(words, width, 10)
    assert "".join("".join(lines).split()) == "".join(words.split())
    for line in lines:
        assert text_width(line, 10) <= width or len(line) == 1


@given(st.text(max_size=80), st.floats(20, 200))
def test_words_cut_short_fit_and_say_so(words, width):
    cut = cut_short(words, width, 10)
    assert text_width(cut, 10) <= width
    if cut != words:
        assert cut.endswith("...")
        assert words.startswith(cut.removesuffix("..."))


def page_colours(scheme):
    """Return the colours of steps and of the marks on them as the page has them."""
    held = tokens()

    def resolved(colour):
        inside = re.fullmatch(r"light-dark\((.*), (.*)\)", colour)
        named = (inside[1 + scheme] if inside else colour).removeprefix("var(").removesuffix(")")
        return held[named][scheme]

    return [[resolved(colour) for colour in colours] for colours in (PAGE.steps, PAGE.on_steps)]


@pytest.mark.parametrize("scheme", [LIGHT, DARK])
def test_marks_stand_out_from_every_shade(scheme):
    for shade, ink in zip(*page_colours(scheme), strict=True):
        # WCAG 2.2, criterion 1.4.3: 4.5 to 1.
        assert contrast(shade, ink) >= 4.5


def test_paper_has_the_colours_of_the_light_page():
    assert [list(PAPER.steps), list(PAPER.on_steps)] == page_colours(LIGHT)
