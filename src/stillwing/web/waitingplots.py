"""The plots of the Waiting page: shares that rise in steps, the chance of a return, and rates with their intervals."""

from typing import Any

import altair as alt

from stillwing.web.plotparts import Plot, axis, finish, once, signal

__all__ = ["chance_plot", "places_plot", "waited_plot"]

PERCENT = "format(datum.value * 100, 'd') + ' %'"
LENGTH = "datum.value == 0 ? '0' : format(datum.value / unit_s, '~g') + ' ' + unit"


def waited_plot() -> Plot:
    """Return the share that has ended over time, in steps with its band, a second end, and the lines of models.

    Data sets are ``steps`` (of ``kind`` first or second) and ``lines`` (of ``kind`` steady or changing).
    """
    steps, lines = alt.Chart(alt.NamedData("steps")), alt.Chart(alt.NamedData("lines"))
    first = steps.transform_filter("datum.kind == 'first'")
    where = {"x": _time("at_s"), "y": _share("share")}
    bounds = {"x": _time("at_s"), "y": _share("low"), "y2": "high:Q"}
    band = first.mark_area(interpolate="step-after", color=signal("wash"), opacity=1, clip=True)
    second = steps.transform_filter("datum.kind == 'second'").mark_line(
        interpolate="step-after", color=signal("soft"), strokeWidth=2, strokeDash=[2, 2], clip=True
    )
    models = [
        lines.transform_filter(f"datum.kind == '{kind}'").mark_line(
            color=signal("accent"), strokeWidth=1.5, strokeDash=dash, clip=True
        )
        for kind, dash in (("steady", [1, 0]), ("changing", [7, 4]))
    ]
    seen = first.mark_line(interpolate="step-after", color=signal("ink"), strokeWidth=2, clip=True)
    return _finish(band.encode(**bounds), *(each.encode(**where) for each in (*models, second, seen)))


def chance_plot() -> Plot:
    """Return the chance of a return over the time gone, with a line at ``leave_s`` where that is not below 0.

    The data set is ``chance``.
    """
    falling = alt.Chart(alt.NamedData("chance")).mark_line(color=signal("ink"), strokeWidth=2, clip=True)
    at_leave = alt.value(signal("scale('x', max(0, leave_s))"))
    shown = signal("leave_s < 0 ? 0 : 1")
    after = once().mark_rect(color=signal("wash"), opacity=shown)
    leave = once().mark_rule(color=signal("accent"), strokeWidth=2, opacity=shown)
    down = {"y": alt.value(0), "y2": alt.value(signal("height"))}
    return _finish(
        after.encode(x=at_leave, x2=alt.value(signal("width")), **down),
        leave.encode(x=at_leave, **down),
        falling.encode(x=_time("at_s"), y=_share("share")),
        leave_s=-1,
    )


def places_plot() -> Plot:
    """Return events an hour as dots with their intervals; the data set is ``places``, a row of the plot each."""
    places = alt.Chart(alt.NamedData("places"))
    rows = alt.Y("row:O", axis=None, scale=alt.Scale(type="point", domain=signal("rows"), padding=0.5))
    ticks = axis(title=None, tickCount=signal("max(2, ceil(width / 80))"), labelOverlap=True, tickMinStep=0.1)

    def rate(field: str) -> alt.X:
        return alt.X(f"{field}:Q", scale=alt.Scale(domain=[0, signal("highest")], nice=False), axis=ticks)

    whisker = places.mark_rule(color=signal("soft"), strokeWidth=2, clip=True).encode(
        x=rate("low"), x2="high:Q", y=rows
    )
    dot = places.mark_point(filled=True, color=signal("ink"), size=70, opacity=1).encode(x=rate("per_h"), y=rows)
    return finish(alt.layer(whisker, dot), highest=1, rows=[0])


def _time(field: str) -> alt.X:
    """Return the axis of time from 0 to ``until_s``, labelled in the unit that the page picks."""
    scale = alt.Scale(domain=[0, signal("until_s")], nice=False)
    ticks: Any = axis(title=None, values=signal("ticks_s"), labelExpr=LENGTH, labelOverlap=True)
    return alt.X(f"{field}:Q", scale=scale, axis=ticks)


def _share(field: str) -> alt.Y:
    ticks: Any = axis(title=None, values=[0, 0.25, 0.5, 0.75, 1], labelExpr=PERCENT)
    return alt.Y(f"{field}:Q", scale=alt.Scale(domain=[0, 1], nice=False), axis=ticks)


def _finish(*layers: alt.Chart, **signals: float) -> Plot:
    return finish(alt.layer(*layers), until_s=60, ticks_s=[0, 60], unit_s=1, unit="s", **signals)
