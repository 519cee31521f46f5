"""The plots of the Review page, drawn by the same library outside a browser."""

import re

import pytest

from .test_waitingplots import drawn

LEVELS = [
    {"row": row, "share": share, "low": share / 2, "high": share * 1.5} for row, share in ((0, 0.2), (1, 0.1), (2, 0.3))
]
OUTINGS = [
    {"number": 1, "figure": 0.4, "low": 0.3, "high": 0.5},
    {"number": 2, "figure": 0.2, "low": None, "high": None},
    {"number": 3, "figure": 0.1, "low": 0.0, "high": 0.2},
]


def dots(svg: str) -> list[list[float]]:
    """Return where the dots stand, right and down. [px]"""
    found = re.search(r'<g class="mark-symbol role-mark.*?</g>', svg, re.S)
    assert found is not None
    return [[float(each) for each in one] for one in re.findall(r"translate\(([\d.]+),([\d.]+)\)", found[0])]


def rules(svg: str) -> list[str]:
    return re.findall(r'class="mark-rule role-mark[^>]*>(.*?)</g>', svg, re.S)


def test_levels_stand_below_each_other_at_their_shares() -> None:
    svg = drawn("keepers", {"levels": LEVELS}, highest=0.5, overall=0.25, rows=[0, 1, 2])
    assert dots(svg) == [pytest.approx(one) for one in [[240, 40], [120, 120], [360, 200]]]
    # All bursts together: half way across the 600 px.
    assert 'transform="translate(300,0)"' in rules(svg)[0]
    assert "20 %" in svg


def test_a_difference_stands_right_of_none_where_the_first_is_better() -> None:
    apart = [{"likely": 0.1, "low": -0.05, "high": 0.2}]
    svg = drawn("apart", {"apart": apart}, widest=0.2)
    assert dots(svg) == [pytest.approx(one) for one in [[450, 120]]]
    assert 'transform="translate(300,0)"' in rules(svg)[0]
    assert "+10" in svg


@pytest.mark.parametrize(("worst", "best", "second"), [(0.5, 0.0, 96), (0.0, 0.5, 144)])
def test_what_is_better_stands_higher(worst: float, best: float, second: float) -> None:
    svg = drawn("practice", {"outings": OUTINGS, "trend": []}, last=3, worst=worst, best=best, times=100, unit=" %")
    assert dots(svg)[1] == pytest.approx([300, second])
    assert "40 %" in svg


def test_an_outing_of_few_bursts_has_no_whisker_and_a_trend_that_is_not_told_is_dashed() -> None:
    trend = [{"number": 1, "figure": 0.4}, {"number": 3, "figure": 0.1}]
    pencilled, inked = (
        drawn(
            "practice",
            {"outings": OUTINGS, "trend": trend},
            last=3,
            worst=0.5,
            best=0.0,
            times=1,
            unit="",
            is_told=told,
        )
        for told in (False, True)
    )
    assert rules(pencilled)[0].count("<line") == 2
    assert 'stroke-dasharray="5,4"' in pencilled
    assert 'stroke-dasharray="5,4"' not in inked
