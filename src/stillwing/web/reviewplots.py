"""The plots of the Review page: keeper rates with their intervals, the difference of two, practice over outings."""

from typing import Any

import altair as alt

from stillwing.web.plotparts import Plot, axis, finish, once, signal

__all__ = ["apart_plot", "keeper_plot", "practice_plot"]

PERCENT = "format(datum.value * 100, '~g') + ' %'"
POINTS = "datum.value == 0 ? '0' : format(datum.value * 100, '+~g')"
FIGURE = "format(datum.value * times, '~g') + unit"
SHORT_DASH, WHOLE = [5, 4], [1, 0]


def keeper_plot() -> Plot:
    """Return the share kept of each level as a dot with its interval, and that of all bursts as a line.

    The data set is ``levels``, a row of the plot each.
    """
    levels = alt.Chart(alt.NamedData("levels"))
    rows = alt.Y("row:O", axis=None, scale=alt.Scale(type="point", domain=signal("rows"), padding=0.5))
    ticks = axis(title=None, tickCount=signal("max(2, ceil(width / 80))"), labelExpr=PERCENT, labelOverlap=True)

    def share(field: str) -> alt.X:
        return alt.X(f"{field}:Q", scale=alt.Scale(domain=[0, signal("highest")], nice=False), axis=ticks)

    whole = (
        once()
        .mark_rule(color=signal("accent"), strokeWidth=1.5, strokeDash=SHORT_DASH)
        .encode(x=alt.value(signal("scale('x', overall)")), y=alt.value(0), y2=alt.value(signal("height")))
    )
    whisker = levels.mark_rule(color=signal("soft"), strokeWidth=2).encode(x=share("low"), x2="high:Q", y=rows)
    dot = levels.mark_point(filled=True, color=signal("ink"), size=70, opacity=1).encode(x=share("share"), y=rows)
    return finish(alt.layer(whole, whisker, dot), highest=1, overall=0, rows=[0])


def apart_plot() -> Plot:
    """Return the difference of two levels as a dot with its interval, and a line at none; the data set is ``apart``."""
    apart = alt.Chart(alt.NamedData("apart"))
    ticks = axis(title=None, tickCount=signal("max(3, ceil(width / 80))"), labelExpr=POINTS, labelOverlap=True)
    middle = {"y": alt.value(signal("height / 2"))}

    def points(field: str) -> alt.X:
        scale = alt.Scale(domain=[signal("-widest"), signal("widest")], nice=False)
        return alt.X(f"{field}:Q", scale=scale, axis=ticks)

    none = (
        once()
        .mark_rule(color=signal("accent"), strokeWidth=1.5)
        .encode(x=alt.value(signal("width / 2")), y=alt.value(0), y2=alt.value(signal("height")))
    )
    whisker = apart.mark_rule(color=signal("soft"), strokeWidth=2).encode(x=points("low"), x2="high:Q", **middle)
    dot = apart.mark_point(filled=True, color=signal("ink"), size=90, opacity=1).encode(x=points("likely"), **middle)
    return finish(alt.layer(none, whisker, dot), widest=1)


def practice_plot() -> Plot:
    """Return one measure over outings, better upwards: dots with their intervals, and the trend.

    Data sets are ``outings`` and ``trend``; the axis goes from ``worst`` at the bottom to ``best``.
    """
    outings, trend = alt.Chart(alt.NamedData("outings")), alt.Chart(alt.NamedData("trend"))
    scale = alt.Scale(domain=[signal("0.5"), signal("last + 0.5")], nice=False, zero=False)
    ticks: Any = axis(
        title=None, tickMinStep=1, format="d", tickCount=signal("min(last, ceil(width / 40))"), grid=False
    )
    x = alt.X("number:Q", scale=scale, axis=ticks)

    def figure(field: str) -> alt.Y:
        down: Any = axis(title=None, tickCount=4, labelExpr=FIGURE)
        return alt.Y(
            f"{field}:Q", scale=alt.Scale(domain=[signal("worst"), signal("best")], nice=False, zero=False), axis=down
        )

    whisker = outings.transform_filter("isValid(datum.low)").mark_rule(color=signal("soft"), strokeWidth=2, clip=True)
    dot = outings.mark_point(filled=True, color=signal("ink"), size=60, opacity=1)
    line = trend.mark_line(
        color=signal("accent"), strokeWidth=2, strokeDash=signal("is_told ? [1, 0] : [5, 4]"), clip=True
    )
    return finish(
        alt.layer(
            whisker.encode(x=x, y=figure("low"), y2="high:Q"),
            line.encode(x=x, y=figure("figure")),
            dot.encode(x=x, y=figure("figure")),
        ),
        last=10, worst=0, best=1, times=1, unit="", is_told=False,
    )  # fmt: skip
