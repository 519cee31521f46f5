"""What the Review page holds: sentences, and the figures of each plot and of the table beneath it."""

from dataclasses import dataclass

from stillwing.review.compared import WaysCompared
from stillwing.review.keeperwords import bursts_words, factor_name, level_sentence, outings_words, share_words
from stillwing.review.practice import Measure, OutingFigure, PracticeTrend
from stillwing.review.practicewords import (
    measure_figure,
    measure_name,
    measures_sentence,
    practice_sentences,
)
from stillwing.review.reviewing import Reviewed
from stillwing.web.waiting_view import Figures

__all__ = ["ApartPart", "LevelsPart", "PracticePart", "ReviewView", "review_view"]

AIR = 1.05
"""An axis ends a little beyond what it has to hold."""
SHARES = frozenset({Measure.INSIDE, Measure.CENTRED})
UNITS = {Measure.SOON: " s", Measure.STEADY: " px"}


@dataclass(frozen=True, slots=True)
class LevelName:
    """What stands beside a row of the plot of levels."""

    words: str
    bursts: str
    outings: str


@dataclass(frozen=True, slots=True)
class LevelsPart:
    """The share kept, level by level."""

    title: str
    names: tuple[LevelName, ...]
    levels: list[dict[str, float]]
    overall: float
    highest: float
    figures: Figures


@dataclass(frozen=True, slots=True)
class ApartPart:
    """Two levels compared."""

    first: str
    second: str
    sentence: str
    apart: list[dict[str, float]]
    widest: float
    is_told: bool


@dataclass(frozen=True, slots=True)
class PracticePart:
    """One measure over outings."""

    id: str
    title: str
    told: tuple[str, ...]
    outings: list[dict[str, float | None]]
    trend: list[dict[str, float]]
    is_told: bool
    last: int
    worst: float
    best: float
    times: float
    """Figures of the axis are multiplied by this."""
    unit: str
    figures: Figures


@dataclass(frozen=True, slots=True)
class ReviewView:
    """What worked, and how practice goes."""

    overall: str
    sentences: tuple[str, ...]
    cautions: tuple[str, ...]
    levels: LevelsPart
    apart: ApartPart | None
    practice: tuple[PracticePart, ...]
    measures: str
    """Among how many measures a claim was found; empty where there is one."""


def review_view(told: Reviewed) -> ReviewView:
    """Return the view of what was reviewed."""
    sentences = told.sentences()
    return ReviewView(
        level_sentence(told.overall),
        sentences[:1],
        told.cautions(),
        _levels(told),
        None if told.ways is None else _apart(told.ways, sentences[-1]),
        tuple(map(_practice, told.practice)),
        measures_sentence(told.practice),
    )


def _levels(told: Reviewed) -> LevelsPart:
    levels = told.rates.levels
    drawn = [
        {"row": float(i), "share": rate.frames_kept.likely, "low": rate.frames_kept.low, "high": rate.frames_kept.high}
        for i, rate in enumerate(levels)
    ]
    rows = tuple(
        (
            rate.level.words,
            *map(str, (rate.n_bursts, rate.n_outings, rate.n_frames, rate.n_keepers)),
            share_words(rate.frames_kept),
            f"{rate.n_bursts_kept} ({share_words(rate.bursts_kept)})",
        )
        for rate in levels
    )
    name = factor_name(told.rates.factor)
    headings = (name, "bursts", "outings", "frames", "keepers", "share kept, 95 % interval", "bursts with a keeper")
    return LevelsPart(
        f"Keepers by {name}",
        tuple(
            LevelName(rate.level.words, bursts_words(rate.n_bursts), outings_words(rate.n_outings)) for rate in levels
        ),
        drawn,
        told.overall.frames_kept.likely,
        min(1.0, AIR * max((rate.frames_kept.high for rate in levels), default=1.0)),
        Figures(f"Frames kept and bursts with a keeper by {name}, with 95 % intervals", headings, rows),
    )


def _apart(ways: WaysCompared, sentence: str) -> ApartPart:
    difference = ways.difference
    return ApartPart(
        ways.first.level.words,
        ways.second.level.words,
        sentence,
        [{"likely": difference.likely, "low": difference.low, "high": difference.high}],
        min(1.0, AIR * max(abs(difference.low), abs(difference.high), 0.01)),
        ways.is_told,
    )


def _practice(trend: PracticeTrend) -> PracticePart:
    highest = AIR * max(_highest(each) for each in trend.outings) or 1.0
    if trend.measure is Measure.INSIDE:
        highest = 1.0
    worst, best = (0.0, highest) if trend.is_more_better else (highest, 0.0)
    rows = tuple((each.outing, str(each.n_bursts), *_figure_cells(trend, each)) for each in trend.outings)
    name = measure_name(trend)
    return PracticePart(
        trend.measure.value,
        name,
        # The title has said already what is measured.
        tuple(sentence.removeprefix(f"{name}: ") for sentence in practice_sentences(trend)),
        [_outing(number, each) for number, each in enumerate(trend.outings, 1)],
        [{"number": float(number), "figure": figure} for number, figure in enumerate(trend.line, 1)],
        trend.is_trend_told,
        len(trend.outings),
        worst,
        best,
        100.0 if trend.measure in SHARES else 1.0,
        " %" if trend.measure in SHARES else UNITS[trend.measure],
        Figures(f"{name[:1].upper()}{name[1:]}, by outing", ("outing", "bursts", "median", "95 % interval"), rows),
    )


def _figure_cells(trend: PracticeTrend, figure: OutingFigure) -> tuple[str, str]:
    if figure.between is None:
        return measure_figure(trend, figure.value), "too few bursts"
    low, high = (measure_figure(trend, end) for end in (figure.between.low, figure.between.high))
    return measure_figure(trend, figure.value), f"{low} to {high}"


def _outing(number: int, figure: OutingFigure) -> dict[str, float | None]:
    between = figure.between
    return {
        "number": float(number),
        "figure": figure.value,
        "low": None if between is None else between.low,
        "high": None if between is None else between.high,
    }


def _highest(figure: OutingFigure) -> float:
    return figure.value if figure.between is None else figure.between.high
