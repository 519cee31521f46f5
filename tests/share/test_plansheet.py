"""The A4 page of a plan: nothing overflows, nothing overlaps, and what matters least is left out first."""

import io
import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import vl_convert
from PIL import Image

from place.waters import circle, outline
from plan.plans import question
from share.toldplans import CREDIT, HOSTILE, fine, hostile, overcast, parsed, pond, told_of, unknown
from stillwing.place.site import Site, with_proposed_stands
from stillwing.share.plansheet import EDGE, FOOT, HEIGHT, LEADING, TEXT, WIDTH, plan_sheet_pdf, plan_sheet_svg
from stillwing.share.svgparts import text_width

EDGE_PX = 8
"""Of a page drawn at 1 px a millimetre, the margin that must stay free of ink."""


def large():
    """Return a day at a large water, with the most rows and long sentences."""
    site = with_proposed_stands(Site(f"a water of a long name {HOSTILE * 3}", outline(circle(320.0))))
    told = told_of(question(site))
    return replace(told, cautions=("Mind this. " * 40,) * 6, doubts=("this is not known " * 20,) * 8)


def hopeless():
    told = fine()
    return replace(told, windows=(), moves=(), ending=None, what_ifs=())


PLANS = [fine, pond, unknown, overcast, hostile, large, hopeless]


def left_of(text):
    return float(text.get("x") or text.find("tspan").get("x"))


def own_lines(told):
    """Return the lines of words that the page itself sets, not its pictures: x, y, words, is it a head."""
    root = parsed(plan_sheet_svg(told))
    return [
        (left_of(text), float(text.get("y")), "".join(text.itertext()), text.get("font-weight") == "bold")
        for text in root.findall("text")
        if float(text.get("font-size")) == TEXT and text.get("text-anchor") is None
    ]


@pytest.mark.parametrize("told", PLANS)
def test_the_margins_stay_free_of_ink(told):
    png = vl_convert.svg_to_png(plan_sheet_svg(told()), ppi=25.4 * 4)
    page = np.asarray(Image.open(io.BytesIO(png)).convert("L")).astype(float)
    assert page.shape[0] / page.shape[1] == pytest.approx(HEIGHT / WIDTH, rel=0.01)
    edge = round(EDGE_PX * page.shape[1] / WIDTH)
    foot = round(5 * page.shape[1] / WIDTH)
    for strip in (page[:edge], page[-foot:], page[:, :edge], page[:, -edge:]):
        assert strip.min() > 250
    # There is ink within.
    assert page.min() < 60


@pytest.mark.parametrize("told", PLANS)
def test_lines_fit_their_column_and_do_not_touch(told):
    lines = own_lines(told())
    columns = sorted({x for x, _, _, _ in lines})
    assert len(columns) <= 2
    for i, left in enumerate(columns):
        right = columns[i + 1] - 2 if i + 1 < len(columns) and i == 0 else WIDTH - EDGE
        body = [(y, words, strong) for x, y, words, strong in lines if x == left and y > 60]
        for y, words, strong in body:
            assert left + text_width(words, TEXT, is_strong=strong) <= right + 1e-6
            assert y <= FOOT + 1e-6
        heights = [y for y, _, _ in body]
        assert all(b - a >= LEADING - 1e-3 for a, b in pairwise(heights))


@pytest.mark.parametrize("told", PLANS)
def test_words_stand_clear_of_the_pictures(told):
    told = told()
    root = parsed(plan_sheet_svg(told))
    pictures = []
    for group in root.findall("g"):
        x, y, scale = map(
            float, re.fullmatch(r"translate\((\S+) (\S+)\) scale\((\S+)\)", group.get("transform")).groups()
        )
        held = group.find("svg")
        pictures.append((x, y, x + scale * float(held.get("width")), y + scale * float(held.get("height"))))
    assert len(pictures) == 2
    for x, y, words, strong in own_lines(told):
        for left, top, right, bottom in pictures:
            is_beside = x >= right or x + text_width(words, TEXT, is_strong=strong) <= left
            assert is_beside or y <= top or y - TEXT >= bottom - 1
    grid, water = pictures
    assert grid[3] <= water[1]
    assert water[3] <= FOOT


def test_the_page_tells_the_plan():
    told = pond()
    shown = " ".join(" ".join(words for _, _, words, _ in own_lines(told)).split())
    for window in told.windows:
        assert f"{window.start:%H:%M} to {window.end:%H:%M} at" in shown
    assert told.windows[0].reasons[0] in shown
    assert CREDIT in shown
    assert "Would spoil it: " in shown
    assert told.cautions[0][:40] in shown


def test_what_matters_least_is_left_out_first_and_the_page_says_so():
    told = large()
    shown = " ".join(words for _, _, words, _ in own_lines(told))
    assert "What if" not in shown
    assert "Mind" in shown
    everything = " ".join(parsed(plan_sheet_svg(told)).itertext())
    assert "Shortened to fit one page" in everything
    assert all(f"{window.start:%H:%M} to {window.end:%H:%M} at" in shown for window in told.windows)


def test_a_day_without_hope_is_told_first():
    words = [words for _, _, words, _ in own_lines(hopeless())]
    assert "Nothing is to be expected on this day" in words


@pytest.mark.parametrize("told", [fine, hostile, large])
def test_the_pdf_is_one_a4_page(told):
    pdf = plan_sheet_pdf(told())
    assert pdf.startswith(b"%PDF-")
    assert len(re.findall(rb"/Type\s*/Page\b", pdf)) == 1
    (box,) = re.findall(rb"/MediaBox\s*\[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", pdf)
    # ISO 216: 210 mm x 297 mm; a point is 25.4/72 mm.
    assert [float(side) * 25.4 / 72 for side in box] == pytest.approx([210, 297], abs=0.01)


def test_the_same_plan_gives_the_same_page():
    assert plan_sheet_svg(fine()) == plan_sheet_svg(told_of())


def test_no_head_ends_a_column():
    for told in PLANS:
        lines = own_lines(told())
        for left in {x for x, _, _, _ in lines}:
            column = [strong for x, y, _, strong in lines if x == left and y > 60]
            assert not column or not column[-1] or column == [True]
