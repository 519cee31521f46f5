"""The plots of the pages, as Vega-Lite through Altair, compiled once, and the script that draws them.

A plot is a frame without figures: each page hands it the named data set ``frames`` (or ``bursts``) and sets its
signals. Colours are signals too, so that the style sheet stays the only home of the palette. The script comes out of
the installed vl-convert package; the page evaluates expressions with Vega's interpreter and needs no ``eval``.
"""

import gzip
import hashlib
import json
from collections.abc import Callable
from functools import cache
from importlib.metadata import version
from pathlib import Path

import altair as alt
import vl_convert

from stillwing.web import flightplots, plotparts, reviewplots, settingsplot, waitingplots
from stillwing.web.flightplots import above_plot, causes_plot, depth_plot, seen_plot, speed_plot
from stillwing.web.plotparts import (
    Encoding,
    Plot,
    axis,
    band,
    blur_axis,
    cursor,
    finish,
    frame_axis,
    once,
    ringed,
    signal,
)
from stillwing.web.reviewplots import apart_plot, keeper_plot, practice_plot
from stillwing.web.settingsplot import frontier_plot, plane_plot
from stillwing.web.waitingplots import chance_plot, places_plot, waited_plot

__all__ = ["PLOTS", "compiled_plot", "plot_script", "plots_mark"]

CROSS = "M-1,-1L1,1M-1,1L1,-1"


@cache
def plots_mark() -> str:
    """Return a word that changes with what the plots and their script are made of, so that browsers can keep them."""
    made_of = [f"{version('vl-convert-python')} {alt.SCHEMA_VERSION}".encode()]
    modules = (
        __file__,
        flightplots.__file__,
        plotparts.__file__,
        reviewplots.__file__,
        settingsplot.__file__,
        waitingplots.__file__,
    )
    made_of += [Path(module).read_bytes() for module in modules]
    return hashlib.sha256(b"".join(made_of)).hexdigest()[:12]


@cache
def plot_script() -> bytes:
    """Return the drawing script, packed with gzip; about a second and a half the first time, so pages ask early."""
    vega_lite = ".".join(alt.SCHEMA_VERSION.lstrip("v").split(".")[:2])
    script = vl_convert.javascript_bundle("window.vegaEmbed = vegaEmbed;", vega_lite)
    return gzip.compress(script.encode(), 6)


@cache
def compiled_plot(name: str) -> bytes:
    """Return one of `PLOTS` as Vega JSON without figures.

    Raises
    ------
    KeyError
        If there is no such plot.
    """
    spec = vl_convert.vegalite_to_vega(PLOTS[name]().to_dict(validate=True))
    # Only what the page hands over is drawn: a compiled plot must never carry figures of its own.
    return json.dumps(spec, separators=(",", ":")).encode()


def trace_plot() -> Plot:
    """Return blur over frame number: the trace of a burst, sharper upwards."""
    frames = alt.Chart(alt.NamedData("frames"))
    measured = frames.transform_filter("isValid(datum.blur_px)")
    x = {"x": frame_axis()}
    y = {"y": blur_axis("blur_px")}
    ring = ringed(measured.transform_filter("datum.is_lead"), x | y)
    whiskers = measured.mark_rule(color=signal("soft"), opacity=0.55).encode(
        **x, y=blur_axis("blur_low_px"), y2="blur_high_px:Q"
    )
    line = frames.transform_filter("datum.is_lead").mark_line(
        color=signal("ink"), strokeWidth=1.25, invalid="break-paths-show-path-domains"
    )
    points = measured.mark_point(filled=True, color=signal("ink"), opacity=1).encode(
        **x, **y, size=alt.condition("datum.is_lead", alt.value(22), alt.value(8))
    )
    crossed = measured.transform_filter("datum.is_lead && datum.choice == 'leave' && datum.is_decided").mark_point(
        shape=CROSS, size=90, stroke=signal("ink"), strokeWidth=1.5, opacity=1
    )
    nothing = frames.transform_filter("datum.is_measured && !datum.is_found").mark_rule(
        color=signal("soft"), strokeWidth=2
    )
    floor = {"y": alt.value(signal("height")), "y2": alt.value(signal("height - 8"))}
    plain = frames.transform_filter("datum.is_lead && datum.is_found && !isValid(datum.blur_px)").mark_point(
        filled=False, stroke=signal("soft"), strokeWidth=1.5, size=30, opacity=1
    )
    above_floor = {"y": alt.value(signal("height - 5"))}
    return finish(
        alt.layer(
            band(), cursor(), whiskers, line.encode(**x, **y), points,
            ring, crossed.encode(**x, **y), nothing.encode(**x, **floor), plain.encode(**x, **above_floor),
        ),
        first=1, last=10, step=1, current=0, limit_px=2, sharp_px=0.35, soft_px=16,
    )  # fmt: skip


def size_plot() -> Plot:
    """Return the animal's longest side, as a share of the frame's, over frame number."""
    frames = alt.Chart(alt.NamedData("frames")).transform_filter("datum.is_lead")
    y = alt.Y(
        "size_percent:Q",
        scale=alt.Scale(domain=[0, signal("largest_percent")], nice=False),
        axis=axis(title="size, %", tickCount=3),
    )
    line = frames.mark_line(color=signal("ink"), strokeWidth=1.25, invalid="break-paths-show-path-domains")
    points = frames.transform_filter("isValid(datum.size_percent)").mark_point(
        filled=True, color=signal("ink"), size=18, opacity=1
    )
    x = frame_axis(title=None, labels=False)
    return finish(
        alt.layer(cursor(), line.encode(x=x, y=y), points.encode(x=x, y=y)),
        first=1, last=10, step=1, current=0, largest_percent=100,
    )  # fmt: skip


def path_plot() -> Plot:
    """Return the animal's way across the picture: its box in each frame, the current one strong."""
    frames = alt.Chart(alt.NamedData("frames")).transform_filter("datum.is_lead && isValid(datum.x_px)")
    sparse = {"grid": False, "tickCount": 3}
    x_scale = alt.Scale(domain=[0, signal("frame_width_px")], nice=False)
    y_scale = alt.Scale(domain=[0, signal("frame_height_px")], nice=False, reverse=True)

    def place(x: str, y: str) -> Encoding:
        return {
            "x": alt.X(f"{x}:Q", scale=x_scale, axis=axis(title="across, px", **sparse)),
            "y": alt.Y(f"{y}:Q", scale=y_scale, axis=axis(title="down, px", **sparse)),
        }

    corners = place("x_px", "y_px") | {"x2": "right_px:Q", "y2": "bottom_px:Q"}
    boxes = frames.mark_rect(filled=False, stroke=signal("soft"), strokeOpacity=0.45, strokeWidth=1)
    centres = place("centre_x_px", "centre_y_px")
    way = frames.mark_line(color=signal("ink"), strokeWidth=1.25).encode(**centres, order="number:Q")
    points = frames.mark_point(filled=True, color=signal("ink"), size=14, opacity=1)
    edge = once().mark_rect(filled=False, stroke=signal("soft"), strokeWidth=1)
    whole = {
        "x": alt.value(0), "x2": alt.value(signal("width")), "y": alt.value(0), "y2": alt.value(signal("height")),
    }  # fmt: skip
    now = frames.transform_filter("datum.number == current").mark_rect(
        filled=False, stroke=signal("accent"), strokeWidth=3
    )
    return finish(
        alt.layer(
            edge.encode(**whole), boxes.encode(**corners), way, points.encode(**centres),
            ringed(frames, centres), now.encode(**corners),
        ),
        current=0, frame_width_px=6000, frame_height_px=4000,
    )  # fmt: skip


def hours_plot() -> Plot:
    """Return each burst's sharpest frame over the time of day."""
    return _outing_plot(
        alt.X(
            "clock_ms:T",
            scale=alt.Scale(type="utc", domain=[signal("from_ms"), signal("to_ms")], nice=False),
            axis=axis(
                title="camera time",
                format="%H:%M",
                tickCount=signal("ceil(width / 90)"),
                labelOverlap=True,
                labelSeparation=12,
            ),
        )
    )


def order_plot() -> Plot:
    """Return each burst's sharpest frame over the number of the burst, for cameras without a clock."""
    scale = alt.Scale(domain=[signal("first - 0.5"), signal("last + 0.5")], nice=False, zero=False)
    return _outing_plot(alt.X("number:Q", scale=scale, axis=axis(title="burst", format="d", tickMinStep=1)))


PLOTS: dict[str, Callable[[], Plot]] = {
    "trace": trace_plot,
    "size": size_plot,
    "path": path_plot,
    "hours": hours_plot,
    "order": order_plot,
    "plane": plane_plot,
    "frontier": frontier_plot,
    "waited": waited_plot,
    "chance": chance_plot,
    "places": places_plot,
    "keepers": keeper_plot,
    "apart": apart_plot,
    "practice": practice_plot,
    "flight-seen": seen_plot,
    "flight-above": above_plot,
    "flight-speed": speed_plot,
    "flight-depth": depth_plot,
    "flight-causes": causes_plot,
}


def _outing_plot(x: alt.X) -> Plot:
    bursts = alt.Chart(alt.NamedData("bursts"))
    measured = bursts.transform_filter("isValid(datum.blur_px)")
    y = blur_axis("blur_px")
    points = measured.mark_point(
        filled=True, color=signal("ink"), size=signal("last > 150 ? 8 : 26"), opacity=1
    ).encode(x=x, y=y)
    nothing = bursts.transform_filter("!isValid(datum.blur_px)").mark_rule(color=signal("soft"), strokeWidth=2)
    kept = measured.transform_filter("datum.n_keep > 0").mark_point(
        size=signal("last > 150 ? 40 : 150"), stroke=signal("accent"), strokeWidth=1.75, opacity=1
    )
    dash = alt.condition("datum.n_inked > 0", alt.value([1, 0]), alt.value([3, 2]))
    now = measured.transform_filter("datum.number == current").mark_point(
        size=420, stroke=signal("accent"), strokeWidth=3, opacity=1, shape="square"
    )
    return finish(
        alt.layer(
            band(), points, kept.encode(x=x, y=y, strokeDash=dash), now.encode(x=x, y=y),
            nothing.encode(x=x, y=alt.value(signal("height")), y2=alt.value(signal("height - 8"))),
        ),
        first=1, last=10, from_ms=0, to_ms=1, current=0, limit_px=2, sharp_px=0.35, soft_px=16,
    )  # fmt: skip
