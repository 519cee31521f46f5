"""Practice over outings in sentences that call nothing better that luck may have made so."""

import math
from collections.abc import Callable, Mapping, Sequence

from stillwing.review.fits import Limits
from stillwing.review.keeperwords import bursts_words
from stillwing.review.practice import N_LAST, Measure, PracticeTrend

__all__ = ["measure_figure", "measure_heading", "measure_name", "measures_sentence", "practice_sentences"]

NAMES: Mapping[Measure, str] = {
    Measure.SOON: "how soon the animal is in the frame",
    Measure.INSIDE: "share of frames that hold the animal",
    Measure.CENTRED: "how far the animal is from the middle",
    Measure.STEADY: "unsteadiness of the pan",
}
HEADINGS: Mapping[Measure, str] = {
    Measure.SOON: "until inside",
    Measure.INSIDE: "frames inside",
    Measure.CENTRED: "off the middle",
    Measure.STEADY: "pan unsteady by",
}
FIGURES: Mapping[Measure, tuple[Callable[[float], str], str]] = {
    Measure.SOON: (lambda value: f"{value:.2f}", " s"),
    Measure.INSIDE: (lambda value: f"{100 * value:.0f}", " %"),
    Measure.CENTRED: (lambda value: f"{100 * value:.0f}", " % of the frame's height"),
    Measure.STEADY: (lambda value: f"{value:.2g}", " px"),
}
CHANGE_FIGURES: Mapping[Measure, tuple[Callable[[float], str], str]] = {
    **FIGURES,
    Measure.SOON: (lambda value: f"{value:.3f}", " s"),
    Measure.INSIDE: (lambda value: f"{100 * value:.1f}", " points"),
    Measure.CENTRED: (lambda value: f"{100 * value:.1f}", " points"),
}


def measure_name(trend: PracticeTrend) -> str:
    """Return what is measured, in words."""
    return NAMES[trend.measure]


def measure_heading(trend: PracticeTrend) -> str:
    """Return what is measured, in as few words as stand over a column."""
    return HEADINGS[trend.measure]


def measure_figure(trend: PracticeTrend, value: float) -> str:
    """Return one figure of a measure with its unit."""
    words, unit = FIGURES[trend.measure]
    return f"{words(value)}{unit}"


def practice_sentences(trend: PracticeTrend) -> tuple[str, ...]:
    """Return how one measure went over outings; without full stops."""
    told = [_trend_sentence(trend)]
    if trend.lately is not None:
        told.append(_lately_sentence(trend))
    return tuple(told)


def measures_sentence(trends: Sequence[PracticeTrend]) -> str:
    """Return among how many measures a claim was found; empty where there is one or none."""
    return f"{len(trends)} measures were looked at, so a claim had to be surer" if len(trends) > 1 else ""


def _trend_sentence(trend: PracticeTrend) -> str:
    name, n = NAMES[trend.measure], len(trend.outings)
    n_bursts = sum(each.n_bursts for each in trend.outings)
    over = f"{'1 outing' if n == 1 else f'{n} outings'} with {bursts_words(n_bursts)}"
    if trend.per_outing is None:
        return f"{name}: {over} tells no trend yet; it takes 5 outings"
    if math.isinf(trend.per_outing.low):
        return f"{name}: {over} tell no trend yet; it takes 5 outings"
    change = _change(trend.measure, trend.per_outing)
    if not trend.is_trend_told:
        return f"{name}: over {over} no change that luck may not have made; {change} from outing to outing"
    return f"{name}: {'better' if trend.is_better else 'worse'} over {over}; {change} from outing to outing"


def _lately_sentence(trend: PracticeTrend) -> str:
    lately = trend.lately
    if lately is None:
        return ""
    words, unit = FIGURES[trend.measure]
    told = f"the last {N_LAST} outings {words(lately.last)}{unit}, before them {words(lately.before)}{unit}"
    change = _change(trend.measure, lately.change)
    return f"{told}: {change}" if trend.is_change_told else f"{told}: {change}, which luck may have made"


def _change(measure: Measure, change: Limits) -> str:
    words, unit = CHANGE_FIGURES[measure]

    def told(value: float, unit: str = "") -> str:
        figure = words(abs(value))
        return f"{figure}{unit} {'less' if value < 0 else 'more'}" if float(figure) else "none"

    return f"{told(change.likely, unit)} ({told(change.low)} to {told(change.high)})"
