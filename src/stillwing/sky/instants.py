"""Instants as they enter the sky: aware datetimes in, seconds since 1970 UTC inside."""

from collections.abc import Sequence
from datetime import UTC, datetime, tzinfo
from typing import TypeAlias
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError

__all__ = ["Instants", "datetimes", "unix_seconds", "zone_named"]

Instants: TypeAlias = datetime | Sequence[datetime] | NDArray[np.datetime64] | NDArray[np.float64]
"""An aware datetime, a sequence of them, an array of datetime64 in UTC, or of seconds since 1970 UTC."""


def unix_seconds(when: Instants) -> NDArray[np.float64]:
    """Return instants as seconds since 1970-01-01 UTC, shape () for one datetime, else as ``when``.

    Parameters
    ----------
    when : Instants
        Arrays are taken as UTC; NaT and NaN stay unknown.

    Raises
    ------
    InputError
        If a datetime says no time zone, or something is no instant.

    Examples
    --------
    >>> float(unix_seconds(datetime(1970, 1, 2, tzinfo=UTC)))
    86400.0
    """
    if isinstance(when, datetime):
        return np.asarray(_seconds(when))
    if isinstance(when, np.ndarray) and np.issubdtype(when.dtype, np.datetime64):
        seconds = when.astype("datetime64[us]").astype(np.int64) / 1e6
        return np.where(np.isnat(when), np.nan, seconds)
    if isinstance(when, np.ndarray) and np.issubdtype(when.dtype, np.number):
        return when.astype(np.float64)
    return np.array([_seconds(instant) for instant in when], np.float64)


def datetimes(seconds: NDArray[np.float64], zone: tzinfo = UTC) -> tuple[datetime, ...]:
    """Return seconds since 1970 UTC, shape (n,), as aware datetimes in ``zone``."""
    return tuple(datetime.fromtimestamp(float(second), UTC).astimezone(zone) for second in seconds)


def zone_named(zone: str) -> ZoneInfo:
    """Return the time zone of a name such as "Europe/London".

    Raises
    ------
    InputError
        If the time zone database does not hold it.
    """
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise InputError(f"time zone {zone!r} is not known; write one like 'Europe/London' or 'UTC'") from error


def _seconds(instant: object) -> float:
    if not isinstance(instant, datetime):
        raise InputError(f"{instant!r} is not a date and time")
    if instant.utcoffset() is None:
        raise InputError(f"{instant.isoformat()} says no time zone; an instant needs one, such as +01:00")
    return instant.timestamp()
