"""Random taps of a phone, and what the desk makes of them: the oracle of the phone's own script."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from math import inf
from random import Random
from typing import Any
from uuid import UUID

from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.moments import Moment, moment_to_json
from stillwing.review.events import Log, log_of_moments
from stillwing.review.intervals import End, Interval, What, read_intervals
from stillwing.review.leaving import leave_after_s
from stillwing.review.perchpay import PerchPay, best_elsewhere, perch_pays
from stillwing.review.returns import learn_returns
from stillwing.review.stays import Stay
from stillwing.review.watches import watches_of
from stillwing.review.words import gone_words, hovers_words, returns_words, steady_chance, waiting_words

__all__ = ["Told", "random_taps", "told_by_desk"]

START = datetime(2026, 6, 1, 10, tzinfo=UTC)
PHONE = str(UUID(int=99))
KINDS = [*MomentKind] + [MomentKind.TAKE_OFF, MomentKind.RETURN, MomentKind.HOVER] * 3
SITE = "mill pond"


@dataclass(frozen=True, slots=True)
class Told:
    """What the desk says of taps."""

    intervals: list[list[Any]]
    lines: tuple[str, str]


def random_taps(seed: int) -> tuple[list[Moment], datetime]:
    """Return some taps at one water in order of time, and an instant after the last."""
    rng = Random(seed)
    at, taps = START, []
    for number in range(rng.randint(1, 60)):
        kind = rng.choice(KINDS)
        at += timedelta(milliseconds=rng.choice((0, 300, 4_000, 9_500, 61_250, 240_000)))
        lasts = timedelta(milliseconds=rng.randint(0, 5000))
        until = at + lasts if kind is MomentKind.HOVER and rng.random() < 0.7 else None
        taps.append(
            Moment(
                str(UUID(int=seed * 1000 + number + 1)),
                kind,
                at,
                PHONE,
                at,
                animal=rng.choice(("hawker", "hawker", "emperor", "")),
                site=SITE,
                stand=rng.choice(("east", "east", "east", "west", "")),
                perch=rng.choice(("post", "reed", "")),
                until=until,
                undone=rng.random() < 0.05,
            )
        )
    return taps, at + timedelta(milliseconds=rng.randint(0, 90_000))


def told_by_desk(taps: Sequence[Moment], now: datetime, animal: str) -> Told:
    """Return the intervals and the two lines for the picked animal, from what the desk knows alone."""
    log = log_of_moments(taps, [one.at for one in taps], max(now, _last(taps)))
    if now < _last(taps):
        log = Log(log.events, 0.0, log.end_s)
    found = read_intervals(log).all
    start = min(one.at for one in taps if not one.undone)
    stay = Stay(SITE, start, now, log, read_intervals(log))
    return Told([[str(one.what), *_cells(one)] for one in found], _lines(stay, found, animal))


def _last(taps: Sequence[Moment]) -> datetime:
    return max(one.until or one.at for one in taps if not one.undone)


def _cells(one: Interval) -> list[Any]:
    return [one.animal, one.stand, one.perch, round(one.start_s, 3), round(one.length_s, 3), one.end.code]


def _lines(stay: Stay, found: Sequence[Interval], animal: str) -> tuple[str, str]:
    now = watches_of(stay.log)[-1]
    open_now = [
        one
        for one in found
        if one.end is End.CUT_OFF and one.start_s >= now.start_s and abs(one.start_s + one.length_s - now.end_s) < 1e-6
    ]
    tooks = [event.animal for event in stay.log.events if event.kind is MomentKind.TAKE_OFF]
    away_animal = animal or (tooks[-1] if tooks else "")
    gone = [one for one in open_now if one.what is What.ABSENCE and one.animal == away_animal]
    if gone:
        return _away(stay, found, gone[-1], now.stand)
    hovered = [event.animal for event in stay.log.events if event.kind is MomentKind.HOVER]
    if not animal and not hovered:
        return "", ""
    return _hovering(found, open_now, animal or hovered[-1], now.stand)


def _away(stay: Stay, found: Sequence[Interval], gone: Interval, stand: str) -> tuple[str, str]:
    here = [one for one in found if one.what is What.ABSENCE and one.animal == gone.animal and one is not gone]
    own = [one for one in here if one.perch == gone.perch]
    seen = own if sum(one.has_happened for one in own) >= 3 else here
    words = "" if len(seen) == len(own) else "here: "
    lengths, ends = [one.length_s for one in seen], [one.end for one in seen]
    returns = learn_returns(lengths, ends) if End.HAPPENED in ends else None
    pays: tuple[PerchPay, ...] = perch_pays([stay])
    best = best_elsewhere(pays, SITE, gone.animal, gone.perch, stand)
    leave_s = inf
    if returns is not None:
        leave_s = leave_after_s(returns) if best is None else leave_after_s(returns, best.per_s, best.walk_s)
    return words + returns_words(lengths, ends), gone_words(gone.length_s, returns, leave_s)


def _hovering(found: Sequence[Interval], open_now: Sequence[Interval], animal: str, stand: str) -> tuple[str, str]:
    waited = next((one for one in open_now if one.what is What.HOVER_WAIT and one.animal == animal), None)
    here = [
        one for one in found if one.what in (What.HOVER_WAIT, What.HOVER) and one.animal == animal and one is not waited
    ]
    own = [one for one in here if one.stand == stand]
    n_own = sum(one.what is What.HOVER_WAIT and one.has_happened for one in own)
    seen = own if n_own >= 3 else here
    words = "" if len(seen) == len(own) else "here: "
    came = [one.length_s for one in seen if one.what is What.HOVER_WAIT and one.has_happened]
    if not came:
        return "", ""
    held = [one.length_s for one in seen if one.what is What.HOVER and one.has_happened]
    cut_s = sum(one.length_s for one in seen if one.what is What.HOVER_WAIT and not one.has_happened)
    waited_s = 0.0 if waited is None else waited.length_s
    chance = steady_chance(len(came), sum(came) + cut_s + waited_s)
    return words + hovers_words(came, held), waiting_words(waited_s, chance)


def as_record(moment: Moment) -> dict[str, Any]:
    """Return a moment as the phone keeps it."""
    return {**moment_to_json(moment), "local": {}}
