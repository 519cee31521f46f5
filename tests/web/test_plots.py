"""The plots: what they are made of, and that sharper is up."""

import gzip
import json
import math
import re
from itertools import pairwise
from typing import Any

import pytest
import vl_convert

from stillwing.web.plots import PLOTS, compiled_plot, plot_script, plots_mark

ROW = {
    "is_measured": True,
    "is_found": True,
    "is_lead": True,
    "choice": "leave",
    "is_decided": False,
    "blur_low_px": 1.0,
    "blur_high_px": 1.2,
}


def drawn(name: str, rows: list[dict[str, Any]], **signals: float) -> str:
    """Return a plot with figures as SVG, drawn by the same library outside a browser."""
    spec = json.loads(compiled_plot(name))
    for data in spec["data"]:
        if data["name"] in ("frames", "bursts"):
            data["values"] = rows
    for signal in spec["signals"]:
        signal["value"] = signals.get(signal["name"], signal.get("value"))
    return str(vl_convert.vega_to_svg(spec))


def heights(svg: str, marks: str) -> list[float]:
    """Return the y of each symbol of the layer whose group carries ``marks``."""
    group = re.search(rf'<g class="mark-symbol role-mark {marks}".*?</g>', svg, re.S)
    assert group is not None
    return [float(y) for y in re.findall(r'transform="translate\([-\d.]+,([-\d.]+)\)"', group[0])]


def test_sharper_frames_stand_higher_and_equal_ratios_equally_far_apart() -> None:
    rows = [ROW | {"number": i + 1, "blur_px": blur} for i, blur in enumerate([8.0, 4.0, 2.0, 1.0])]
    spec = json.loads(compiled_plot("trace"))
    points = next(mark["name"] for mark in spec["marks"] if mark["type"] == "symbol")
    ys = heights(drawn("trace", rows, last=4), points)
    assert ys == sorted(ys, reverse=True)
    steps = [above - below for above, below in pairwise(ys)]
    assert steps == pytest.approx([steps[0]] * 3, rel=1e-3)
    # From 0.35 px at the top to 16 px at the bottom over the plot's 240 px.
    assert steps[0] == pytest.approx(240 / math.log2(16 / 0.35), rel=1e-3)


def test_a_frame_without_an_animal_breaks_the_line() -> None:
    blurs = [2.0, 1.0, None, 1.0, 2.0]
    rows = [ROW | {"number": i + 1, "blur_px": blur, "is_found": blur is not None} for i, blur in enumerate(blurs)]
    lines = re.findall(r'class="mark-line.*?<path[^>]* d="([^"]+)"', drawn("trace", rows, last=5), re.S)
    assert len(re.findall("M", lines[0])) == 2


@pytest.mark.parametrize(("choice", "n_rings"), [("keep", 1), ("spare", 1), ("leave", 0), (None, 0)])
def test_only_what_is_kept_or_spare_has_a_ring(choice: str | None, n_rings: int) -> None:
    plain = drawn("trace", [ROW | {"number": 1, "blur_px": 2.0, "choice": "leave"}], last=1)
    svg = drawn("trace", [ROW | {"number": 1, "blur_px": 2.0, "choice": choice}], last=1)
    assert svg.count("stroke-dasharray") - plain.count("stroke-dasharray") == n_rings


def test_a_decided_ring_is_solid_and_a_proposed_one_dashed() -> None:
    row = ROW | {"number": 1, "blur_px": 2.0, "choice": "keep"}
    assert 'stroke-dasharray="3,2"' in drawn("trace", [row], last=1)
    assert 'stroke-dasharray="3,2"' not in drawn("trace", [row | {"is_decided": True}], last=1)


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_carries_no_figures_and_no_colours_of_its_own(name: str) -> None:
    spec = json.loads(compiled_plot(name))
    handed_over = {
        "frames", "bursts", "cells", "settings", "steps", "chance", "places", "levels", "apart", "outings", "spots",
        "parts",
    }  # fmt: skip
    assert handed_over & {data["name"] for data in spec["data"]}
    assert all(data["values"] == [{}] for data in spec["data"] if "values" in data)
    assert {"ink", "soft", "grid", "accent", "wash"} <= {signal["name"] for signal in spec["signals"]}
    spec.pop("signals")
    assert re.findall(r'"#[0-9a-fA-F]{3,6}"', json.dumps(spec)) == []


@pytest.mark.parametrize("name", PLOTS)
def test_a_plot_without_any_figures_can_be_drawn(name: str) -> None:
    assert drawn(name, []).startswith("<svg")


def test_axes_name_their_units() -> None:
    titles = {name: re.findall(r'"title": ?"([^"]+)"', compiled_plot(name).decode()) for name in PLOTS}
    assert "blur, px" in titles["trace"]
    assert "size, %" in titles["size"]
    assert {"across, px", "down, px"} <= set(titles["path"])
    assert {"f-number", "exposure, s"} <= set(titles["plane"])
    assert {"ISO", "blur, px"} <= set(titles["frontier"])


def test_the_script_needs_nothing_from_elsewhere() -> None:
    script = gzip.decompress(plot_script()).decode()
    assert "window.vegaEmbed" in script
    assert re.findall(r"""^\s*import\s[^;]*["']https?:""", script, re.M) == []


def test_the_address_of_the_plots_is_stable() -> None:
    assert plots_mark() == plots_mark()
    assert re.fullmatch(r"[0-9a-f]{12}", plots_mark())
