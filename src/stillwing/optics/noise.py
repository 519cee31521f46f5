"""Noise: electrons in a pixel, their signal to noise, and what is left of it when the picture is shown smaller."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.reals import not_negative, positive, within

__all__ = [
    "ACCEPTABLE_SNR",
    "EXCELLENT_SNR",
    "MID_GREY_SHARE",
    "decibels",
    "electrons",
    "iso_of_snr",
    "signal_for_snr",
    "snr",
    "snr_per_output_pixel",
]

MID_GREY_SHARE = 10 / 78
"""Mid-grey over white, linear: exposures of 10/S and 78/S lx s (ISO 12232, from memory)."""
ACCEPTABLE_SNR = 10.0
"""Signal to noise of the first acceptable picture (ISO 12232 noise-based speed, from memory)."""
EXCELLENT_SNR = 40.0
"""Signal to noise of the first excellent picture (ISO 12232 noise-based speed, from memory)."""


def electrons(
    grey_share: ArrayLike, electrons_at_white: ArrayLike, lowest_iso: ArrayLike, iso: ArrayLike
) -> NDArray[np.float64]:
    """Return the electrons that the light frees in one pixel.

    Parameters
    ----------
    grey_share : array_like, shape (...)
        Brightness over white, linear, 0 to 1; `MID_GREY_SHARE` for a mid-grey.
    electrons_at_white : array_like, shape (...)
        At the lowest ISO, where white fills the pixel.
    lowest_iso, iso : array_like, shape (...)
        Of the camera, and as set.

    Returns
    -------
    ndarray, shape (...)
        Twice the ISO gets half the light; below the lowest ISO no pixel holds more than it does at white.

    Raises
    ------
    OutsideModel
        If the share is not 0 to 1, or another value not positive.

    Examples
    --------
    >>> round(float(electrons(MID_GREY_SHARE, 24000, 200, 3200)))
    192
    """
    share = within("grey_share", grey_share, 0.0, 1.0, "of white")
    full = positive("electrons_at_white", electrons_at_white, "electrons")
    less = positive("lowest_iso", lowest_iso, "ISO") / positive("iso", iso, "ISO")
    return np.asarray(np.minimum(share * full * less, full), np.float64)


def snr(signal_e: ArrayLike, read_noise_e: ArrayLike) -> NDArray[np.float64]:
    r"""Return signal to noise of one pixel.

    Parameters
    ----------
    signal_e, read_noise_e : array_like, shape (...)
        Electrons freed by light, and standard deviation of what reading adds.

    Raises
    ------
    OutsideModel
        If one is negative.

    Notes
    -----
    Photons come by Poisson's law, so :math:`n / \sqrt{n + \sigma_r^2}`; 0 without light.

    Examples
    --------
    >>> float(snr(100, 0))
    10.0
    """
    signal, read = _electrons("signal_e", signal_e), _electrons("read_noise_e", read_noise_e)
    noise = np.sqrt(signal + read * read)
    return np.asarray(signal / np.where(noise == 0, 1.0, noise), np.float64)


def signal_for_snr(snr_wanted: ArrayLike, read_noise_e: ArrayLike) -> NDArray[np.float64]:
    """Return the electrons that give this signal to noise, the inverse of `snr`: (q^2 + q sqrt(q^2 + 4 r^2)) / 2."""
    q, read = not_negative("snr_wanted", snr_wanted, "(signal to noise)"), _electrons("read_noise_e", read_noise_e)
    return np.asarray((q * q + q * np.sqrt(q * q + 4 * read * read)) / 2, np.float64)


def iso_of_snr(
    snr_wanted: ArrayLike, electrons_at_white: ArrayLike, lowest_iso: ArrayLike, read_noise_e: ArrayLike
) -> NDArray[np.float64]:
    """Return the highest ISO at which a pixel of mid-grey has this signal to noise.

    Parameters
    ----------
    snr_wanted : array_like, shape (...)
        Per pixel; `EXCELLENT_SNR` and `ACCEPTABLE_SNR` give the noise-based speeds of ISO 12232.
    electrons_at_white, lowest_iso, read_noise_e : array_like, shape (...)
        As in `electrons` and `snr`.

    Returns
    -------
    ndarray, shape (...)
        Below ``lowest_iso`` where even that does not reach it.

    Raises
    ------
    OutsideModel
        If the wanted value or another is not positive, or the read noise negative.
    """
    wanted = signal_for_snr(positive("snr_wanted", snr_wanted, "(signal to noise)"), read_noise_e)
    full = positive("electrons_at_white", electrons_at_white, "electrons")
    return np.asarray(MID_GREY_SHARE * full * positive("lowest_iso", lowest_iso, "ISO") / wanted, np.float64)


def snr_per_output_pixel(
    snr_per_pixel: ArrayLike, frame_width_px: ArrayLike, output_width_px: ArrayLike
) -> NDArray[np.float64]:
    """Return signal to noise of one pixel of the picture as shown.

    Parameters
    ----------
    snr_per_pixel : array_like, shape (...)
        Of the original.
    frame_width_px, output_width_px : array_like, shape (...)
        Width of the original and of the whole frame as shown. [px]

    Returns
    -------
    ndarray, shape (...)
        Averaging k x k pixels raises it k-fold; enlarging, which adds no light, leaves it.

    Raises
    ------
    OutsideModel
        If the signal to noise is negative, or a width not positive.

    Examples
    --------
    >>> float(snr_per_output_pixel(10, 5184, 1296))
    40.0
    """
    given = not_negative("snr_per_pixel", snr_per_pixel, "(signal to noise)")
    frame = positive("frame_width_px", frame_width_px, "px")
    return np.asarray(given * np.maximum(frame / positive("output_width_px", output_width_px, "px"), 1.0), np.float64)


def decibels(ratio: ArrayLike) -> NDArray[np.float64]:
    """Return a signal-to-noise ratio in decibels, 20 log10, shape (...); raises `OutsideModel` unless positive. [dB]"""
    return np.asarray(20 * np.log10(positive("ratio", ratio, "(signal to noise)")), np.float64)


def _electrons(name: str, value: ArrayLike) -> NDArray[np.float64]:
    return not_negative(name, value, "electrons")
