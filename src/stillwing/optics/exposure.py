"""Exposure: f-number, time, ISO and light, each from the others, and settings that match across sensor sizes.

Light is the exposure value at ISO 100, EV100: log2(N^2/t) of the setting that renders it mid-grey at ISO 100.
F-numbers are those that the light feels, so close up the working ones (`stillwing.optics.framing.working_f_number`).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.engraved import exposure_words, f_number_words, iso_words
from stillwing.optics.reals import not_negative, positive, within

__all__ = [
    "ILLUMINANCE_CONSTANT",
    "LUMINANCE_CONSTANT",
    "SPEED_BASE",
    "Equivalent",
    "aperture_value",
    "brightness_value",
    "equivalent",
    "ev100",
    "exposure_for",
    "exposure_of",
    "exposure_value",
    "exposure_words",
    "f_number_for",
    "f_number_of",
    "f_number_words",
    "iso_for",
    "iso_of",
    "iso_words",
    "speed_value",
    "time_value",
]

LUMINANCE_CONSTANT = 12.5
"""K of the exposure equation N^2/t = L S/K; ISO 2720:1974 allows 10.6 to 13.4. [cd/m2 s]"""
ILLUMINANCE_CONSTANT = 250.0
"""C of the exposure equation N^2/t = E S/C for a flat receptor; ISO 2720:1974 allows 240 to 400. [lx s]"""
SPEED_BASE = 3.125
"""ISO whose speed value is 0, so that ISO 100 has 5 (APEX, ANSI PH2.7; Exif Annex C rounds to the same)."""
_EV_RANGE = (-40.0, 60.0)


def aperture_value(f_number: ArrayLike) -> NDArray[np.float64]:
    """Return the APEX aperture value Av = 2 log2 N, shape (...) as ``f_number``; raises `OutsideModel`.

    Examples
    --------
    >>> round(float(aperture_value(1.8)), 6)
    1.695994
    """
    return np.asarray(2 * np.log2(_f_number(f_number)), np.float64)


def time_value(exposure_s: ArrayLike) -> NDArray[np.float64]:
    """Return the APEX time value Tv = -log2 t, shape (...) as ``exposure_s`` [s]; raises `OutsideModel`."""
    return np.asarray(-np.log2(_exposure(exposure_s)), np.float64)


def speed_value(iso: ArrayLike) -> NDArray[np.float64]:
    """Return the APEX speed value Sv = log2(S / 3.125), shape (...) as ``iso``; raises `OutsideModel`.

    Examples
    --------
    >>> float(speed_value(100))
    5.0
    """
    return np.asarray(np.log2(_iso(iso) / SPEED_BASE), np.float64)


def brightness_value(luminance_cd_m2: ArrayLike) -> NDArray[np.float64]:
    """Return the APEX brightness value Bv = log2(3.125 L / K), so that Av + Tv = Bv + Sv; raises `OutsideModel`.

    Parameters
    ----------
    luminance_cd_m2 : array_like, shape (...)
        Mean luminance of the scene. [cd/m2]
    """
    luminance = positive("luminance_cd_m2", luminance_cd_m2, "cd/m2")
    return np.asarray(np.log2(SPEED_BASE * luminance / LUMINANCE_CONSTANT), np.float64)


def f_number_of(aperture_value: ArrayLike) -> NDArray[np.float64]:
    """Return the f-number of an APEX aperture value, shape (...)."""
    return np.asarray(np.exp2(_ev("aperture_value", aperture_value) / 2), np.float64)


def exposure_of(time_value: ArrayLike) -> NDArray[np.float64]:
    """Return the exposure of an APEX time value, shape (...). [s]"""
    return np.asarray(np.exp2(-_ev("time_value", time_value)), np.float64)


def iso_of(speed_value: ArrayLike) -> NDArray[np.float64]:
    """Return the ISO of an APEX speed value, shape (...)."""
    return np.asarray(SPEED_BASE * np.exp2(_ev("speed_value", speed_value)), np.float64)


def exposure_value(f_number: ArrayLike, exposure_s: ArrayLike) -> NDArray[np.float64]:
    """Return the exposure value of a setting, Ev = Av + Tv = log2(N^2/t).

    Parameters
    ----------
    f_number, exposure_s : array_like, shape (...)
        F-number, and exposure time. [s]

    Raises
    ------
    OutsideModel
        If one is not positive, or beyond anything ever built.

    Examples
    --------
    >>> round(float(exposure_value(16, 1 / 125)), 3)
    14.966
    """
    return np.asarray(aperture_value(f_number) + time_value(exposure_s), np.float64)


def ev100(f_number: ArrayLike, exposure_s: ArrayLike, iso: ArrayLike) -> NDArray[np.float64]:
    """Return the light that a setting renders mid-grey: log2(N^2/t) - log2(S/100).

    Parameters
    ----------
    f_number, exposure_s, iso : array_like, shape (...)
        The setting; exposure in seconds.

    Raises
    ------
    OutsideModel
        If one is not positive, or beyond anything ever built.

    Examples
    --------
    >>> round(float(ev100(16, 1 / 100, 100)), 3)      # the sunny-16 rule
    14.644
    """
    return np.asarray(exposure_value(f_number, exposure_s) - np.log2(_iso(iso) / 100), np.float64)


def exposure_for(ev100: ArrayLike, f_number: ArrayLike, iso: ArrayLike) -> NDArray[np.float64]:
    """Return the exposure that renders this light mid-grey: t = N^2 / (2^EV S/100). [s]

    Parameters
    ----------
    ev100, f_number, iso : array_like, shape (...)
        Light, f-number, ISO.

    Raises
    ------
    OutsideModel
        If one is not positive, or beyond anything ever built.

    Examples
    --------
    >>> round(1 / float(exposure_for(15, 8, 800)))
    4096
    """
    n = _f_number(f_number)
    return np.asarray(n * n / (np.exp2(_ev("ev100", ev100)) * (_iso(iso) / 100)), np.float64)


def f_number_for(ev100: ArrayLike, exposure_s: ArrayLike, iso: ArrayLike) -> NDArray[np.float64]:
    """Return the f-number that renders this light mid-grey: N = sqrt(t 2^EV S/100); else as `exposure_for`."""
    light = np.exp2(_ev("ev100", ev100)) * (_iso(iso) / 100)
    return np.asarray(np.sqrt(light * _exposure(exposure_s)), np.float64)


def iso_for(ev100: ArrayLike, f_number: ArrayLike, exposure_s: ArrayLike) -> NDArray[np.float64]:
    """Return the ISO that renders this light mid-grey: S = 100 N^2 / (t 2^EV); else as `exposure_for`."""
    n = _f_number(f_number)
    return np.asarray(100 * n * n / (np.exp2(_ev("ev100", ev100)) * _exposure(exposure_s)), np.float64)


@dataclass(frozen=True, slots=True)
class Equivalent:
    """What gives the same picture on another sensor, from the same place in the same time; shape (...) each."""

    focal_length_mm: NDArray[np.float64]
    f_number: NDArray[np.float64]
    iso: NDArray[np.float64]


def equivalent(
    focal_length: ArrayLike, f_number: ArrayLike, iso: ArrayLike, size_ratio: ArrayLike, magnification: ArrayLike = 0.0
) -> Equivalent:
    r"""Return what gives the same field, depth of field and total light on a sensor of another size.

    Parameters
    ----------
    focal_length, f_number, iso : array_like, shape (...)
        On the first sensor; focal length in mm.
    size_ratio : array_like, shape (...)
        Linear size of the other sensor over that of the first.
    magnification : array_like, shape (...), default 0
        On the first sensor; 0 stands for a far subject.

    Returns
    -------
    Equivalent
        On the other sensor.

    Raises
    ------
    OutsideModel
        If a value is not positive, or the magnification negative.

    Notes
    -----
    With the ratio :math:`r` the magnification becomes :math:`r m` at the same distance, so
    :math:`f' = r f (1 + m) / (1 + r m)`, the entrance pupil stays, :math:`N' = N f'/f`, and :math:`S' = r^2 S`.

    Examples
    --------
    >>> same = equivalent(300, 4, 400, 2.0)
    >>> float(same.focal_length_mm), float(same.f_number), float(same.iso)
    (600.0, 8.0, 1600.0)
    """
    r, m = positive("size_ratio", size_ratio, "x"), not_negative("magnification", magnification, "x")
    longer = r * (1 + m) / (1 + r * m)
    return Equivalent(
        focal_length_mm=np.asarray(positive("focal_length", focal_length, "mm") * longer, np.float64),
        f_number=np.asarray(_f_number(f_number) * longer, np.float64),
        iso=np.asarray(_iso(iso) * r * r, np.float64),
    )


def _f_number(value: ArrayLike) -> NDArray[np.float64]:
    return within("f_number", value, 0.01, 1e5, "(f/N)")


def _exposure(value: ArrayLike) -> NDArray[np.float64]:
    return within("exposure_s", value, 1e-9, 1e9, "s")


def _iso(value: ArrayLike) -> NDArray[np.float64]:
    return within("iso", value, 1e-3, 1e9, "ISO")


def _ev(name: str, value: ArrayLike) -> NDArray[np.float64]:
    return within(name, value, *_EV_RANGE, "EV")
