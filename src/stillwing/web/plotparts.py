"""What the plots of the pages share: colours that the page sets, axes, and marks that stand once."""

from typing import Any

import altair as alt

__all__ = [
    "Encoding",
    "Plot",
    "axis",
    "band",
    "blur_axis",
    "cursor",
    "finish",
    "frame_axis",
    "once",
    "ringed",
    "signal",
]

BLUR_TICKS_PX = (0.35, 0.5, 0.7, 1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16, 22, 32, 45, 64)
"""Half octaves of blur; the whole octaves among them carry labels."""

LABELLED = "indexof([0.5, 1, 2, 4, 8, 16, 32, 64], datum.value) >= 0 ? format(datum.value, '~g') : ''"
NO_AUTOSIZE = alt.AutoSizeParams(type="none")

# Signals that every plot has; the values here only show where a page sets none.
PALETTE = {"ink": "#000", "soft": "#555", "grid": "#ddd", "accent": "#00c", "wash": "#eef", "raised": "#fff"}

Encoding = dict[str, Any]
Plot = alt.LayerChart | alt.FacetChart


def band() -> Plot:
    """Return the tint over all blur that the output hides, with the line that ends it; none where ``limit_px`` is 0."""
    across = {"x": alt.value(0), "x2": alt.value(signal("width"))}
    limit = alt.value(signal("scale('y', max(limit_px, sharp_px))"))
    tint = (
        once()
        .mark_rect(color=signal("wash"), opacity=signal("limit_px > 0 ? 0.75 : 0"))
        .encode(**across, y=alt.value(0), y2=limit)
    )
    edge = (
        once()
        .mark_rule(color=signal("accent"), strokeWidth=1, opacity=signal("limit_px > 0 ? 1 : 0"))
        .encode(**across, y=limit)
    )
    return alt.layer(tint, edge)


def once() -> alt.Chart:
    """Return a chart of one empty row, for marks that stand once."""
    return alt.Chart(alt.InlineData([{}]))


def blur_axis(field: str) -> alt.Y:
    """Return the axis of blur, sharper upwards, from ``sharp_px`` to ``soft_px``."""
    scale = alt.Scale(type="log", domain=[signal("sharp_px"), signal("soft_px")], reverse=True, clamp=True, nice=False)
    ticks = axis(title="blur, px", values=list(BLUR_TICKS_PX), labelExpr=LABELLED)
    return alt.Y(f"{field}:Q", scale=scale, axis=ticks)


def frame_axis(**settings: Any) -> alt.X:
    """Return the axis of frame numbers, from ``first`` to ``last``, labelled every ``step`` frames."""
    # Half a frame of air on both sides, so that the first and last point do not sit on the plot's edge.
    domain = [signal("first - 0.5"), signal("last + 0.5")]
    values = signal("sequence(ceil(first / step) * step, last + 1, step)")
    return alt.X(
        "number:Q",
        scale=alt.Scale(domain=domain, nice=False, zero=False),
        axis=axis(**({"title": "frame", "values": values, "format": "d", "labelOverlap": True} | settings)),
    )


def axis(**settings: Any) -> alt.Axis:
    """Return an axis in the colours of the page."""
    colours: Encoding = {
        "grid": True,
        "labelColor": signal("soft"),
        "titleColor": signal("soft"),
        "gridColor": signal("grid"),
        "domainColor": signal("soft"),
        "tickColor": signal("soft"),
    }
    return alt.Axis(**(colours | settings))


def cursor() -> alt.Chart:
    """Return the line at the current frame; none where that is 0."""
    line: alt.Chart = (
        once()
        .mark_rule(color=signal("accent"), strokeWidth=2, opacity=signal("current > 0 ? 1 : 0"))
        .encode(x=alt.value(signal("scale('x', current)")), y=alt.value(0), y2=alt.value(signal("height")))
    )
    return line


def ringed(source: alt.Chart, where: Encoding) -> alt.Chart:
    """Return the rings round what is kept or spare: dashed while proposed, solid once decided."""
    chosen = source.transform_filter("datum.choice == 'keep' || datum.choice == 'spare'")
    rings: alt.Chart = chosen.mark_point(filled=False, fillOpacity=0, opacity=1).encode(
        **where,
        size=alt.condition("datum.choice == 'keep'", alt.value(260), alt.value(95)),
        stroke=alt.condition("datum.choice == 'keep'", alt.value(signal("accent")), alt.value(signal("ink"))),
        strokeWidth=alt.condition("datum.choice == 'keep'", alt.value(2), alt.value(1.25)),
        strokeDash=alt.condition("datum.is_decided", alt.value([1, 0]), alt.value([3, 2])),
    )
    return rings


def signal(expression: str) -> alt.ExprRef:
    """Return a value that the drawing works out from signals."""
    return alt.ExprRef(expression)


def finish(chart: Plot, **signals: Any) -> Plot:
    """Return ``chart`` with its signals, without a ground of its own, in the pages' type."""
    values: dict[str, Any] = PALETTE | signals
    finished: Plot = (
        chart.add_params(*(alt.param(name=name, value=value) for name, value in values.items()))
        .properties(width=600, height=240, autosize=NO_AUTOSIZE, padding=0)
        .configure(background="transparent", font="system-ui, sans-serif")
        .configure_axis(labelFontSize=13, titleFontSize=13, titleFontWeight="normal", labelPadding=4, gridWidth=1)
        .configure_view(stroke=None)
    )
    return finished
