"""What the Waiting page holds: sentences, and the figures of each plot and of the table beneath it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from stillwing.fieldbook.toldwords import count
from stillwing.review.placewords import luck_figure, place_name, places_sentence, rate_figure
from stillwing.review.rates import By, PlaceRate, against_best
from stillwing.review.returns import Returns
from stillwing.review.survival import Reals
from stillwing.review.waiting import Away, Timed, Waiting
from stillwing.review.waitingcurves import (
    Line,
    Steps,
    chance_end_s,
    chance_line,
    ended_steps,
    exponential_line,
    returns_line,
    share_steps,
    until_s,
    weibull_line,
)
from stillwing.review.waitingtold import (
    away_sentences,
    chances,
    missing_sentences,
    model_sentence,
    timed_sentence,
    waiting_sentences,
)
from stillwing.review.words import chance_words, length_words

__all__ = ["Figures", "KeyLine", "PlacesPart", "TimePart", "WaitingView", "waiting_view"]

WIDEST = 4.0
"""The axis of rates ends at so many times the highest rate, so that one place watched for a minute does not press the
others together (a choice, no source)."""
FIRST, SECOND, STEADY, CHANGING = "first", "second", "steady", "changing"


@dataclass(frozen=True, slots=True)
class Figures:
    """A table: headings, and rows of words."""

    caption: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class KeyLine:
    """One line of a plot with its meaning; ``kind`` names its look."""

    kind: str
    words: str


@dataclass(frozen=True, slots=True)
class TimePart:
    """A part of the page with a plot over time."""

    id: str
    plot: str
    """Name of the compiled plot."""
    title: str
    axis: str
    told: tuple[str, ...]
    """What does not stand on top of the page already."""
    until_s: float
    leave_s: float
    """Marked in the plot; -1 where nothing is."""
    sets: dict[str, list[dict[str, float | str]]]
    """The rows of each data set of the plot."""
    key: tuple[KeyLine, ...]
    figures: Figures


@dataclass(frozen=True, slots=True)
class PlacesPart:
    """A part of the page with rates per place."""

    id: str
    title: str
    axis: str
    told: str
    names: tuple[str, ...]
    places: list[dict[str, float]]
    highest: float
    is_cut: bool
    """Whether an interval goes beyond the plot's edge."""
    figures: Figures


@dataclass(frozen=True, slots=True)
class WaitingView:
    """What is known of one animal at one water."""

    summary: str
    sentences: tuple[str, ...]
    missing: tuple[str, ...]
    times: tuple[TimePart, ...]
    places: tuple[PlacesPart, ...]


def waiting_view(waiting: Waiting) -> WaitingView:
    """Return the view of what was learned."""
    sentences = waiting_sentences(waiting)
    times: list[TimePart] = []
    if waiting.away is not None:
        times += _away_parts(waiting.away)
    for timed, id, title, axis, plural in (
        (waiting.hover_waits, "hover-waits", "Time to the next hover", "time waited", "waits for a hover"),
        (waiting.hovers, "hovers", "How long a hover lasts", "time since it began", "hovers"),
        (waiting.perched, "perched", "How long it sits", "time since it came down", "stays on the perch"),
    ):
        if timed is not None:
            times.append(_timed_part(timed, id, title, axis, plural))
    asked = (
        (waiting.by_perch, By.PERCH, "Which perch pays", "returns and landings"),
        (waiting.by_stand, By.STAND, "Which stand pays", "moments"),
        (waiting.by_conditions, By.CONDITIONS, "Which weather pays", "moments"),
    )
    return WaitingView(
        f"{count(waiting.n_stays, 'stay')}, {waiting.watched_h:.1f} h watched",
        sentences,
        missing_sentences(waiting),
        tuple(replace(part, told=tuple(one for one in part.told if one not in sentences)) for part in times),
        tuple(_places_part(places, by, title, what) for places, by, title, what in asked if _is_telling(places)),
    )


def _away_parts(away: Away) -> list[TimePart]:
    end_s = until_s(away.intervals)
    steps = {
        kind: share_steps(share, end_s)
        for kind, share in ((FIRST, away.back), (SECOND, away.elsewhere))
        if share is not None
    }
    lines = {} if away.returns is None else {STEADY: returns_line(away.returns, end_s)}
    named = {FIRST: "back at its perch", SECOND: "landed elsewhere", STEADY: "the model behind the chance of a return"}
    told = away_sentences(away)
    sets = {"steps": _step_rows(steps), "lines": _line_rows(lines)}
    key = _key({FIRST: named[FIRST]} | {kind: named[kind] for kind in (*steps, *lines)})
    first = TimePart(
        "away", "waited", "Back at its perch", "time gone", told[:2], end_s, -1.0, sets, key, _step_table(steps, named)
    )
    return [first] if away.returns is None else [first, _chance_part(away, away.returns, told[2:])]


def _chance_part(away: Away, returns: Returns, told: tuple[str, ...]) -> TimePart:
    end_s = chance_end_s(away)
    leave_s = away.leave_after_s if away.leave_after_s <= end_s else -1.0
    line = chance_line(returns, end_s)
    rows = tuple((length_words(at), chance_words(chance)) for at, chance in chances(away))
    key = [KeyLine("chance", "chance that it comes back at all")]
    if leave_s >= 0.0:
        key.append(KeyLine("leave", f"leave: from {length_words(leave_s)} on"))
    return TimePart(
        "chance",
        "chance",
        "Will it still come back?",
        "time gone",
        told,
        end_s,
        leave_s,
        {"chance": _line_rows({STEADY: line})},
        tuple(key),
        Figures("Chance of a return, once it has been gone for so long", ("gone", "chance"), rows),
    )


def _timed_part(timed: Timed, id: str, title: str, axis: str, plural: str) -> TimePart:
    end_s = until_s(timed.intervals)
    steps = {FIRST: ended_steps(timed.curve, end_s)}
    lines = {}
    if timed.exponential is not None:
        lines[STEADY] = exponential_line(timed.exponential, end_s)
    if timed.weibull is not None:
        lines[CHANGING] = weibull_line(timed.weibull, end_s)
    named = {FIRST: "seen", STEADY: "steady chance (exponential)", CHANGING: "changing chance (Weibull)"}
    n_cut = len(timed.intervals) - timed.n_happened
    cut = f", {n_cut} more not seen to the end" if n_cut else ""
    told = (timed_sentence(timed, plural), f"{timed.n_happened} seen{cut}; {model_sentence(timed)}")
    sets = {"steps": _step_rows(steps), "lines": _line_rows(lines)}
    key = _key({kind: named[kind] for kind in (*steps, *lines)})
    return TimePart(id, "waited", title, axis, told, end_s, -1.0, sets, key, _step_table(steps, named))


def _places_part(places: Sequence[PlaceRate], by: By, title: str, what: str) -> PlacesPart:
    names = tuple(place_name(place, by, places) for place in places)
    rates = [place.rate for place in places]
    highest = max(rate.per_h.high for rate in rates)
    most = max(rate.per_h.likely for rate in rates)
    shown = min(highest, WIDEST * most) if most > 0.0 else highest
    luck = ["", *(luck_figure(each.chance_by_luck) for each in against_best(places))]
    table = tuple(
        (
            name,
            str(rate.n),
            f"{rate.hours:.2f}",
            rate_figure(rate.per_h.likely),
            f"{rate_figure(rate.per_h.low)} to {rate_figure(rate.per_h.high)}",
            by_luck,
        )
        for name, rate, by_luck in zip(names, rates, luck, strict=True)
    )
    drawn = [
        {"row": float(i), "per_h": rate.per_h.likely, "low": rate.per_h.low, "high": rate.per_h.high}
        for i, rate in enumerate(rates)
    ]
    headings = (by.value, what, "hours watched", "an hour", "95 % interval", "luck")
    caption = (
        f"{what.capitalize()} an hour of watching, with 95 % interval; luck: chance of a difference from the first as "
        "large as this between places that bring the same, all comparisons counted"
    )
    return PlacesPart(
        f"by-{by.value}",
        title,
        f"{what} an hour of watching",
        places_sentence(places, by, what),
        names,
        drawn,
        shown * 1.04,
        highest > shown,
        Figures(caption, headings, table),
    )


def _is_telling(places: Sequence[PlaceRate]) -> bool:
    """Return whether any of them has a name."""
    return any(place.perch or place.stand or place.conditions for place in places)


def _key(named: dict[str, str]) -> tuple[KeyLine, ...]:
    return tuple(KeyLine(kind, words) for kind, words in named.items())


def _step_rows(steps: dict[str, Steps]) -> list[dict[str, float | str]]:
    return [
        {"kind": kind, "at_s": at, "share": share, "low": low, "high": high}
        for kind, each in steps.items()
        for at, share, low, high in zip(
            *(_list(one) for one in (each.at_s, each.share, each.low, each.high)), strict=True
        )
    ]


def _line_rows(lines: dict[str, Line]) -> list[dict[str, float | str]]:
    return [
        {"kind": kind, "at_s": at, "share": share}
        for kind, line in lines.items()
        for at, share in zip(_list(line.at_s), _list(line.share), strict=True)
    ]


def _list(values: Reals) -> list[float]:
    # Six digits: a plot shows three, and the page stays small.
    return [float(f"{value:.6g}") for value in values]


def _step_table(steps: dict[str, Steps], named: dict[str, str]) -> Figures:
    """Return a row for each time at which a share changed."""
    changes = sorted(
        (at, named[kind], share, low, high)
        for kind, each in steps.items()
        for at, share, low, high in zip(
            each.at_s[1:-1].tolist(), each.share[1:-1].tolist(), each.low[1:-1].tolist(), each.high[1:-1].tolist(),
            strict=True,
        )
    )  # fmt: skip
    rows = tuple(
        (f"{at:.1f}", words, f"{share * 100:.0f} %", f"{low * 100:.0f} to {high * 100:.0f} %")
        for at, words, share, low, high in changes
    )
    return Figures(
        "Share that had ended so, by the time at which it changed", ("after, s", "end", "share", "95 % interval"), rows
    )
