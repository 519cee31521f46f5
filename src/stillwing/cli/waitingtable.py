"""What the waiting teaches as tables and as JSON."""

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.cli.jsontext import json_text
from stillwing.review.intervals import End
from stillwing.review.placewords import luck_figure, place_name, rate_figure
from stillwing.review.rates import By, PlaceRate, against_best
from stillwing.review.survival import Curve, Share
from stillwing.review.waiting import Away, Timed, Waiting
from stillwing.review.waitingtold import Span, chances, missing_sentences, spans, waiting_sentences
from stillwing.review.words import chance_words, length_words

__all__ = ["places_table", "spans_table", "still_gone_table", "waiting_json"]

NOT_SEEN = "not seen"


def spans_table(waiting: Waiting) -> Table:
    """Return how long each thing takes, one row each."""
    headings = ("", "seen", "elsewhere", "not to the end", "half within", "95 % interval", "80 % within", "chance")
    table = _table("How long it takes", headings)
    for span in spans(waiting):
        table.add_row(*map(Text, _span_cells(span)))
    return table


def still_gone_table(away: Away) -> Table:
    """Return the chance of a return by how long it has been gone."""
    table = _table("Chance of a return", ("gone", "chance", ""))
    for gone_s, chance in chances(away):
        remark = "leave" if gone_s == away.leave_after_s else ""
        table.add_row(*map(Text, (length_words(gone_s), chance_words(chance), remark)))
    return table


def places_table(places: Sequence[PlaceRate], by: By, what: str) -> Table:
    """Return events an hour of watching, one row per place, the best first."""
    table = _table("", (by.value, what, "hours", "an hour", "95 % interval", "luck"))
    luck = ["", *(luck_figure(each.chance_by_luck) for each in against_best(places))]
    for place, by_luck in zip(places, luck, strict=True):
        rate = place.rate
        between = f"{rate_figure(rate.per_h.low)} to {rate_figure(rate.per_h.high)}"
        cells = (place_name(place, by, places), str(rate.n), f"{rate.hours:.2f}", rate_figure(rate.per_h.likely))
        table.add_row(*map(Text, (*cells, between, by_luck)))
    return table


def waiting_json(waiting: Waiting) -> str:
    """Return everything as one JSON object; what was not seen is null."""
    return json_text(
        {
            "site": waiting.site,
            "animal": waiting.animal,
            "n_stays": waiting.n_stays,
            "watched_h": waiting.watched_h,
            "sentences": waiting_sentences(waiting),
            "missing": missing_sentences(waiting),
            "times": [asdict(span) for span in spans(waiting)],
            "away": None if waiting.away is None else _away(waiting.away),
            "hover_waits": _timed(waiting.hover_waits),
            "hovers": _timed(waiting.hovers),
            "perched": _timed(waiting.perched),
            "n_unclear": waiting.n_unclear,
            "by_perch": [asdict(place) for place in waiting.by_perch],
            "by_stand": [asdict(place) for place in waiting.by_stand],
            "by_conditions": [asdict(place) for place in waiting.by_conditions],
        }
    )


def _span_cells(span: Span) -> tuple[str, ...]:
    half, low, high, most = (
        length_words(each) if math.isfinite(each) else NOT_SEEN
        for each in (span.half_s, span.half_low_s, span.half_high_s, span.most_s)
    )
    counts = (str(span.n_seen), str(span.n_elsewhere or ""), str(span.n_cut_off))
    return span.what, *counts, half, f"{low} to {high}", most, span.model


def _away(away: Away) -> dict[str, Any]:
    return {
        "n_returned": away.number(End.HAPPENED),
        "n_elsewhere": away.number(End.ELSEWHERE),
        "n_cut_off": away.number(End.CUT_OFF),
        "leave_after_s": away.leave_after_s,
        "best_elsewhere": None if away.best is None else asdict(away.best),
        "back": _steps(away.back),
        "elsewhere": _steps(away.elsewhere),
        "chances": [{"gone_s": gone_s, "chance": chance} for gone_s, chance in chances(away)],
    }


def _timed(timed: Timed | None) -> dict[str, Any] | None:
    if timed is None:
        return None
    return {
        "n_seen": timed.n_happened,
        "n_cut_off": len(timed.intervals) - timed.n_happened,
        "still_waited_for": _steps(timed.curve),
        "exponential": None if timed.exponential is None else asdict(timed.exponential),
        "weibull": None if timed.weibull is None else asdict(timed.weibull),
        "aic_gain": timed.aic_gain,
    }


def _steps(curve: Share | Curve | None) -> dict[str, Any] | None:
    if curve is None:
        return None
    return {"at_s": curve.times_s, "share": curve.share, "low": curve.low, "high": curve.high}


def _table(title: str, headings: Sequence[str]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    if title:
        table = Table(box=SIMPLE_HEAD, pad_edge=False, title=Text(title), title_justify="left", title_style="")
    for i, heading in enumerate(headings):
        table.add_column(Text(heading), justify="right" if i > 0 else "left", no_wrap=True)
    return table
