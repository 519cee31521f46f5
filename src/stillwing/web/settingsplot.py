"""The plots of the Settings page: the plane of f-number against exposure, and what each stop of ISO buys."""

from typing import Any

import altair as alt

from stillwing.web.plotparts import Encoding, Plot, axis, band, blur_axis, finish, once, signal

__all__ = ["SIDES", "frontier_plot", "plane_plot"]

BLUR_SCALE = {
    f"blur{step}": shade for step, shade in enumerate(("#111", "#333", "#555", "#777", "#999", "#bbb", "#ddd"))
}
HALO = 3.5
SIDES = {
    "start above": {"align": "left", "dx": 5, "dy": -9},
    "start below": {"align": "left", "dx": 5, "dy": 11},
    "middle above": {"align": "center", "dx": 0, "dy": -9},
    "middle below": {"align": "center", "dx": 0, "dy": 11},
    "end above": {"align": "right", "dx": -5, "dy": -9},
    "end below": {"align": "right", "dx": -5, "dy": 11},
    # Beyond a line that comes in from the top and falls to the right.
    "top": {"align": "left", "dx": 30, "dy": 10},
}
"""How words stand to their point of the plane. [CSS px]"""


def plane_plot() -> Plot:
    """Return blur over f-number and exposure, shorter upwards, with ISO as lines, limits, and two marked settings.

    Data sets are ``cells`` (a setting each), ``lines`` (points of lines, by ``name`` and ``kind``) and ``words``
    (what stands at them).
    """
    return finish(
        alt.layer(*_cells(), *_lines(), *_words(), *_rings()),
        f_low=5.6, f_high=22, s_short=1 / 8000, s_long=1 / 60, f_values=[8], f_names=["8"], s_values=[0.001],
        s_names=["1/1000"], best_f=8, best_s=0.001, chosen_f=8, chosen_s=0.001, **BLUR_SCALE,
    )  # fmt: skip


def frontier_plot() -> Plot:
    """Return the least blur at each ISO, sharper upwards, with the f-number that gives it at each whole stop."""
    rows = alt.Chart(alt.NamedData("settings"))
    x = alt.X(
        "iso:Q",
        scale=alt.Scale(type="log", domain=[signal("iso_low"), signal("iso_high")], nice=False),
        axis=axis(title="ISO", values=signal("iso_values"), format="d", labelOverlap="greedy", labelSeparation=6),
    )
    where = {"x": x, "y": blur_axis("blur_px")}
    line = rows.mark_line(color=signal("ink"), strokeWidth=1.25).encode(**where)
    points = rows.mark_point(filled=True, color=signal("ink"), size=26, opacity=1).encode(**where)
    named = rows.transform_filter("datum.is_whole_stop")
    words = _written(named, where, "f_number_words", dy=-11)
    noise = alt.Chart(alt.NamedData("noise"))
    edge = noise.mark_rule(color=signal("ink"), strokeWidth=1.5, strokeDash=[6, 3]).encode(
        x=x, y=alt.value(0), y2=alt.value(signal("height"))
    )
    foot = {"x": x, "y": alt.value(signal("height - 10"))}
    told = (
        *_written(noise.transform_filter("datum.is_left"), foot, "words", align="right", dx=-6),
        *_written(noise.transform_filter("!datum.is_left"), foot, "words", align="left", dx=6),
    )
    best = rows.transform_filter("datum.is_best").mark_point(
        filled=False, fillOpacity=0, size=300, stroke=signal("accent"), strokeWidth=2, strokeDash=[4, 3], opacity=1
    )
    return finish(
        alt.layer(band(), edge, line, points, best.encode(**where), *words, *told),
        iso_low=200, iso_high=25600, iso_values=[200], limit_px=2, sharp_px=0.35, soft_px=16,
    )  # fmt: skip


def _place(f_number: str = "f_number", exposure: str = "exposure_s", **second: str) -> Encoding:
    named = {"grid": False, "labelOverlap": "greedy", "ticks": True, "tickSize": 4}
    across: Any = axis(
        title="f-number", values=signal("f_values"),
        labelExpr="f_names[indexof(f_values, datum.value)]", labelSeparation=5, **named,
    )  # fmt: skip
    up: Any = axis(
        title="exposure, s", values=signal("s_values"),
        labelExpr="s_names[indexof(s_values, datum.value)]", labelSeparation=1, **named,
    )  # fmt: skip
    return {
        "x": alt.X(
            f"{f_number}:Q",
            scale=alt.Scale(type="log", domain=[signal("f_low"), signal("f_high")], nice=False),
            axis=across,
        ),
        "y": alt.Y(
            f"{exposure}:Q",
            scale=alt.Scale(type="log", domain=[signal("s_short"), signal("s_long")], reverse=True, nice=False),
            axis=up,
        ),
        **{channel: f"{field}:Q" for channel, field in second.items()},
    }


def _cells() -> tuple[alt.Chart, ...]:
    cells = alt.Chart(alt.NamedData("cells"))
    shade = alt.Color(
        "step:O",
        scale=alt.Scale(domain=list(range(len(BLUR_SCALE))), range=[signal(name) for name in BLUR_SCALE]),
        legend=None,
    )
    corners = _place("left_f", "top_s", x2="right_f", y2="bottom_s")
    filled = cells.transform_filter("datum.is_possible").mark_rect(opacity=1).encode(**corners, color=shade)
    # Neighbouring strokes from corner to corner join to a hatching.
    struck = cells.transform_filter("!datum.is_possible").mark_rule(color=signal("soft"), strokeWidth=1, opacity=0.7)
    return filled, struck.encode(**_place("left_f", "bottom_s", x2="right_f", y2="top_s"))


def _lines() -> tuple[alt.Chart, ...]:
    lines = alt.Chart(alt.NamedData("lines"))
    iso = lines.transform_filter("datum.kind == 'iso'")
    limits = lines.transform_filter("datum.kind != 'iso'")
    along = _place() | {"detail": "name:N", "order": alt.Order("f_number:Q")}
    dash = alt.condition("datum.kind == 'noise seen'", alt.value([6, 3]), alt.value([1, 0]))
    return (
        iso.mark_line(clip=True, color=signal("raised"), strokeWidth=3, opacity=0.55).encode(**along),
        iso.mark_line(clip=True, color=signal("ink"), strokeWidth=1).encode(**along),
        limits.mark_line(clip=True, color=signal("raised"), strokeWidth=5.5).encode(**along),
        limits.mark_line(clip=True, color=signal("ink"), strokeWidth=2.25).encode(**along, strokeDash=dash),
    )


def _words() -> tuple[alt.Chart, ...]:
    words = alt.Chart(alt.NamedData("words"))
    charts: list[alt.Chart] = []
    for side, settings in SIDES.items():
        charts += _written(words.transform_filter(f"datum.side == '{side}'"), _place(), "words", **settings)
    return tuple(charts)


def _written(source: alt.Chart, where: Encoding, field: str, **settings: Any) -> tuple[alt.Chart, alt.Chart]:
    """Return words with a halo of the ground's colour, so that they can be read over any shade."""
    text = alt.Text(f"{field}:N")
    plain = {"fontSize": 13, "baseline": "middle", "align": "center", **settings}
    halo = source.mark_text(
        stroke=signal("raised"), strokeWidth=HALO, strokeJoin="round", color=signal("raised"), **plain
    )
    return halo.encode(**where, text=text), source.mark_text(color=signal("ink"), **plain).encode(**where, text=text)


def _rings() -> tuple[alt.Chart, ...]:
    """Return the solver's setting, pencilled, and the chosen one, inked, both on a ring of the ground's colour."""

    def ring(which: str, size: float, **stroke: Any) -> alt.Chart:
        where = {
            "x": alt.value(signal(f"scale('x', {which}_f)")),
            "y": alt.value(signal(f"scale('y', {which}_s)")),
        }
        drawn: alt.Chart = (
            once().mark_point(filled=False, fillOpacity=0, size=size, opacity=1, **stroke).encode(**where)
        )
        return drawn

    dot = ring("chosen", 14, stroke=signal("accent"), strokeWidth=4)
    return (
        ring("best", 900, stroke=signal("raised"), strokeWidth=7),
        ring("best", 900, stroke=signal("accent"), strokeWidth=2.5, strokeDash=[5, 4]),
        ring("chosen", 330, stroke=signal("raised"), strokeWidth=9),
        ring("chosen", 330, stroke=signal("accent"), strokeWidth=3.5),
        ring("chosen", 30, stroke=signal("raised"), strokeWidth=6),
        dot,
    )
