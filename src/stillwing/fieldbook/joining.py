"""What the animal was doing in each burst, as the log of the same outing tells it.

A burst is compared with the spans of `claims`. The clocks agree only to some seconds: the certainty of an answer is the
share of the interval of their difference for which the span and the burst still meet. Where two behaviours or two
animals are told at once, where the last word is too old, or where nothing ties the camera's clock to the log, the burst
comes back with that conflict and without a behaviour: nothing is guessed.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans
from stillwing.fieldbook.claims import Claim, claims_of, fits
from stillwing.fieldbook.clocks import OutingClock, outing_clock
from stillwing.fieldbook.moment import Moment
from stillwing.fieldbook.moments import moments_of_outing
from stillwing.fieldbook.outings import outing
from stillwing.optics.subject import Behaviour

__all__ = ["Conflict", "JoinedBurst", "Slack", "TimedBurst", "join", "join_outing", "join_timed"]

LEAST_SHARE = 0.25
"""A span that meets the burst for less of the interval is no rival of one that does for more (a choice, no source)."""


class Slack(NamedTuple):
    """How much later than told a burst may have been, against the moments of one phone; ``low_s`` is negative."""

    low_s: float = 0.0
    high_s: float = 0.0


class Conflict(StrEnum):
    """Why a burst has no behaviour though the log speaks."""

    TWO_AT_ONCE = "two at once"
    TOO_OLD = "last word too old"
    CLOCK_UNKNOWN = "clock unknown"


@dataclass(frozen=True, slots=True)
class TimedBurst:
    """One burst in the time of the log."""

    id: int
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class JoinedBurst:
    """One burst, and what the log tells of it; neither behaviour nor conflict where it tells nothing."""

    burst_id: int
    behaviour: Behaviour | None = None
    certainty: float = 0.0
    """0 to 1; how sure it is that the moment and the burst meet, not that the tap was right."""
    animal: str = ""
    """Word of the log for it."""
    moments: tuple[str, ...] = ()
    """Ids of those that it follows from, or that disagree, in order of time."""
    conflict: Conflict | None = None


def join(
    bursts: Sequence[TimedBurst], moments: Sequence[Moment], slack: Mapping[str, Slack] | None = None
) -> tuple[JoinedBurst, ...]:
    """Return what the moments tell of each burst, in the bursts' order.

    Parameters
    ----------
    bursts : sequence of TimedBurst
    moments : sequence of Moment
        Their instants in the same time as those of the bursts; in any order.
    slack : mapping of str to Slack, optional
        Per phone; none for those not named.
    """
    claims = claims_of(moments)
    if not claims:
        return tuple(JoinedBurst(burst.id) for burst in bursts)
    allowed = np.array([(slack or {}).get(claim.moment.device, Slack()) for claim in claims])
    spans = np.array([(claim.first_s, claim.last_s) for claim in claims])
    return tuple(_joined(burst, claims, _shares(burst, spans, allowed)) for burst in bursts)


def join_outing(book: FieldBook, outing_id: int) -> tuple[JoinedBurst, ...]:
    """Return what the log tells of the bursts of an outing, in order of time; bursts without a time are left out.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    """
    outing(book, outing_id)
    with book.reading() as connection:
        clock, spans = outing_clock(connection, outing_id), burst_spans(connection, outing_id)
    found = moments_of_outing(book, outing_id)
    if not clock.can_time(spans):
        return tuple(JoinedBurst(span.id, conflict=Conflict.CLOCK_UNKNOWN) for span in spans)
    return join_timed(clock, spans, found)


def join_timed(clock: OutingClock, spans: Sequence[BurstSpan], found: Sequence[Moment]) -> tuple[JoinedBurst, ...]:
    """Return what moments as phones logged them tell of bursts as the camera timed them, by clocks that are known."""
    bursts = [TimedBurst(span.id, clock.of_camera(span.start), clock.of_camera(span.end)) for span in spans]
    timed = [_in_time(clock, moment) for moment in found]
    return join(bursts, timed, {moment.device: Slack(*clock.errors_s(moment.device)) for moment in found})


def _in_time(clock: OutingClock, moment: Moment) -> Moment:
    if clock.leading is None or clock.leading.device == moment.device:
        return moment
    until = None if moment.until is None else clock.of_phone(moment.device, moment.until)
    # Milliseconds, as a moment has them.
    at = clock.of_phone(moment.device, moment.at)
    return replace(moment, at=_whole_ms(at), until=None if until is None else _whole_ms(until))


def _whole_ms(instant: datetime) -> datetime:
    return instant.replace(microsecond=instant.microsecond // 1000 * 1000)


def _shares(burst: TimedBurst, spans: NDArray[np.float64], slack: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return for each span the share of the slack for which it meets the burst, shape (n_claims,)."""
    earliest = spans[:, 0] - burst.end.timestamp()
    latest = spans[:, 1] - burst.start.timestamp()
    width = slack[:, 1] - slack[:, 0]
    met = np.minimum(latest, slack[:, 1]) - np.maximum(earliest, slack[:, 0])
    meets = (earliest <= slack[:, 0]) & (slack[:, 0] <= latest)
    return np.where(width > 0, np.clip(met, 0.0, width) / np.where(width > 0, width, 1.0), meets.astype(np.float64))


def _joined(burst: TimedBurst, claims: Sequence[Claim], shares: NDArray[np.float64]) -> JoinedBurst:
    if not shares.any():
        return _without_claim(burst, claims)
    least = min(LEAST_SHARE, float(shares.max()))
    speaking = {int(i): float(shares[i]) for i in np.flatnonzero(shares >= least)}
    standing = {i: share for i, share in speaking.items() if not _gives_way(i, speaking, claims)}
    told = [claims[i] for i in standing]
    ids = tuple(dict.fromkeys(claim.moment.id for claim in sorted(told, key=lambda one: one.moment.at)))
    animals = [claim.moment.animal for claim in told]
    named = next((name for name in animals if name), "")
    if len({claim.behaviour for claim in told}) > 1 or not all(fits(named, name) for name in animals):
        return JoinedBurst(burst.id, moments=ids, conflict=Conflict.TWO_AT_ONCE)
    return JoinedBurst(burst.id, told[0].behaviour, max(standing.values()), named, ids)


def _gives_way(i: int, speaking: Mapping[int, float], claims: Sequence[Claim]) -> bool:
    """Tell whether one of two spans that follow one another is left out: the one that meets less, else the longer."""
    for j, share in speaking.items():
        follows = _follow(claims[i], claims[j])
        if follows and (share, -_length(claims[j])) > (speaking[i], -_length(claims[i])):
            return True
    return False


def _follow(one: Claim, other: Claim) -> bool:
    """Tell whether two spans are one story: a perch and the landing before it or the take-off after it, and so on."""
    if one.behaviour is other.behaviour:
        return False
    is_same_tap = one.moment.id == other.moment.id
    return is_same_tap or one.ended_by == other.moment.id or other.ended_by == one.moment.id


def _length(claim: Claim) -> float:
    return claim.last_s - claim.first_s


def _without_claim(burst: TimedBurst, claims: Sequence[Claim]) -> JoinedBurst:
    start_s = burst.start.timestamp()
    silent = [claim.moment.id for claim in claims if claim.last_s < start_s < claim.silent_until_s]
    if not silent:
        return JoinedBurst(burst.id)
    return JoinedBurst(burst.id, moments=tuple(silent), conflict=Conflict.TOO_OLD)
