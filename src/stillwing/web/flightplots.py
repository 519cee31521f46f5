"""The plots of a flight: its way as the camera saw it and from above, speed, depth and causes of blur over frames."""

from typing import Any

import altair as alt

from stillwing.web.plotparts import Encoding, Plot, axis, cursor, finish, frame_axis, once, ringed, signal

__all__ = ["above_plot", "causes_plot", "depth_plot", "seen_plot", "speed_plot"]

FAINT = 0.22
LABELS_PX = 51
PERCENT = "format(datum.value * 100, 'd')"
DASH = "is_side_told ? [1, 0] : [5, 4]"


def seen_plot() -> Plot:
    """Return the way as the camera saw it: to the right and up, at one scale.

    Like `above_plot`, it draws ``spots``: a row per frame and possible place, with ``x``, ``y``, their ``low`` and
    ``high`` ends, and ``possibility``, which tells possible ways apart.
    """
    return finish(alt.layer(*_way("up, mm"), *_scale_bar()), **_way_signals())


def above_plot() -> Plot:
    """Return the way from above: to the right and away from the camera, with the focal plane and what is in focus."""
    return finish(alt.layer(*_focal_plane(), *_way("from the focal plane, mm"), *_scale_bar()), **_way_signals())


def speed_plot() -> Plot:
    """Return the speed over frame number with its interval; the data set is ``spots``."""
    y = {"y": _upright("speed", [0, signal("highest")], "speed, m/s")}
    bounds = {"y": _upright("speed_low", [0, signal("highest")], "speed, m/s"), "y2": "speed_high:Q"}
    return finish(alt.layer(cursor(), *_over_frames(y, bounds)), **_frame_signals(), highest=1)


def depth_plot() -> Plot:
    """Return the way from the focal plane over frame number, on both sides of it where the side is not told.

    Data sets are ``spots``, a row per frame and possible place, and ``left``, frames that do not count.
    """
    domain = [signal("-deepest"), signal("deepest")]
    y = {"y": _upright("depth", domain, "from the focal plane, mm")}
    bounds = {"y": _upright("depth_low", domain, "from the focal plane, mm"), "y2": "depth_high:Q"}
    left = (
        alt.Chart(alt.NamedData("left"))
        .mark_rule(color=signal("soft"), strokeWidth=2)
        .encode(x=frame_axis(), y=alt.value(signal("height")), y2=alt.value(signal("height - 8")))
    )
    return finish(
        alt.layer(*_focal_plane(), cursor(), *_over_frames(y, bounds), left),
        **_frame_signals(), deepest=1, reach_mm=0, is_side_told=True,
    )  # fmt: skip


def causes_plot() -> Plot:
    """Return what the square of each frame's blur is made of, as bars; the data set is ``parts``."""
    parts = alt.Chart(alt.NamedData("parts"))
    y = _upright("from", [0, 1], "share of blur, %", values=[0, 0.25, 0.5, 0.75, 1], labelExpr=PERCENT)
    # Full, grey and hollow: told apart by lightness alone.
    colours: Any = [signal("ink"), signal("soft"), signal("raised")]
    fills = alt.Scale(domain=["defocus", "motion", "rest"], range=colours)
    bars = parts.mark_rect(stroke=signal("ink"), strokeWidth=1).encode(
        x=frame_axis(),
        x2="until:Q",
        y=y,
        y2="to:Q",
        fill=alt.Fill("cause:N", scale=fills, legend=None),
        fillOpacity=alt.condition("datum.cause == 'motion'", alt.value(0.5), alt.value(1)),
    )
    return finish(alt.layer(bars, cursor()), **_frame_signals())


def _way(upright: str) -> list[alt.Chart]:
    spots = alt.Chart(alt.NamedData("spots"))
    x_ends, y_ends = [signal("x_from"), signal("x_to")], [signal("y_from"), signal("y_to")]
    x, y = _across("x", x_ends), _upright("y", y_ends, upright)
    where: Encoding = {"x": x, "y": y}
    whiskers = spots.mark_rule(color=signal("soft"), opacity=0.55)
    sideways = whiskers.encode(x=_across("x_low", x_ends), x2="x_high:Q", y=y)
    lengthways = whiskers.encode(x=x, y=_upright("y_low", y_ends, upright), y2="y_high:Q")
    line = spots.mark_line(color=signal("ink"), strokeWidth=1.25, strokeDash=signal(DASH)).encode(
        **where, order="number:Q", detail="possibility:N"
    )
    now = spots.transform_filter("datum.number == current").mark_point(
        size=420, stroke=signal("accent"), strokeWidth=3, opacity=1, shape="square"
    )
    names = spots.transform_filter("isValid(datum.label)")
    written = [
        names.mark_text(dy=-13, fontSize=13, **how).encode(**where, text="label:N")
        for how in ({"stroke": signal("raised"), "strokeWidth": 4, "fill": None}, {"color": signal("ink")})
    ]
    return [sideways, lengthways, line, *_points(spots, where), now.encode(**where), *written]


def _points(spots: alt.Chart, where: Encoding) -> list[alt.Chart]:
    """Return the marks of frames: hollow where doubted, ringed where kept or spare."""
    sure = spots.transform_filter("!datum.is_doubted").mark_point(filled=True, color=signal("ink"), size=22, opacity=1)
    doubted = spots.transform_filter("datum.is_doubted").mark_point(
        fill=signal("raised"), stroke=signal("ink"), strokeWidth=1.5, size=34, opacity=1, filled=False
    )
    return [sure.encode(**where), doubted.encode(**where), ringed(spots, where)]


def _over_frames(where: Encoding, bounds: Encoding) -> list[alt.Chart]:
    spots, x = alt.Chart(alt.NamedData("spots")), {"x": frame_axis()}
    band = spots.mark_area(color=signal("soft"), opacity=FAINT, clip=True).encode(**x, **bounds, detail="possibility:N")
    line = spots.mark_line(color=signal("ink"), strokeWidth=1.25, clip=True).encode(
        **x, **where, detail="possibility:N", order="number:Q"
    )
    return [band, line, *_points(spots, x | where)]


def _focal_plane() -> list[alt.Chart]:
    """Return the focal plane as a line, and the tint over what is in focus; no tint where ``reach_mm`` is 0."""
    across = {"x": alt.value(0), "x2": alt.value(signal("width"))}
    reach = [alt.value(signal(f"scale('y', {sign}reach_mm)")) for sign in ("", "-")]
    shown = signal("reach_mm > 0 ? 0.75 : 0")
    tint = once().mark_rect(color=signal("wash"), opacity=shown, clip=True).encode(**across, y=reach[0], y2=reach[1])
    edge = once().mark_rule(
        color=signal("accent"), strokeWidth=1, strokeDash=[2, 3], opacity=signal("reach_mm > 0 ? 1 : 0"), clip=True
    )
    edges = [edge.encode(**across, y=each) for each in reach]
    plane = (
        once().mark_rule(color=signal("accent"), strokeWidth=2).encode(**across, y=alt.value(signal("scale('y', 0)")))
    )
    return [tint, *edges, plane]


def _scale_bar() -> list[alt.Chart]:
    """Return a bar of ``bar_mm`` at the lower left, with its length."""
    end = "10 + abs(scale('x', bar_mm) - scale('x', 0))"
    low = "height - 12"
    rule = once().mark_rule(color=signal("ink"), strokeWidth=2)
    bar = rule.encode(x=alt.value(10), x2=alt.value(signal(end)), y=alt.value(signal(low)))
    ends = [
        rule.encode(x=alt.value(signal(at)), y=alt.value(signal("height - 17")), y2=alt.value(signal("height - 7")))
        for at in ("10", end)
    ]
    words = (
        once()
        .mark_text(align="left", baseline="middle", fontSize=13, color=signal("ink"), text=signal("bar_words"))
        .encode(x=alt.value(signal(f"{end} + 6")), y=alt.value(signal(low)))
    )
    return [bar, *ends, words]


def _across(field: str, domain: Any) -> alt.X:
    ticks = axis(title="to the right, mm", tickCount=signal("max(2, ceil(width / 90))"), labelOverlap=True, format="~f")
    return alt.X(f"{field}:Q", scale=alt.Scale(domain=domain, nice=False, zero=False), axis=ticks)


def _upright(field: str, domain: Any, title: str, **settings: Any) -> alt.Y:
    # Labels of any width leave the title where it is.
    usual = {
        "title": title,
        "tickCount": signal("max(2, ceil(height / 60))"),
        "labelOverlap": True,
        "format": "~f",
        "minExtent": LABELS_PX,
        "maxExtent": LABELS_PX,
    }
    ticks = axis(**(usual | settings))
    return alt.Y(f"{field}:Q", scale=alt.Scale(domain=domain, nice=False, zero=False), axis=ticks)


def _way_signals() -> dict[str, Any]:
    return {
        "x_from": 0, "x_to": 1, "y_from": 0, "y_to": 1, "reach_mm": 0, "bar_mm": 1, "bar_words": "",
        "current": 0, "is_side_told": True,
    }  # fmt: skip


def _frame_signals() -> dict[str, Any]:
    return {"first": 1, "last": 10, "step": 1, "current": 0}
