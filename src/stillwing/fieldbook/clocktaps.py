"""Clocks of an outing estimated from the burst taps in the field book, phone by phone."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from sqlalchemy import Connection

from stillwing.fieldbook import schema
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan, burst_spans
from stillwing.fieldbook.clockfit import LONGEST_DELAY_S, CannotTell, ClockEstimate, estimate_offset
from stillwing.fieldbook.clocks import ClockOffset, Found, outing_clock, set_offset
from stillwing.fieldbook.moment import MomentKind
from stillwing.fieldbook.momentrows import moments_where
from stillwing.fieldbook.outings import outing

__all__ = ["ClockReport", "estimate_clocks"]

REST = timedelta(hours=6)
"""Taps further apart belong to different stays in the field (a choice, no source)."""
WRONG_ZONE = timedelta(hours=28)
"""Zones run from -12 to +14 h of UTC; two hours more for what comes before the first burst and after the last."""


@dataclass(frozen=True, slots=True)
class ClockReport:
    """What the taps tell of an outing's clocks."""

    told: tuple[ClockOffset, ...]
    """Estimated now and stored, or set by hand before and left alone."""
    silent: tuple[tuple[str, str], ...]
    """Phones of which nothing can be told, each with the reason. What was known of them before is left alone."""


def estimate_clocks(book: FieldBook, outing_id: int) -> ClockReport:
    """Estimate and store how far the camera's clock is ahead of each phone that has burst taps near the outing.

    The taps of one stay in the field are compared with the outing's bursts at a time: first those of stays within 28
    hours of the bursts, as a wrong zone has it, then of all others, as after a wrong day or year.

    Raises
    ------
    UnknownThing
        If there is no such outing.
    """
    outing(book, outing_id)
    with book.reading() as connection:
        spans, stays = burst_spans(connection, outing_id), _stays(connection)
        by_hand = {one.device: one for one in outing_clock(connection, outing_id).offsets if one.found is Found.BY_HAND}
    told, silent = list(by_hand.values()), []
    for device in sorted(stays.keys() - by_hand.keys()):
        found = _estimate(stays[device], spans)
        if isinstance(found, CannotTell):
            silent.append((device, found.reason))
            continue
        offset = ClockOffset(
            device,
            found.camera_minus_phone_s,
            found.low_s,
            found.high_s,
            Found.ESTIMATED,
            found.n_matched,
            found.n_taps,
        )
        set_offset(book, outing_id, offset)
        told.append(offset)
    return ClockReport(tuple(told), tuple(silent))


def _stays(connection: Connection) -> dict[str, list[list[float]]]:
    """Return the burst taps of each phone, stay by stay. [s since 1970 UTC]"""
    table = schema.moment
    taps = moments_where(connection, table.c.kind == str(MomentKind.BURST), table.c.undone == 0)
    stays: dict[str, list[list[float]]] = {}
    for tap in taps:
        of_phone, seconds = stays.setdefault(tap.device, []), tap.at.timestamp()
        if of_phone and seconds - of_phone[-1][-1] <= REST.total_seconds():
            of_phone[-1].append(seconds)
        else:
            of_phone.append([seconds])
    return stays


def _estimate(stays: Sequence[Sequence[float]], spans: Sequence[BurstSpan]) -> ClockEstimate | CannotTell:
    if not spans:
        return CannotTell("no burst of the outing tells its time, so that there is nothing to compare taps with")
    starts = np.array([span.start.timestamp() for span in spans])
    step_s = 0.0 if all(span.has_subseconds for span in spans) else 1.0
    margin = WRONG_ZONE.total_seconds()
    near = [stay for stay in stays if stay[-1] >= starts[0] - margin and stay[0] <= starts[-1] + margin]
    far = [stay for stay in stays if stay not in near]
    answers = [estimate_offset(stay, starts, camera_step_s=step_s) for stay in near]
    if not any(isinstance(one, ClockEstimate) for one in answers):
        answers += [estimate_offset(stay, starts, camera_step_s=step_s) for stay in far]
    return _agreed(answers)


def _agreed(answers: Sequence[ClockEstimate | CannotTell]) -> ClockEstimate | CannotTell:
    """Return the estimate with most taps, if no other one says something else; without any, the first reason."""
    estimates = sorted((one for one in answers if isinstance(one, ClockEstimate)), key=lambda one: -one.n_matched)
    if not estimates:
        return next(one for one in answers if isinstance(one, CannotTell))
    best = estimates[0]
    for other in estimates[1:]:
        if abs(other.camera_minus_phone_s - best.camera_minus_phone_s) > LONGEST_DELAY_S:
            return CannotTell(
                f"{best.n_matched} taps of one stay in the field fit the bursts, and {other.n_matched} of another stay "
                "with the clocks set otherwise; set the difference by hand"
            )
    return best
