"""The plots of a flight, drawn by the same library outside a browser."""

import re
from typing import Any

import pytest

from .test_waitingplots import drawn, paths


def spot(number: int, x: float, y: float, **how: Any) -> dict[str, Any]:
    base = {
        "number": number, "choice": None, "is_decided": False, "is_doubted": False, "possibility": 0,
        "x": x, "x_low": x - 1, "x_high": x + 1, "y": y, "y_low": y - 2, "y_high": y + 2,
        "depth": y, "depth_low": y - 2, "depth_high": y + 2,
        "speed": y, "speed_low": y - 2, "speed_high": y + 2,
    }  # fmt: skip
    return base | how


# A plot is 600 x 240 px: at 0.1 mm a px on both axes it holds 60 x 24 mm.
FRAME = {"x_from": 0, "x_to": 60, "y_from": -12, "y_to": 12, "bar_mm": 10, "bar_words": "10 mm"}


def test_a_way_stands_at_one_scale_across_and_upright() -> None:
    svg = drawn("flight-seen", {"spots": [spot(1, 10, 0), spot(2, 30, 10)]}, **FRAME)
    assert "M100,120L300,20" in paths(svg, "line")


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    svg = drawn("flight-seen", {"spots": [spot(1, 10, 0)]}, **FRAME)
    # 10 mm are 100 px.
    assert re.search(r'<line transform="translate\(10,228\)" x2="100"', svg) or 'translate(110,228)" x2="-100"' in svg
    assert ">10 mm</text>" in svg


def test_two_possible_ways_are_two_lines_and_dashed_while_the_side_is_open() -> None:
    spots = [spot(n, 10 * n, sign * 5, possibility=k) for n in (1, 2) for k, sign in enumerate((1, -1))]
    open_side = drawn("flight-above", {"spots": spots}, **FRAME, is_side_told=False, reach_mm=6)
    lines = paths(open_side, "line")
    assert "M100,70L200,70" in lines and "M100,170L200,170" in lines
    assert 'stroke-dasharray="5,4"' in open_side
    assert 'stroke-dasharray="5,4"' not in drawn("flight-above", {"spots": spots}, **FRAME, is_side_told=True)


def test_what_is_in_focus_lies_on_both_sides_of_the_focal_plane() -> None:
    svg = drawn("flight-above", {"spots": [spot(1, 10, 0)]}, **FRAME, reach_mm=6)
    tints = re.findall(r'opacity="0.75"[^>]*|<path[^>]*d="M0,60h600v120h-600Z"[^>]*', svg)
    assert any("M0,60h600v120h-600Z" in one for one in tints), svg[:3000]
    assert 'opacity="0"' in drawn("flight-above", {"spots": [spot(1, 10, 0)]}, **FRAME, reach_mm=0)


@pytest.mark.parametrize("name", ["flight-speed", "flight-depth"])
def test_the_interval_is_one_band_along_the_frames(name: str) -> None:
    spots = [spot(n, 0, 5) for n in (1, 2, 3)]
    svg = drawn(name, {"spots": spots, "left": []}, first=1, last=3, highest=12, deepest=12)
    (band,) = paths(svg, "area")
    # Frames stand in the middle of thirds of the width; the band is 4 of the axis high.
    high = 240 * 4 / (12 if name == "flight-speed" else 24)
    corners = [tuple(map(float, one.split(","))) for one in re.findall(r"[-\d.]+,[-\d.]+", band)]
    assert {x for x, _ in corners} == {100, 300, 500}
    assert max(y for _, y in corners) - min(y for _, y in corners) == pytest.approx(high)


def test_a_doubted_frame_is_hollow_and_a_frame_left_out_a_tick() -> None:
    spots = [spot(1, 0, 5), spot(2, 0, 5, is_doubted=True)]
    svg = drawn(
        "flight-depth", {"spots": spots, "left": [{"number": 3}]}, first=1, last=3, deepest=12, raised="#abcdef"
    )
    assert svg.count('fill="#abcdef"') == 1
    assert re.search(r'translate\(500,(240|232)\)" x2="0" y2="-?8"', svg)


def test_bars_stand_on_each_other_and_differ_in_lightness() -> None:
    shares = (("defocus", 0, 0.5), ("motion", 0.5, 0.75), ("rest", 0.75, 1))
    parts = [{"number": 0.6, "until": 1.4, "cause": cause, "from": low, "to": high} for cause, low, high in shares]
    svg = drawn("flight-causes", {"parts": parts}, first=1, last=1, ink="#010101", soft="#020202", raised="#030303")
    bars = re.findall(r'd="M([\d.]+),([\d.]+)h([\d.]+)v([\d.]+)h[^"]*"[^>]*fill="(#\d+)"', svg)
    heights = {fill: float(high) for *_, high, fill in bars}
    assert heights == {"#010101": 120, "#020202": 60, "#030303": 60}
