"""Clocks of an outing, what the log tells of its bursts, and what a track gave: as tables, as JSON and in words."""

from collections.abc import Iterator
from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table
from rich.text import Text

from stillwing.fieldbook.burstlog import CameraMoment
from stillwing.fieldbook.burstspans import BurstSpan
from stillwing.fieldbook.clocks import ClockOffset, Found, OutingClock
from stillwing.fieldbook.clocktaps import ClockReport
from stillwing.fieldbook.joining import Conflict, JoinedBurst
from stillwing.fieldbook.outinglog import OutingLog
from stillwing.fieldbook.phones import SHORT_ID
from stillwing.fieldbook.toldwords import ahead_words, camera_clock, count, moment_words

__all__ = [
    "burst_rows",
    "burst_table",
    "bursts_words",
    "clock_row",
    "clock_table",
    "conflict_words",
]

CLOCK_HEADINGS = ("phone", "camera's clock", "off by", "taps that agree", "known")
BURST_HEADINGS = ("burst", "day", "time", "doing", "sure", "animal", "in doubt")
UNTIED = "nothing ties the camera's clock to the log"


def clock_table(log: OutingLog) -> Table:
    """Return one row for each phone whose clock is known or may matter, the leading one first."""
    table = _table(CLOCK_HEADINGS, ())
    for device in log.phones:
        table.add_row(device[:SHORT_ID], *_clock_cells(log.clock, _offset(log.clock, device)))
    return table


def clock_row(name: str, log: OutingLog, report: ClockReport) -> dict[str, Any]:
    """Return the clocks of an outing as a JSON object; figures that are not known are null."""
    leading = log.clock.leading
    return {
        "outing": name,
        "leading": None if leading is None else leading.device,
        "phones": [{"phone": device, **_offset_row(_offset(log.clock, device))} for device in log.phones],
        "silent": [{"phone": device, "reason": reason} for device, reason in report.silent],
    }


def burst_table(log: OutingLog) -> Table:
    """Return one row for each burst that tells a time, in order of it; times as the camera shows them."""
    table = _table(BURST_HEADINGS, ("sure",))
    for span, joined, moments in _bursts(log):
        at = camera_clock(span.start, log.zone)
        table.add_row(
            Text(span.name),
            f"{at:%Y-%m-%d}",
            f"{at:%H:%M:%S}",
            joined.behaviour or "",
            f"{joined.certainty * 100:.0f} %" if joined.behaviour else "",
            Text(joined.animal),
            Text(conflict_words(joined, moments, log)),
        )
    return table


def burst_rows(log: OutingLog) -> list[dict[str, Any]]:
    """Return the same as JSON objects."""
    return [
        {
            "burst": span.name,
            "taken_at": camera_clock(span.start, log.zone).isoformat(timespec="milliseconds"),
            "doing": joined.behaviour,
            "certainty": joined.certainty if joined.behaviour else None,
            "animal": joined.animal,
            "conflict": joined.conflict,
            "moments": [_moment_row(one, log) for one in moments],
        }
        for span, joined, moments in _bursts(log)
    ]


def conflict_words(joined: JoinedBurst, moments: tuple[CameraMoment, ...], log: OutingLog) -> str:
    """Return what disagrees about a burst, moments with their times by the camera's clock; empty where nothing does."""
    if joined.conflict is None:
        return ""
    if joined.conflict is Conflict.CLOCK_UNKNOWN:
        return UNTIED
    return f"{joined.conflict}: {'; '.join(moment_words(one, log.zone) for one in moments)}"


def bursts_words(log: OutingLog) -> tuple[str, ...]:
    """Return how many bursts the log tells of, and what to do where it cannot."""
    n_timed, n_told = len(log.bursts), sum(one.behaviour is not None for one in log.joined)
    n_clock = sum(one.conflict is Conflict.CLOCK_UNKNOWN for one in log.joined)
    n_doubt = sum(one.conflict is not None for one in log.joined) - n_clock
    lines = [
        f"{count(log.n_bursts, 'burst')}: {n_told} told, {n_doubt} in doubt, {n_timed - n_told - n_doubt - n_clock} of "
        f"which nothing was logged, {log.n_bursts - n_timed} without a time"
    ]
    if n_clock:
        lines.append(f"{UNTIED}: see stillwing log clock")
    if n_doubt:
        lines.append("where two things disagree, a moment that was a mistake can be taken back on the Log page")
    return tuple(lines)


def _table(headings: tuple[str, ...], figures: tuple[str, ...]) -> Table:
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    for heading in headings:
        table.add_column(heading, justify="right" if heading in figures else "left", no_wrap=heading != "in doubt")
    return table


def _offset(clock: OutingClock, device: str) -> ClockOffset | None:
    return next((one for one in clock.offsets if one.device == device), None)


def _clock_cells(clock: OutingClock, offset: ClockOffset | None) -> tuple[str, ...]:
    if offset is None:
        return "not known", "", "", ""
    low_s, high_s = offset.low_s - offset.camera_minus_phone_s, offset.high_s - offset.camera_minus_phone_s
    is_by_hand = offset.found is Found.BY_HAND
    return (
        ahead_words(offset.camera_minus_phone_s),
        "" if is_by_hand else f"{low_s:+.1f} to {high_s:+.1f} s",
        "" if is_by_hand else f"{offset.n_matched} of {offset.n_taps}",
        f"{offset.found}, leads" if offset is clock.leading and len(clock.offsets) > 1 else str(offset.found),
    )


def _offset_row(offset: ClockOffset | None) -> dict[str, Any]:
    return {
        "camera_ahead_s": None if offset is None else offset.camera_minus_phone_s,
        "low_s": None if offset is None else offset.low_s,
        "high_s": None if offset is None else offset.high_s,
        "found": None if offset is None else str(offset.found),
        "n_matched": 0 if offset is None else offset.n_matched,
        "n_taps": 0 if offset is None else offset.n_taps,
    }


def _bursts(log: OutingLog) -> Iterator[tuple[BurstSpan, JoinedBurst, tuple[CameraMoment, ...]]]:
    known = {one.moment.id: one for one in log.moments}
    for span, joined in zip(log.bursts, log.joined, strict=True):
        yield span, joined, tuple(known[one] for one in joined.moments)


def _moment_row(one: CameraMoment, log: OutingLog) -> dict[str, Any]:
    return {
        "id": one.moment.id,
        "kind": str(one.moment.kind),
        "animal": one.moment.animal,
        "perch": one.moment.perch,
        "by_camera": camera_clock(one.at, log.zone).isoformat(timespec="milliseconds"),
    }
