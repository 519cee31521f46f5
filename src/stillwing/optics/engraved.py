"""Settings as they stand on a camera: series in thirds of a stop, their engraved names, and reading them back.

A setting engraved 1/4000 s is 1/4096 s: cameras set exact powers of two and round only the name. Whole stops are
those of ISO 2721 (f-numbers, exposure times) and ISO 12232 (speeds), from memory; the thirds between them are common
practice, no source.
"""

import math
import re

import numpy as np
from numpy.typing import NDArray

from stillwing.errors import InputError, OutsideModel

__all__ = [
    "EXPOSURES",
    "F_NUMBERS",
    "ISOS",
    "exposure_words",
    "f_number_words",
    "iso_words",
    "read_exposure",
    "read_f_number",
    "read_iso",
]

Reals = NDArray[np.float64]

_F_NUMBERS = """
0.5 0.56 0.63 0.7 0.8 0.9 1 1.1 1.2 1.4 1.6 1.8 2 2.2 2.5 2.8 3.2 3.5 4 4.5 5 5.6 6.3 7.1 8 9 10 11 13 14 16 18
20 22 25 29 32 36 40 45 51 57 64 72 81 90"""
_EXPOSURES = """
1/32000 1/25600 1/20000 1/16000 1/12800 1/10000 1/8000 1/6400 1/5000 1/4000 1/3200 1/2500 1/2000 1/1600 1/1250
1/1000 1/800 1/640 1/500 1/400 1/320 1/250 1/200 1/160 1/125 1/100 1/80 1/60 1/50 1/40 1/30 1/25 1/20 1/15 1/13
1/10 1/8 1/6 1/5 1/4 0.3 0.4 0.5 0.6 0.8 1 1.3 1.6 2 2.5 3.2 4 5 6 8 10 13 15 20 25 30 40 50 60"""
_ISOS = """
6 8 10 12 16 20 25 32 40 50 64 80 100 125 160 200 250 320 400 500 640 800 1000 1250 1600 2000 2500 3200 4000
5000 6400 8000 10000 12800 16000 20000 25600 32000 40000 51200 64000 80000 102400 128000 160000 204800 256000
320000 409600 512000 640000 819200"""
F_NUMBERS = tuple(_F_NUMBERS.split())
"""Engraved f-numbers in thirds of a stop, from f/0.5."""
EXPOSURES = tuple(_EXPOSURES.split())
"""Engraved exposure times in thirds of a stop, from 1/32000 s (exactly 2^-15). [s]"""
ISOS = tuple(_ISOS.split())
"""Engraved ISO speeds in thirds of a stop, from ISO 6 (exactly 6.25)."""

_FIRST_F_NUMBER, _FIRST_EXPOSURE, _FIRST_ISO = -6, -45, -12
_OF_THE_SERIES = 0.15
"""Share of a step within which a value bears the engraved name; else it is written out, as f/4.8 wide open."""
_LONG_S = 0.29
"""Times from here on are written as decimals."""


def f_number_words(f_number: float) -> str:
    """Return an f-number as engraved; one that is in no third of a stop is written with two digits.

    Raises
    ------
    OutsideModel
        If it is not positive and finite; so in the two functions below.

    Examples
    --------
    >>> f_number_words(6.35), f_number_words(22.63), f_number_words(4.8)
    ('f/6.3', 'f/22', 'f/4.8')
    """
    name = _engraved(6 * math.log2(_finite("f_number", f_number, "(f/N)")), F_NUMBERS, _FIRST_F_NUMBER)
    return f"f/{name or _digits(f_number, 2)}"


def exposure_words(exposure_s: float) -> str:
    """Return an exposure as engraved; one that is in no third of a stop is written with three digits.

    Examples
    --------
    >>> exposure_words(1 / 4096), exposure_words(1 / 3000), exposure_words(0.5)
    ('1/4000 s', '1/3000 s', '0.5 s')
    """
    name = _engraved(3 * math.log2(_finite("exposure_s", exposure_s, "s")), EXPOSURES, _FIRST_EXPOSURE)
    if name is None:
        name = _digits(exposure_s, 2) if exposure_s >= _LONG_S else f"1/{_digits(1 / exposure_s, 3)}"
    return f"{name} s"


def iso_words(iso: float) -> str:
    """Return a speed as engraved; one that is in no third of a stop is written with three digits.

    Examples
    --------
    >>> iso_words(1270), iso_words(1400)
    ('ISO 1250', 'ISO 1400')
    """
    name = _engraved(3 * math.log2(_finite("iso", iso, "ISO") / 100), ISOS, _FIRST_ISO)
    return f"ISO {name or _digits(iso, 3)}"


def read_f_number(text: str) -> float:
    """Return the number in words such as "f/8", "F5.6" or "8".

    Raises
    ------
    InputError
        If it is written otherwise or is zero; so in the two functions below.

    Examples
    --------
    >>> read_f_number("f/6.3")
    6.3
    """
    found = re.fullmatch(r"(?:f\s*/?\s*)?(\d+(?:\.\d+)?)", text.strip(), re.IGNORECASE)
    return _read(text, "an f-number", "f/8", float(found[1]) if found else 0.0)


def read_exposure(text: str) -> float:
    """Return the seconds in words such as "1/4000", "1/4000 s" or "0.5 s". [s]

    Examples
    --------
    >>> read_exposure("1/4000")
    0.00025
    """
    found = re.fullmatch(r"(\d+(?:\.\d+)?)(?:\s*/\s*(\d+(?:\.\d+)?))?\s*(?:s|sec)?", text.strip(), re.IGNORECASE)
    below = float(found[2] or 1) if found else 0.0
    return _read(text, "an exposure time", "1/4000", float(found[1]) / below if found and below else 0.0)


def read_iso(text: str) -> float:
    """Return the speed in words such as "ISO 800", "ISO800" or "800".

    Examples
    --------
    >>> read_iso("ISO 800")
    800.0
    """
    found = re.fullmatch(r"(?:ISO\s*)?(\d+(?:\.\d+)?)", text.strip(), re.IGNORECASE)
    return _read(text, "an ISO speed", "ISO 800", float(found[1]) if found else 0.0)


def _read(text: str, what: str, example: str, value: float) -> float:
    if not (value > 0 and math.isfinite(value)):
        raise InputError(f"{text!r} is not {what}; write it like {example!r}")
    return value


def _engraved(step: float, names: tuple[str, ...], first: int) -> str | None:
    """Return the name of the step if it is one of the series, whole or nearly."""
    nearest = round(step)
    if abs(step - nearest) > _OF_THE_SERIES or not 0 <= nearest - first < len(names):
        return None
    return names[nearest - first]


def _digits(value: float, n_digits: int) -> str:
    return f"{float(f'{value:.{n_digits}g}'):.10g}"


def _finite(name: str, value: float, unit: str) -> float:
    if not (value > 0 and math.isfinite(value)):
        raise OutsideModel(name, value, 1e-9, 1e9, unit)
    return value
