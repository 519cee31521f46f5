"""What the waiting teaches, in sentences and summed up, as the page and the command tell it."""

import math
from dataclasses import dataclass

from stillwing.review.intervals import End
from stillwing.review.leaving import LONGEST_S, SMALL_CHANCE
from stillwing.review.placewords import places_sentence, rate_figure
from stillwing.review.rates import By
from stillwing.review.survival import Reals, Share
from stillwing.review.waiting import Away, Timed, Waiting
from stillwing.review.waitingcurves import chance_end_s
from stillwing.review.words import chance_words, hovers_words, length_words, range_words, returns_words

__all__ = [
    "Span",
    "away_sentences",
    "chances",
    "missing_sentences",
    "model_sentence",
    "spans",
    "timed_sentence",
    "waiting_sentences",
]

LIKELY, MOST = 0.5, 0.8
GONE_S = (0.0, 5.0, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 300.0, 600.0, 1200.0, 1800.0, 3600.0)
BETTER = 2.0
"""A difference of AIC from which one model is told as the better one (Burnham and Anderson 2002; from memory)."""


@dataclass(frozen=True, slots=True)
class Span:
    """How long one thing takes."""

    what: str
    n_seen: int
    n_elsewhere: int
    n_cut_off: int
    half_s: float
    """Time by which half have ended; infinite where that was not seen."""
    half_low_s: float
    half_high_s: float
    most_s: float
    """Time by which 80 % have ended."""
    model: str
    """Which model the data prefer, in a few words."""


def waiting_sentences(waiting: Waiting) -> tuple[str, ...]:
    """Return what the waiting teaches, the most telling first; without full stops."""
    told = [] if waiting.away is None else list(away_sentences(waiting.away))
    if waiting.hover_waits is not None:
        hovers = () if waiting.hovers is None else waiting.hovers.intervals
        told.append(
            hovers_words(
                [each.length_s for each in waiting.hover_waits.intervals if each.has_happened],
                [each.length_s for each in hovers if each.has_happened],
            )
        )
        told.append(timed_sentence(waiting.hover_waits, "waits for a hover"))
    if any(place.rate.n for place in waiting.by_perch):
        told.append(places_sentence(waiting.by_perch, By.PERCH, "returns and landings"))
    elif waiting.by_stand:
        told.append(places_sentence(waiting.by_stand, By.STAND, "moments"))
    return tuple(told)


def away_sentences(away: Away) -> tuple[str, ...]:
    """Return what absences tell: how soon it returns, what became of the others, and when to leave."""
    intervals = away.intervals
    told = [returns_words([each.length_s for each in intervals], [each.end for each in intervals])]
    n = len(intervals)
    ended = [
        f"{away.number(end)} {words}"
        for end, words in (
            (End.HAPPENED, "ended in a return"),
            (End.ELSEWHERE, "in a landing elsewhere"),
            (End.CUT_OFF, "were not seen to their end" if away.number(End.CUT_OFF) != 1 else "was not seen to its end"),
        )
        if away.number(end)
    ]
    told.append(f"of {n} absence{'' if n == 1 else 's'} {_joined(ended)}")
    if away.returns is not None:
        told.append(_leaving_sentence(away))
    return tuple(told)


def timed_sentence(timed: Timed, what: str) -> str:
    """Return by when half of some intervals had ended, with its interval; ``what`` names them in the plural."""
    curve = timed.curve
    if math.isinf(curve.median_s):
        return f"fewer than half of the {what} were seen to end"
    return f"half of the {what} end within {length_words(curve.median_s)} ({_between(*curve.time_between(LIKELY))})"


def model_sentence(timed: Timed) -> str:
    """Return whether the chance changes while one waits, as far as the data tell."""
    if timed.weibull is None or timed.aic_gain is None:
        return "too few different lengths to tell whether the chance changes while you wait"
    shape = timed.weibull.shape
    figures = f"Weibull shape {shape.likely:.2f}, 95 % interval {shape.low:.2f} to {shape.high:.2f}"
    way = "rises" if shape.likely > 1.0 else "falls"
    if timed.aic_gain > BETTER:
        return f"the data prefer a chance that {way} the longer it lasts ({figures})"
    if timed.aic_gain > 0.0:
        return f"the data lean to a chance that {way} the longer it lasts, without telling it surely ({figures})"
    return f"a steady chance, the exponential model, tells the data as well as one that changes ({figures})"


def chances(away: Away) -> tuple[tuple[float, float], ...]:
    """Return times gone, each with the chance of a return from then on; none where no return was seen."""
    if away.returns is None:
        return ()
    leave = {away.leave_after_s} if math.isfinite(away.leave_after_s) else set()
    gone = sorted({at for at in GONE_S if at <= chance_end_s(away)} | leave)
    return tuple((at, float(away.returns.chance_back(at))) for at in gone)


def missing_sentences(waiting: Waiting) -> tuple[str, ...]:
    """Return what is not known for want of taps, and which taps would tell it."""
    told = []
    if waiting.away is None:
        told.append("no absence is logged: tap take-off when it leaves its perch, and return when it comes back")
    elif waiting.away.returns is None:
        told.append("no return is logged yet: tap return when it comes back to the perch that it left")
    if waiting.hover_waits is None:
        told.append("no hover is logged: tap hover when one begins, and once more when it ends")
    elif waiting.hovers is None:
        told.append("no hover has an end: tap hover once more when it ends")
    if waiting.perched is None:
        told.append("no stay on a perch is logged: tap perch, landing or return as it sits, and take-off as it leaves")
    if sum(bool(place.perch) for place in waiting.by_perch) < 2:
        told.append("fewer than two perches have a name: pick the perch on the Log page before you tap")
    if len(waiting.by_conditions) < 2:
        told.append("one kind of weather only: tap conditions changed, and write in the note what it is like now")
    if waiting.n_unclear:
        n = waiting.n_unclear
        told.append(f"{n} absences or stays on a perch were left out, because a tap in between is missing")
    return tuple(told)


def spans(waiting: Waiting) -> tuple[Span, ...]:
    """Return how long each thing takes that was seen at least once."""
    told = [] if waiting.away is None or waiting.away.back is None else [_away_span(waiting.away, waiting.away.back)]
    for timed, what in (
        (waiting.hover_waits, "to the next hover"),
        (waiting.hovers, "hover"),
        (waiting.perched, "on the perch"),
    ):
        if timed is not None:
            curve = timed.curve
            low, high = curve.time_between(LIKELY)
            n_cut = len(timed.intervals) - timed.n_happened
            half, most = curve.median_s, curve.time_by(MOST)
            told.append(Span(what, timed.n_happened, 0, n_cut, half, low, high, most, _model_words(timed)))
    return tuple(told)


def _away_span(away: Away, back: Share) -> Span:
    return Span(
        "away from the perch",
        away.number(End.HAPPENED),
        away.number(End.ELSEWHERE),
        away.number(End.CUT_OFF),
        _reached_s(back.times_s, back.share, LIKELY),
        _reached_s(back.times_s, back.high, LIKELY),
        _reached_s(back.times_s, back.low, LIKELY),
        _reached_s(back.times_s, back.share, MOST),
        "",
    )


def _reached_s(times: Reals, share: Reals, level: float) -> float:
    return next((float(at) for at, each in zip(times, share, strict=True) if each >= level - 1e-12), math.inf)


def _model_words(timed: Timed) -> str:
    if timed.weibull is None or timed.aic_gain is None or timed.aic_gain <= 0.0:
        return "steady" if timed.weibull is not None else "not known"
    way = "rising" if timed.weibull.shape.likely > 1.0 else "falling"
    return way if timed.aic_gain > BETTER else f"perhaps {way}"


def _leaving_sentence(away: Away) -> str:
    leave, best = away.leave_after_s, away.best
    if best is None:
        small = chance_words(SMALL_CHANCE)
        if math.isinf(leave):
            return f"no wait of up to {length_words(LONGEST_S)} brings the chance of a return below {small}"
        return (
            f"leave when it has been gone for {length_words(leave)}: from then on the chance of a return is below "
            f"{small}; no other perch is known well enough to compare with"
        )
    other = f"{best.perch}, with {rate_figure(best.per_s * 3600)} returns an hour"
    walk = "in sight from the same stand" if best.walk_s == 0.0 else f"{length_words(best.walk_s)} away"
    if math.isinf(leave):
        return f"waiting here pays however long it has been gone: the best other perch is {other}, {walk}"
    if leave == 0.0:
        return f"do not wait for a return here: {other}, {walk}, brings more from the start"
    gone = length_words(leave)
    here = away.intervals[-1].perch or "the perch"
    return f"leave {here} when it has been gone for {gone}: from then on {other}, {walk}, brings the next one sooner"


def _between(low_s: float, high_s: float) -> str:
    if math.isinf(low_s):
        return "95 % interval not seen"
    if math.isinf(high_s):
        return f"95 % interval {length_words(low_s)} and more"
    return f"95 % interval {range_words(low_s, high_s)}"


def _joined(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
