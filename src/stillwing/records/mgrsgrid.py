"""The Military Grid Reference System on WGS 84: names of squares, written and read."""

import re
import warnings

from mgrs import MGRS
from mgrs.core import MGRSError

from stillwing.errors import InputError, OutsideModel
from stillwing.records.gridletters import GridMetres

__all__ = ["HIGHEST_DEG", "LOWEST_DEG", "mgrs_corner", "mgrs_name"]

LOWEST_DEG, HIGHEST_DEG = -80.0, 84.0
"""Latitudes between which the zones lie; beyond them another projection is used, which is not read here. [deg]"""
ZONED = re.compile(r"0?(\d{1,2})([C-HJ-NP-X])([A-HJ-NP-Z])([A-HJ-NP-V])((?:\d\d){0,5})")

EQUATOR_DEG = 1e-6
"""Some 0.1 m."""


def mgrs_name(latitude: float, longitude: float, n_digits: int) -> str:
    """Return the name of the square that holds a place, without blanks and without a zero in front of the zone.

    Parameters
    ----------
    latitude, longitude : float
        WGS 84. [deg]
    n_digits : int
        Digits for each of easting and northing, 0 (100 km) to 5 (1 m); what is beyond is cut off, never rounded.

    Raises
    ------
    OutsideModel
        If the latitude lies beyond the zones.

    Examples
    --------
    >>> mgrs_name(21.3069, -157.8583, 1)
    '4QFJ15'
    """
    if not LOWEST_DEG <= latitude < HIGHEST_DEG:
        raise OutsideModel("latitude", latitude, LOWEST_DEG, HIGHEST_DEG, "deg")
    # Within 0.1 m south of the equator the library rounds to 10,000,000 m, and names a square that there is not.
    moved = 0.0 if -EQUATOR_DEG < latitude < 0.0 else latitude
    name = str(MGRS().toMGRS(moved, longitude, MGRSPrecision=n_digits))
    return name.removeprefix("0")


def mgrs_corner(name: str) -> tuple[int, bool, GridMetres]:
    """Return the zone, whether it is the southern half, and the south-west corner of a square.

    Parameters
    ----------
    name : str
        Such as 4QFJ12345678 or 04QFJ12345678, in capitals without blanks.

    Raises
    ------
    InputError
        If no square has this name.
    """
    match = ZONED.fullmatch(name)
    if match is None:
        raise InputError(
            f'"{name}" is no MGRS reference; one is a zone from 1 to 60, a letter C to X, two letters and as many '
            "figures for east as for north, at most 5 each, such as 4Q FJ 1234 5678"
        )
    try:
        # The library only warns where the letters fit no place in the zone, and goes on with a point elsewhere.
        with warnings.catch_warnings():
            warnings.simplefilter("error", RuntimeWarning)
            zone, half, easting, northing = MGRS().MGRSToUTM(name)
    except (MGRSError, RuntimeWarning) as error:
        raise InputError(
            f'"{name}" names no square; check the zone and the letters, such as 4Q FJ for Honolulu'
        ) from error
    # The library gives the middle of the square, in other releases its corner.
    side_m = 10 ** (5 - len(match[5]) // 2)
    return int(zone), half == "S", GridMetres(*(metres // side_m * side_m for metres in (easting, northing)))
