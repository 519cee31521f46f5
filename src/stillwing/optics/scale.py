"""How many millimetres of the subject plane one pixel covers, and how surely, from what a camera writes down."""

import math

from stillwing.optics.framing import focal_length_at, magnification, principal_distance
from stillwing.optics.kit import Lens
from stillwing.optics.reals import not_negative, positive
from stillwing.optics.subject import Range

__all__ = ["combined", "off_focus_share", "spread_round", "subject_scale", "true_focal_length"]

FOCAL_SHARE = 0.03
"""How far a focal length may be from what is engraved and written; a choice, no source."""
SHORTENED, SHORTENED_AT = 0.3, 5.0
"""A lens of which no more is known may have lost up to this share of its focal length at five focal lengths from the
sensor, and less in proportion farther off; a choice, no source: three in ten is what makers' figures for closest focus
and magnification of long lenses give with `framing.close_focal_length`."""


def spread_round(likely: float, low_share: float, high_share: float) -> Range:
    """Return a range whose ends lie by these shares below and above, as logarithms."""
    return Range(likely * math.exp(-low_share), likely, likely * math.exp(high_share))


def combined(*factors: Range) -> Range:
    """Return the product of figures that err independently of each other, each with its 90 % interval.

    Examples
    --------
    >>> [round(v, 3) for v in combined(Range(9.0, 10.0, 11.0), Range(2.0, 2.0, 2.0))]
    [18.0, 20.0, 22.0]
    """
    likely = math.prod(factor.likely for factor in factors)
    low = math.hypot(*(math.log(factor.likely / factor.low) for factor in factors))
    high = math.hypot(*(math.log(factor.high / factor.likely) for factor in factors))
    return spread_round(likely, low, high)


def true_focal_length(written_mm: float, distance_mm: float, lens: Lens | None = None) -> Range:
    """Return the focal length that the lens really had, with its 90 % interval. [mm]

    Parameters
    ----------
    written_mm : float
        As the tags give it, which is that at infinity. [mm]
    distance_mm : float
        Focus distance from the sensor. [mm]
    lens : Lens, optional
        Tells by closest focus and largest magnification how much shorter the lens grows; without them the interval
        goes from what is engraved to three tenths less at five focal lengths.

    Raises
    ------
    OutsideModel
        If a length is not positive, or the lens does not focus so near.
    """
    f, d = float(positive("focal length", written_mm, "mm")), float(positive("distance", distance_mm, "mm"))
    if lens is not None and lens.closest_focus_m > 0 and lens.largest_magnification is not None:
        nearest = lens.closest_focus_m * 1000
        # The tag's rounding may fall short of the closest focus.
        likely = float(focal_length_at(max(d, nearest), f, nearest, lens.largest_magnification))
        return spread_round(likely, FOCAL_SHARE, FOCAL_SHARE)
    shortest = f * (1 - min(SHORTENED * SHORTENED_AT * f / d, 0.5))
    return Range(shortest * (1 - FOCAL_SHARE), (shortest + f) / 2, f * (1 + FOCAL_SHARE))


def off_focus_share(blur_px: float, pitch_mm: float, focal_length_mm: float, f_number: float, scale: float) -> float:
    """Return how far from the focal plane, as a share of its distance, what is blurred so much can lie.

    Parameters
    ----------
    blur_px : float
        Standard deviation of the blur, from whatever cause: the share is a bound. [px]
    pitch_mm, focal_length_mm : float
        Pixel pitch and focal length. [mm]
    f_number : float
        As set.
    scale : float
        Magnification.

    Notes
    -----
    The disc has a diameter of four standard deviations and is A m |d - s| / d wide, with the entrance pupil A = f/N.

    Examples
    --------
    >>> round(off_focus_share(1.5, 0.0033, 300, 6, 0.1), 4)
    0.004
    """
    disc_mm = 4 * float(not_negative("blur", blur_px, "px")) * pitch_mm
    return disc_mm * f_number / (focal_length_mm * scale)


def subject_scale(pitch_mm: Range, focal_length_mm: Range, distance_mm: Range, off_share: float = 0.0) -> Range:
    """Return the millimetres that a pixel covers where the animal is, with the 90 % interval. [mm/px]

    Parameters
    ----------
    pitch_mm : Range
        Distance between pixels. [mm]
    focal_length_mm : Range
        True focal length, as `true_focal_length` gives it. [mm]
    distance_mm : Range
        Focus distance from the sensor, as marked on lenses. [mm]
    off_share : float, default 0
        The most by which the animal is out of focus, as a share of the distance.

    Raises
    ------
    OutsideModel
        If a figure is not positive or the distance lies below four focal lengths, where no thin lens focuses.

    Notes
    -----
    Pitch over magnification, m = f / (u - f), at the distance u from the front principal plane. Each cause is taken
    to its 5th and 95th percentile alone, and the logarithms are added in quadrature.

    Examples
    --------
    >>> exact = [Range(v, v, v) for v in (0.004, 100.0, 400.0)]
    >>> round(subject_scale(*exact).likely, 6)
    0.004
    """
    positive("pitch", pitch_mm, "mm")
    principal_distance(focal_length_mm.low, distance_mm.high)  # refuses what no thin lens does
    likely = _thing_over_picture(focal_length_mm.likely, distance_mm.likely)
    by_distance = [_thing_over_picture(focal_length_mm.likely, distance) for distance in distance_mm]
    by_focal = [_thing_over_picture(focal, distance_mm.likely) for focal in reversed(focal_length_mm)]
    share = math.log1p(float(not_negative("off_share", off_share, "x")))
    return combined(
        pitch_mm,
        Range(*by_distance),
        Range(*(one / likely for one in by_focal)),
        spread_round(1.0, share, share),
    )


def _thing_over_picture(focal_length_mm: float, distance_mm: float) -> float:
    """Return one over the magnification; a thin lens is never longer than a quarter of the distance to the sensor."""
    f = min(focal_length_mm, distance_mm / 4)
    return float(1 / magnification(f, principal_distance(f, distance_mm)))
