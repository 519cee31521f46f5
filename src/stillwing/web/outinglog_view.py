"""What the page of an outing's field log holds: phones' clocks, what was told of bursts, tracks."""

from dataclasses import dataclass

from stillwing.errors import InputError
from stillwing.fieldbook.book import FieldBook
from stillwing.fieldbook.burstspans import BurstSpan
from stillwing.fieldbook.clocks import ClockOffset, Found
from stillwing.fieldbook.clocktaps import ClockReport
from stillwing.fieldbook.joining import Conflict, JoinedBurst
from stillwing.fieldbook.outinglog import OutingLog, TakenTrack, outing_log
from stillwing.fieldbook.outings import Outing
from stillwing.fieldbook.toldwords import ahead_words, camera_clock, clock_words, count, moment_words, told_words
from stillwing.web.outinglog_rows import DiaryRow, diary

__all__ = ["BurstRow", "OutingLogPage", "PhoneRow", "Wrong", "estimate_words", "outing_log_page"]


@dataclass(frozen=True, slots=True)
class PhoneRow:
    """One phone, and what is known of its clock."""

    device: str
    name: str
    n_moments: int
    is_known: bool
    ahead: str
    """Of the camera's clock against this phone's, in words."""
    interval: str
    agree: str
    found: str
    seconds: str
    """For the field, as it would be typed."""


@dataclass(frozen=True, slots=True)
class BurstRow:
    """One burst of which the log tells something."""

    name: str
    href: str
    clock: str
    told: str
    sure: str
    conflict: str
    moments: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wrong:
    """Why a form was not taken, and what was typed there."""

    part: str
    sentence: str
    device: str = ""
    typed: str = ""


@dataclass(frozen=True, slots=True)
class OutingLogPage:
    """The field log of an outing."""

    title: str
    outing: Outing
    href: str
    summary: str
    n_moments: int
    phones: tuple[PhoneRow, ...]
    is_clock_needed: bool
    """The camera tells no zone and nothing is known of its clock, so that nothing can be joined."""
    diary: tuple[DiaryRow, ...]
    in_doubt: tuple[BurstRow, ...]
    told: tuple[BurstRow, ...]
    n_silent: int
    """Bursts that have a time, near which nothing was logged."""
    n_untimed: int
    tracks: tuple[TakenTrack, ...]
    done: tuple[str, ...] = ()
    """What came of the form that was sent."""
    done_part: str = ""
    wrong: Wrong | None = None

    @property
    def devices(self) -> frozenset[str]:
        """The phones of the table."""
        return frozenset(one.device for one in self.phones)

    @property
    def status(self) -> int:
        """The HTTP status: 422 where a form was not taken."""
        return 200 if self.wrong is None else InputError.http_status


def outing_log_page(
    book: FieldBook, outing: Outing, *, done: tuple[str, ...] = (), done_part: str = "", wrong: Wrong | None = None
) -> OutingLogPage:
    """Return the page."""
    log = outing_log(book, outing.id)
    words = {one.moment.id: moment_words(one, log.zone) for one in log.moments}
    rows = [
        (joined, _burst_row(outing.id, span, joined, words, log))
        for span, joined in zip(log.bursts, log.joined, strict=True)
    ]
    in_doubt = tuple(row for joined, row in rows if joined.moments and joined.conflict is not None)
    told = tuple(row for joined, row in rows if joined.behaviour is not None)
    is_clock_needed = any(one.conflict is Conflict.CLOCK_UNKNOWN for one in log.joined)
    return OutingLogPage(
        "Field log",
        outing,
        f"/outings/{outing.id}/log",
        _summary(log, is_clock_needed),
        len(log.moments),
        tuple(_phone_row(log, device) for device in log.phones),
        is_clock_needed,
        diary(log, outing.id),
        in_doubt,
        told,
        0 if is_clock_needed else len(rows) - len(told) - len(in_doubt),
        log.n_bursts - len(rows),
        log.tracks,
        done,
        done_part,
        wrong,
    )


def estimate_words(report: ClockReport) -> tuple[str, ...]:
    """Return what the taps told, phone by phone."""
    told = [
        f"{phone_name(one.device)}: set by hand, left as it is; forget it to have it estimated"
        if one.found is Found.BY_HAND
        else f"{phone_name(one.device)}: {one.n_matched} of {count(one.n_taps, 'burst tap')} agree"
        for one in report.told
    ]
    silent = [f"{phone_name(device)}: {reason}" for device, reason in report.silent]
    return (*told, *silent) or ("no phone has burst taps near this outing; tap burst on the Log page with each burst",)


def phone_name(device: str) -> str:
    """Return a short name of a phone, which has none but its UUID."""
    return f"phone {device[:4]}"


def _summary(log: OutingLog, is_clock_needed: bool) -> str:
    if not log.moments:
        return "nothing was logged from two hours before the first burst to two hours after the last"
    if is_clock_needed:
        return f"{count(len(log.moments), 'moment')}; nothing ties the camera's clock to them"
    bursts = f"{log.n_told} of {count(log.n_bursts, 'burst')} told"
    return f"{count(len(log.moments), 'moment')}, {bursts}; {clock_words(log.clock)}"


def _phone_row(log: OutingLog, device: str) -> PhoneRow:
    n_moments = sum(one.moment.device == device for one in log.moments)
    offset = next((one for one in log.clock.offsets if one.device == device), None)
    name = phone_name(device)
    if offset is None:
        return PhoneRow(device, name, n_moments, False, "not known", "", "", "", "")
    is_by_hand = offset.found is Found.BY_HAND
    return PhoneRow(
        device,
        name,
        n_moments,
        True,
        ahead_words(offset.camera_minus_phone_s),
        "" if is_by_hand else _interval(offset),
        "" if is_by_hand else f"{offset.n_matched} of {offset.n_taps}",
        offset.found.value,
        f"{offset.camera_minus_phone_s:.1f}",
    )


def _interval(offset: ClockOffset) -> str:
    return f"{offset.low_s:.1f} to {offset.high_s:.1f} s".replace("-", "\N{MINUS SIGN}")


def _burst_row(outing_id: int, span: BurstSpan, joined: JoinedBurst, words: dict[str, str], log: OutingLog) -> BurstRow:
    return BurstRow(
        span.name,
        f"/outings/{outing_id}/bursts/{span.id}",
        f"{camera_clock(span.start, log.zone):%H:%M:%S}",
        told_words(joined),
        f"{joined.certainty * 100:.0f} %" if joined.behaviour else "",
        str(joined.conflict or ""),
        tuple(words[one] for one in joined.moments),
    )
