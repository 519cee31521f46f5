"""When a sighting was: an instant, a day, or a span of either, and the same as an ISO 8601 date."""

import calendar
import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from stillwing.errors import InputError

__all__ = ["When", "read_when"]

YEAR = re.compile(r"\d{4}")
MONTH = re.compile(r"(\d{4})-(\d{2})")
DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
RIGHT = "write a day such as 2024-07-06, an instant with its zone such as 2024-07-06T14:30+01:00, or two with / between"


@dataclass(frozen=True, slots=True)
class When:
    """An instant or a day, or with ``end`` the span from the one to the other, both counted in.

    Attributes
    ----------
    begin : date or datetime
        A day, or an instant with its zone.
    end : date or datetime, optional
        As ``begin``, and later.

    Raises
    ------
    InputError
        If an instant has no zone, the two are of different kinds, or the end is not later.
    """

    begin: date | datetime
    end: date | datetime | None = None

    def __post_init__(self) -> None:
        for moment in (self.begin, self.end):
            _zone_is_whole(moment)
        if self.end is None:
            return
        if isinstance(self.begin, datetime) != isinstance(self.end, datetime):
            raise InputError(f"the time begins {self.begin} and ends {self.end}; give two days or two instants")
        if not self.begin < self.end:
            raise InputError(
                f"the time begins {self.begin} and ends {self.end}; a span ends later than it begins, a single day or "
                "instant has no end"
            )

    @property
    def iso(self) -> str:
        """The same in ISO 8601, such as 2024-07-06, 2024-07-06T14:30:00+01:00 or 2024-07-06/2024-07-08."""
        return "/".join(moment.isoformat() for moment in (self.begin, self.end) if moment is not None)


def read_when(text: str) -> When:
    """Return what an ISO 8601 date, instant or interval tells.

    A month or a year is the span of its days; the end of an interval of days may leave out what it shares with the
    beginning, as in 2024-07-06/08.

    Raises
    ------
    InputError
        If it is none of these, or an instant without a zone.

    Examples
    --------
    >>> read_when("2024-07-06/08").iso, read_when("2024-02").iso, read_when("2024-07-06T13:30Z").iso
    ('2024-07-06/2024-07-08', '2024-02-01/2024-02-29', '2024-07-06T13:30:00+00:00')
    """
    first, slash, last = text.strip().partition("/")
    begin, implied_end = _part(first, text)
    if not slash:
        return When(begin, implied_end)
    if DAY.fullmatch(first) and re.fullmatch(r"\d{2}(-\d{2})?", last):
        last = first[: -len(last)] + last
    final, final_end = _part(last, text)
    end = final if final_end is None else final_end
    return When(begin, None if end == begin else end)


def _part(text: str, whole: str) -> tuple[date | datetime, date | None]:
    """Return the beginning, and the last day where the text names a month or a year."""
    try:
        if YEAR.fullmatch(text):
            return date(int(text), 1, 1), date(int(text), 12, 31)
        if match := MONTH.fullmatch(text):
            year, month = map(int, match.groups())
            return date(year, month, 1), date(year, month, calendar.monthrange(year, month)[1])
        if DAY.fullmatch(text):
            return date.fromisoformat(text), None
        instant = datetime.fromisoformat(text)
    except ValueError as error:
        raise InputError(f'the time is "{whole}"; {RIGHT}') from error
    if instant.tzinfo is None:
        raise InputError(f'the time is "{whole}", without a zone; {RIGHT}')
    return instant, None


def _zone_is_whole(moment: date | datetime | None) -> None:
    if not isinstance(moment, datetime):
        return
    offset = moment.utcoffset()
    if offset is None:
        raise InputError(f"the time is {moment.isoformat()}, without a zone; {RIGHT}")
    if offset % timedelta(minutes=1):
        raise InputError(f"the time is {moment.isoformat()}; a zone is told in whole minutes, such as +01:00")
