"""The plane and the frontier as they are drawn: shorter is up, marks stand where their figures say."""

import json
import math
import re
from typing import Any

import pytest
import vl_convert

from stillwing.web.plots import compiled_plot

SHADES = {f"blur{step}": f"rgb(0,0,{step + 1})" for step in range(7)}
CELL = {"left_f": 7.5, "right_f": 8.5, "top_s": 1 / 1100, "bottom_s": 1 / 900, "step": 0, "is_possible": True}
ROW = {"iso": 400, "blur_px": 2.0, "f_number_words": "f/8", "is_whole_stop": False, "is_best": False}
WIDTH, HEIGHT = 600, 240


def drawn(name: str, sets: dict[str, list[dict[str, Any]]], **signals: Any) -> str:
    """Return a plot with figures as SVG, drawn by the same library outside a browser."""
    spec = json.loads(compiled_plot(name))
    for data in spec["data"]:
        if data["name"] in sets:
            data["values"] = sets[data["name"]]
    for signal in spec["signals"]:
        signal["value"] = signals.get(signal["name"], signal.get("value"))
    return str(vl_convert.vega_to_svg(spec))


def plane(cells: list[dict[str, Any]], **signals: Any) -> str:
    sets = {"cells": cells, "lines": [], "words": []}
    return drawn("plane", sets, f_low=4, f_high=16, s_short=1 / 8000, s_long=1 / 500, **SHADES, **signals)


def rings(svg: str) -> list[tuple[float, float]]:
    """Return where the rings stand: those of the best setting and of the chosen one, each drawn over its halo."""
    symbols = re.findall(r'<g class="mark-symbol role-mark.*?</g>', svg, re.S)
    found = [re.findall(r'transform="translate\(([-\d.]+),([-\d.]+)\)"', group) for group in symbols]
    return [(float(x), float(y)) for group in found for x, y in group]


@pytest.mark.parametrize("step", range(7))
def test_each_cell_has_the_shade_of_its_step(step: int) -> None:
    svg = plane([CELL | {"step": step}])
    assert svg.count(f'fill="{SHADES[f"blur{step}"]}"') == 1
    assert sum(svg.count(f'fill="{shade}"') for shade in SHADES.values()) == 1


def test_a_cell_that_the_camera_cannot_do_is_struck_and_not_shaded() -> None:
    svg = plane([CELL | {"is_possible": False}])
    assert all(f'fill="{shade}"' not in svg for shade in SHADES.values())
    struck = re.search(r'<g class="mark-rule role-mark.*?</g>', svg, re.S)
    assert struck is not None
    assert re.search(r'transform="translate\([-\d.]+,[-\d.]+\)" x2="[1-9][\d.]*" y2="-[1-9][\d.]*"', struck[0])


def test_shorter_is_up_and_wider_is_left_in_equal_stops() -> None:
    where = [
        rings(plane([], best_f=f, best_s=s, chosen_f=4, chosen_s=1 / 500))[0]
        for f, s in ((8, 1 / 1000), (8, 1 / 2000), (8, 1 / 4000), (5.66, 1 / 1000))
    ]
    (x, one), (_, two), (_, four), (left, _) = where
    assert one > two > four
    assert one - two == pytest.approx(two - four, rel=1e-6)
    assert one == pytest.approx(HEIGHT * math.log(8) / math.log(16), abs=0.01)
    assert x == pytest.approx(WIDTH / 2, abs=0.01)
    assert left < x


def test_the_proposed_ring_is_dashed_and_the_chosen_one_solid() -> None:
    svg = plane([], best_f=8, best_s=0.001, chosen_f=5.6, chosen_s=0.0005, accent="rgb(9,9,9)")
    dashes = re.findall(r'stroke="rgb\(9,9,9\)"[^>]*', svg)
    assert sum("stroke-dasharray" in one for one in dashes) == 1
    assert sum("stroke-dasharray" not in one for one in dashes) == 2  # the ring and its dot


def test_words_are_drawn_over_a_halo_at_their_side() -> None:
    words = [{"words": "noise unseen below", "f_number": 8, "exposure_s": 0.001, "side": "end below"}]
    svg = drawn(
        "plane", {"cells": [], "lines": [], "words": words}, f_low=4, f_high=16, s_short=1 / 8000, s_long=1 / 500
    )
    assert svg.count(">noise unseen below<") == 2
    assert re.search(r'<text[^>]* text-anchor="end"[^>]*>noise unseen below<', svg)


def test_the_frontier_names_whole_stops_and_rings_the_best() -> None:
    rows = [
        ROW | {"iso": 200, "is_whole_stop": True, "f_number_words": "f/5.6"},
        ROW | {"iso": 250, "blur_px": 1.8},
        ROW | {"iso": 400, "blur_px": 1.5, "is_whole_stop": True, "is_best": True},
    ]
    noise = [{"iso": 320, "words": "noise seen from here on", "is_left": True}]
    svg = drawn("frontier", {"settings": rows, "noise": noise}, iso_low=150, iso_high=800)
    assert svg.count(">f/5.6<") == 2  # halo and word
    assert svg.count(">f/8<") == 2
    assert svg.count(">noise seen from here on<") == 2
    assert 'stroke-dasharray="4,3"' in svg
