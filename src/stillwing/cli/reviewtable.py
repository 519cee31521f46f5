"""Keeper rates and practice as tables and as JSON."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.review.compared import WaysCompared
from stillwing.review.keeperwords import factor_name, share_words
from stillwing.review.outcomes import LevelRate
from stillwing.review.practice import PracticeTrend
from stillwing.review.practicewords import measure_figure, measure_heading, practice_sentences
from stillwing.review.reviewing import Reviewed

__all__ = ["levels_table", "practice_table", "review_json"]


def levels_table(told: Reviewed) -> Table:
    """Return one row per level, numbers in their order."""
    headings = (factor_name(told.rates.factor), "bursts", "outings", "frames", "keepers", "share kept", "with a keeper")
    table = _table("", headings)
    for each in told.rates.levels:
        counts = (each.n_bursts, each.n_outings, each.n_frames, each.n_keepers)
        shares = (share_words(each.frames_kept), f"{each.n_bursts_kept} ({share_words(each.bursts_kept)})")
        table.add_row(*map(Text, (each.level.words, *map(str, counts), *shares)))
    return table


def practice_table(trends: Sequence[PracticeTrend]) -> Table:
    """Return one row per outing, one column per measure; empty where an outing tells no such figure."""
    table = _table(
        "Practice, the median over the bursts of each outing", ("", *(measure_heading(each) for each in trends))
    )
    outings = sorted({(figure.when, figure.outing) for trend in trends for figure in trend.outings})
    for _, outing in outings:
        cells = []
        for trend in trends:
            found = [figure for figure in trend.outings if figure.outing == outing]
            cells.append(measure_figure(trend, found[0].value) if found else "")
        table.add_row(*map(Text, (outing, *cells)))
    return table


def review_json(told: Reviewed) -> str:
    """Return everything as one JSON object; shares are 0 to 1."""
    return json_text(
        {
            "by": told.rates.factor,
            "overall": _level(told.overall),
            "levels": [_level(each) for each in told.rates.levels],
            "n_unknown": told.rates.n_unknown,
            "best": _best(told),
            "compared": None if told.ways is None else _ways(told.ways),
            "goes_with": [asdict(each) for each in told.going_with],
            "factors": [asdict(each) for each in told.factors],
            "practice": [_practice(each) for each in told.practice],
            "sentences": told.sentences(),
            "cautions": told.cautions(),
        }
    )


def _level(rate: LevelRate) -> dict[str, Any]:
    return {
        "level": rate.level.words,
        "n_bursts": rate.n_bursts,
        "n_outings": rate.n_outings,
        "n_frames": rate.n_frames,
        "n_keepers": rate.n_keepers,
        "n_bursts_kept": rate.n_bursts_kept,
        "frames_kept": asdict(rate.frames_kept),
        "bursts_kept": asdict(rate.bursts_kept),
        "sameness": rate.known.sameness,
        "outing_sameness": rate.known.outing_sameness,
    }


def _best(told: Reviewed) -> dict[str, Any] | None:
    if told.best is None:
        return None
    return {
        "level": told.best.best.level.words,
        "better_than": [each.level.words for each in told.best.less],
        "not_told_from": [each.level.words for each in told.best.alike],
    }


def _ways(ways: WaysCompared) -> dict[str, Any]:
    return {
        "first": ways.first.level.words,
        "second": ways.second.level.words,
        "chance_first_is_better": ways.chance_better,
        "difference": asdict(ways.difference),
        "ratio": asdict(ways.ratio),
        "is_told": ways.is_told,
        "more_bursts": ways.more_bursts,
    }


def _practice(trend: PracticeTrend) -> dict[str, Any]:
    return {
        "measure": trend.measure.value,
        "outings": [asdict(each) | {"when": each.when.isoformat()} for each in trend.outings],
        "change_per_outing": None if trend.per_outing is None else asdict(trend.per_outing),
        "is_trend_told": trend.is_trend_told,
        "lately": None if trend.lately is None else asdict(trend.lately),
        "is_change_told": trend.is_change_told,
        "sentences": practice_sentences(trend),
    }


def _table(title: str, headings: Sequence[str]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    if title:
        table = Table(box=SIMPLE_HEAD, pad_edge=False, title=Text(title), title_justify="left", title_style="")
    for i, heading in enumerate(headings):
        table.add_column(Text(heading), justify="right" if i > 0 else "left", no_wrap=True)
    return table
