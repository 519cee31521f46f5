"""The casts that light and white balance may have put on an animal, as a family of corrections with weights."""

from dataclasses import dataclass
from enum import StrEnum
from functools import cache

import numpy as np
from numpy.typing import NDArray

from stillwing.frames.exif import ExifValues

__all__ = [
    "NO_CAST",
    "Balance",
    "Cast",
    "WhiteBalance",
    "daylight_white",
    "from_light",
    "plausible_casts",
    "undone",
    "white_balance",
]

Reals = NDArray[np.float64]

MIRED = 1e6
D65_K = 6504.0
_BRADFORD = np.array([[0.8951, 0.2664, -0.1614], [-0.7502, 1.7135, 0.0367], [0.0389, -0.0685, 1.0296]])
"""Cone responses of the Bradford transform (Lam 1985; figures from memory, tests check them against its published
matrix from D50 to D65)."""
_TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
"""Linear sRGB to CIE XYZ (IEC 61966-2-1)."""
COOLEST_K, WARMEST_K = 25_000.0, 4_000.0
"""What the formula of the daylight locus covers."""


class Balance(StrEnum):
    """How the camera's white balance was set."""

    AUTO = "automatic"
    DAYLIGHT = "fixed to daylight"
    OTHER = "fixed to something else"
    ARTIFICIAL = "fixed to lamplight"
    UNKNOWN = "not told"


CAST_MIRED = {
    Balance.AUTO: 20.0,
    Balance.DAYLIGHT: 25.0,
    Balance.OTHER: 35.0,
    Balance.ARTIFICIAL: 60.0,
    Balance.UNKNOWN: 25.0,
}
"""Standard deviation of the light on the animal from the white of the picture, in mired: a choice, no source. 1000 K
from D65 are 21 to 28 mired, open shade under a blue sky against the sun some 60."""
LIGHT_EV = 0.5
"""Standard deviation of the light on the animal against that of the picture (a choice, no source)."""
BIAS_SHARE = 0.5
"""An exposure that was corrected by hand widens that by this share of the correction (a choice, no source)."""
STEPS = (-1.6, -0.8, 0.0, 0.8, 1.6)
"""Standard deviations at which the family stands, weighted by a normal law."""
# Numbers of Exif 2.32, tag LightSource.
_DAYLIGHT = frozenset({1, 9, 20, 21, 23})
_LAMPS = frozenset({2, 3, 12, 13, 14, 15, 16, 17, 24})
_AUTO, _MANUAL = 0, 1


@dataclass(frozen=True, slots=True)
class WhiteBalance:
    """What the tags say of white balance and exposure; ``exposure_bias_ev`` is 0 where none is told. [EV]"""

    balance: Balance
    exposure_bias_ev: float


@dataclass(frozen=True, slots=True, eq=False)
class Cast:
    """One light that may have been: ``undo`` (3, 3) takes linear sRGB as seen to that under the picture's white.

    ``mired`` is negative for a light bluer than the picture's white, ``ev`` positive where it was brighter.
    """

    mired: float
    ev: float
    weight: float
    undo: Reals


NO_CAST = Cast(0.0, 0.0, 1.0, np.eye(3))
"""The picture as it is."""


def white_balance(exif: ExifValues) -> WhiteBalance:
    """Return what the tags WhiteBalance, LightSource and ExposureBiasValue (Exif 2.32) say."""
    mode = exif.count("Photo.WhiteBalance", _AUTO, _MANUAL)
    source = exif.count("Photo.LightSource", 0, 255)
    bias = exif.number("Photo.ExposureBiasValue", -10.0, 10.0) or 0.0
    if mode == _AUTO:
        return WhiteBalance(Balance.AUTO, bias)
    if source in _LAMPS:
        return WhiteBalance(Balance.ARTIFICIAL, bias)
    if source in _DAYLIGHT:
        return WhiteBalance(Balance.DAYLIGHT, bias)
    return WhiteBalance(Balance.OTHER if mode == _MANUAL else Balance.UNKNOWN, bias)


def daylight_white(kelvin: float) -> Reals:
    """Return CIE XYZ of daylight of a correlated colour temperature, Y = 1, shape (3,).

    Parameters
    ----------
    kelvin : float
        4000 to 25000. [K]

    References
    ----------
    .. [1] CIE 15, Colorimetry: the daylight locus; coefficients from memory, tests check D50, D55, D65 and D75.
    """
    t = 1000.0 / kelvin
    if kelvin <= 7000:
        x = 0.244063 + 0.09911 * t + 2.9678 * t**2 - 4.6070 * t**3
    else:
        x = 0.237040 + 0.24748 * t + 1.9018 * t**2 - 2.0064 * t**3
    y = -3.0 * x**2 + 2.870 * x - 0.275
    return np.array([x / y, 1.0, (1 - x - y) / y])


def from_light(kelvin: float) -> Reals:
    """Return what takes linear sRGB seen under daylight of that temperature to D65, shape (3, 3), by Bradford."""
    seen, wanted = _BRADFORD @ daylight_white(kelvin), _BRADFORD @ daylight_white(D65_K)
    adapted = np.linalg.inv(_BRADFORD) @ np.diag(wanted / seen) @ _BRADFORD
    return np.asarray(np.linalg.inv(_TO_XYZ) @ adapted @ _TO_XYZ)


@cache
def plausible_casts(told: WhiteBalance) -> tuple[Cast, ...]:
    """Return the family of lights on the animal, 25 of them, whose weights sum to 1.

    Notes
    -----
    Five temperatures on the daylight locus, evenly in mired, by five exposures. The picture's own white is taken to be
    D65, since in mired a cast is nearly the same about any white. Their widths are choices.
    """
    bell = np.exp(-(np.array(STEPS) ** 2) / 2)
    weights = np.outer(bell, bell) / bell.sum() ** 2
    wide_ev = float(np.hypot(LIGHT_EV, BIAS_SHARE * told.exposure_bias_ev))
    family = []
    for i, warm in enumerate(STEPS):
        mired = warm * CAST_MIRED[told.balance]
        undo = from_light(float(np.clip(MIRED / (MIRED / D65_K + mired), WARMEST_K, COOLEST_K)))
        for j, bright in enumerate(STEPS):
            ev = bright * wide_ev
            family.append(Cast(mired, ev, float(weights[i, j]), undo * 2.0**-ev))
    return tuple(family)


def undone(rgb: NDArray[np.uint8], cast: Cast) -> NDArray[np.uint8]:
    """Return sRGB colours, shape (n, 3), as they would look under the picture's white; beyond the gamut cut off."""
    linear = np.clip(_linear()[rgb] @ cast.undo.T, 0, 1)
    curve = np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-9) ** (1 / 2.4) - 0.055)
    return np.asarray(curve * 255 + 0.5, np.uint8)


@cache
def _linear() -> Reals:
    """Return linear light of each 8-bit value (IEC 61966-2-1), shape (256,)."""
    x = np.arange(256) / 255.0
    return np.where(x <= 0.04045, x / 12.92, ((x + 0.055) / 1.055) ** 2.4)
