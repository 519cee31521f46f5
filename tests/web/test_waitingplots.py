"""The plots of the Waiting page, drawn by the same library outside a browser."""

import json
import re
from typing import Any

import vl_convert

from stillwing.web.plots import compiled_plot


def drawn(name: str, data: dict[str, list[dict[str, Any]]], **signals: Any) -> str:
    """Return a plot of 600 x 240 px with figures as SVG."""
    spec = json.loads(compiled_plot(name))
    for one in spec["data"]:
        if one["name"] in data:
            one["values"] = data[one["name"]]
    for signal in spec["signals"]:
        signal["value"] = signals.get(signal["name"], signal.get("value"))
    return str(vl_convert.vega_to_svg(spec))


def paths(svg: str, mark: str) -> list[str]:
    return re.findall(rf'class="mark-{mark} .*?<path[^>]* d="([^"]+)"', svg, re.S)


STEPS = [
    {"kind": kind, "at_s": at, "share": share, "low": share / 2, "high": min(1, share * 1.5)}
    for kind, shares in (("first", (0, 0.5, 0.8, 0.8)), ("second", (0, 0.1, 0.2, 0.2)))
    for at, share in zip((0, 10, 20, 60), shares, strict=True)
]


def test_a_share_holds_until_it_changes() -> None:
    svg = drawn("waited", {"steps": STEPS, "lines": []}, until_s=60)
    lines = paths(svg, "line")
    # From nothing to a half at 10 of 60 s, up to 80 % at 20 s, then level: corners, never a slope.
    assert "M0,240L100,240L100,120L200,120L200,48L600,48L600,48" in lines
    assert "M0,240L100,240L100,216L200,216L200,192L600,192L600,192" in lines


def test_the_band_goes_round_the_first_share_alone() -> None:
    svg = drawn("waited", {"steps": STEPS, "lines": []}, until_s=60)
    assert len(paths(svg, "area")) == 1
    # Along the lower ends, 25 % and 40 %, and back along the upper ones, 100 % and 75 %.
    for corner in ("L100,180", "L200,144", "L200,0", "L100,60"):
        assert f"{corner}L" in paths(svg, "area")[0]


def test_when_to_leave_is_a_line_and_none_where_it_is_not_told() -> None:
    chance = {"chance": [{"at_s": 0, "share": 0.9}, {"at_s": 60, "share": 0.1}]}
    told, not_told = (drawn("chance", chance, until_s=60, leave_s=leave_s) for leave_s in (30, -1))
    rule = r'class="mark-rule role-mark[^>]*>(.*?)</g>'
    assert 'transform="translate(300,0)"' in re.findall(rule, told, re.S)[-1]
    assert 'opacity="0"' in re.findall(rule, not_told, re.S)[-1]


def test_labels_carry_the_unit_that_the_page_picks() -> None:
    svg = drawn("waited", {"steps": STEPS, "lines": []}, until_s=600, ticks_s=[0, 300, 600], unit_s=60, unit="min")
    assert re.findall(r">([^<>]+)</text>", svg)[:3] == ["0", "5 min", "10 min"]


def test_places_stand_below_each_other_in_their_order() -> None:
    places = [{"row": i, "per_h": 10 - 3 * i, "low": 5 - i, "high": 14 - i} for i in range(3)]
    svg = drawn("places", {"places": places}, highest=20, rows=[0, 1, 2])
    dots = re.search(r'<g class="mark-symbol role-mark.*?</g>', svg, re.S)
    assert dots is not None
    where = [[float(each) for each in one] for one in re.findall(r"translate\(([\d.]+),([\d.]+)\)", dots[0])]
    assert where == [[300, 40], [210, 120], [120, 200]]
