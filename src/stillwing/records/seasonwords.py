"""Parts of the year in words, such as "Late June", as spans of days."""

import re
from typing import NamedTuple

from stillwing.animals.season import MONTH_STARTS
from stillwing.errors import InputError

__all__ = ["MONTHS", "DaySpan", "read_days"]

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
PARTS = {"early": (1, 10), "mid": (11, 20), "late": (21, 31), "end": (26, 31)}
"""Days of the month, both counted: thirds, and the last days (a choice, no source)."""


class DaySpan(NamedTuple):
    """First and last day of a part of the year, both counted, 1 to 365 of a common year."""

    first: int
    last: int


def read_days(words: str) -> DaySpan:
    """Return the days that words such as "Late June", "End May" or "July" mean.

    Parameters
    ----------
    words : str
        A month in English, in full, and in front of it Early, Mid, Late or End, in any case; or none for all of it.

    Raises
    ------
    InputError
        If the words are none of these.

    Examples
    --------
    >>> read_days("Late June"), read_days("july")
    (DaySpan(first=172, last=181), DaySpan(first=182, last=212))
    """
    match = re.fullmatch(r"(?:(\w+)[\s-]+)?(\w+)", words.strip())
    part, month = match.groups() if match else (None, "")
    if month.capitalize() not in MONTHS or (part is not None and part.lower() not in PARTS):
        raise InputError(
            f'"{words.strip()}" is no part of the year; write a month, or Early, Mid, Late or End and a month, such as '
            "Late June"
        )
    index = MONTHS.index(month.capitalize())
    start, n_days = int(MONTH_STARTS[index]), int(MONTH_STARTS[index + 1] - MONTH_STARTS[index])
    first, last = PARTS[part.lower()] if part else (1, 31)
    if n_days < 31 and part and part.lower() == "end":
        first -= 31 - n_days
    return DaySpan(start + first - 1, start + min(last, n_days) - 1)
