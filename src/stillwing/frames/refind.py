"""Where one picture may lie on the other after a fast pan: every overlap tried, with the animals left out."""

import cv2
import numpy as np
from numpy.typing import NDArray
from scipy import fft

from stillwing.frames.reduce import halved

__all__ = ["likely_shifts", "texture"]

Floats = NDArray[np.float32]
Ground = NDArray[np.bool_]

COARSE_PX = 6.0
"""Brightness that changes over more than this, in pixels of the picture halved once more, is taken out."""
LEAST_SHARED = 0.08
"""Share of the picture that two must have in common: a pan by four fifths leaves a little more."""
APART = 7
"""Two peaks lie so far apart at least. [px of the picture halved once more]"""
TRIED = 4
TINY = 1e-6


def likely_shifts(one: Floats, other: Floats, ground_one: Ground, ground_other: Ground) -> list[tuple[float, float]]:
    """Return the shifts (x, y) by which ``one`` may lie on ``other``, likeliest first, in even pixels.

    Parameters
    ----------
    one, other : ndarray, shape (rows, cols), float32
        Two grey pictures. [DN]
    ground_one, ground_other : ndarray, shape (rows, cols), bool
        What is background in each.

    Notes
    -----
    Normalised correlation of the texture under masks at every overlap, by Fourier transforms [1]_; peaks are ranked by
    the correlation times the square root of the pixels shared, because few pixels are alike by chance.

    References
    ----------
    .. [1] D. Padfield, "Masked Object Registration in the Fourier Domain", IEEE Trans. Image Process. 21 (2012) 2706,
       doi:10.1109/TIP.2011.2181402.
    """
    masks = [halved(mask.astype(np.float32)) > 0.99 for mask in (ground_one, ground_other)]
    rows, cols = masks[0].shape
    size = (fft.next_fast_len(2 * rows, True), fft.next_fast_len(2 * cols, True))
    spectra = []
    for picture, mask in zip((one, other), masks, strict=True):
        fine = texture(halved(picture), mask, COARSE_PX)
        spectra.append([fft.rfft2(plane, size) for plane in (fine, fine**2, mask.astype(np.float32))])
    (first, first_power, first_mask), (second, second_power, second_mask) = spectra
    together, power_one, power_other, shared = (
        fft.irfft2(np.conj(a) * b, size)
        for a, b in (
            (first, second),
            (first_power, second_mask),
            (first_mask, second_power),
            (first_mask, second_mask),
        )
    )
    power = np.sqrt(np.maximum(power_one, TINY) * np.maximum(power_other, TINY))
    score = np.where(shared >= LEAST_SHARED * rows * cols, together / power * np.sqrt(np.maximum(shared, 0)), 0)
    score = np.fft.fftshift(score).astype(np.float32)
    is_peak = (score >= cv2.dilate(score, np.ones((APART, APART), np.uint8))) & (score > 0)
    at_y, at_x = np.nonzero(is_peak)
    best = np.argsort(-score[at_y, at_x])[:TRIED]
    middle_y, middle_x = size[0] // 2, size[1] // 2
    return [(2.0 * float(at_x[n] - middle_x), 2.0 * float(at_y[n] - middle_y)) for n in best]


def texture(picture: Floats, mask: Ground, coarse_px: float) -> Floats:
    """Return what of the picture varies over less than ``coarse_px``, zero outside the mask. [DN]"""
    inside = mask.astype(np.float32)
    # A box costs the same at any width, a Gaussian would not.
    side = 2 * round(1.7 * coarse_px) + 1
    around = cv2.blur(picture * inside, (side, side)) / np.maximum(cv2.blur(inside, (side, side)), TINY)
    return np.asarray((picture - around) * inside, np.float32)
