"""Motion on the sensor: how far a picture moves while it is exposed, what panning leaves, wing tips, read-out."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stillwing.optics.reals import not_negative, positive, within

__all__ = [
    "blur_length_px",
    "image_speed",
    "line_mtf",
    "panning_remainder",
    "readout_skew",
    "share_of_stroke_below",
    "wing_tip_peak_speed",
]


def image_speed(speed_m_s: ArrayLike, magnification: ArrayLike, pitch_mm: ArrayLike) -> NDArray[np.float64]:
    """Return how fast the picture of a moving thing crosses the sensor. [px/s]

    Parameters
    ----------
    speed_m_s : array_like, shape (...)
        Across the line of sight. [m/s]
    magnification : array_like, shape (...)
        At its distance.
    pitch_mm : array_like, shape (...)
        Distance between pixels. [mm]

    Returns
    -------
    ndarray, shape (...)
        NaN where one of them is. [px/s]

    Raises
    ------
    OutsideModel
        If speed or magnification is negative, or the pitch not positive.

    Examples
    --------
    >>> round(float(image_speed(5, 0.1, 0.005)) / 2000)      # over 1/2000 s: 0.25 mm
    50
    """
    speed = not_negative("speed_m_s", speed_m_s, "m/s") * 1000
    m = not_negative("magnification", magnification, "x")
    return np.asarray(speed * m / positive("pitch_mm", pitch_mm, "mm"), np.float64)


def blur_length_px(image_speed_px_s: ArrayLike, exposure_s: ArrayLike) -> NDArray[np.float64]:
    """Return the length of the line that a point draws while it is exposed, shape (...). [px]

    Raises
    ------
    OutsideModel
        If speed or exposure is negative.
    """
    speed = not_negative("image_speed_px_s", image_speed_px_s, "px/s")
    return np.asarray(speed * not_negative("exposure_s", exposure_s, "s"), np.float64)


def panning_remainder(image_speed_px_s: ArrayLike, share_left: ArrayLike) -> NDArray[np.float64]:
    """Return the speed on the sensor that is left when the camera follows, shape (...). [px/s]

    Parameters
    ----------
    image_speed_px_s : array_like, shape (...)
        With the camera at rest. [px/s]
    share_left : array_like, shape (...)
        0 for a camera that follows perfectly, 1 for one at rest; up to 2 for one that turns the wrong way.

    Raises
    ------
    OutsideModel
        If the speed is negative or the share is not 0 to 2.
    """
    speed = not_negative("image_speed_px_s", image_speed_px_s, "px/s")
    return np.asarray(speed * within("share_left", share_left, 0.0, 2.0, "of the speed"), np.float64)


def wing_tip_peak_speed(
    wingbeat_hz: ArrayLike, stroke_deg: ArrayLike, wing_length_mm: ArrayLike
) -> NDArray[np.float64]:
    r"""Return the speed of the wing tips at mid stroke, relative to the body. [m/s]

    Parameters
    ----------
    wingbeat_hz : array_like, shape (...)
        Whole beats, down and up. [Hz]
    stroke_deg : array_like, shape (...)
        From the upper to the lower turn. [deg]
    wing_length_mm : array_like, shape (...)
        From the hinge to the tip. [mm]

    Returns
    -------
    ndarray, shape (...)
        Speed in m/s.

    Raises
    ------
    OutsideModel
        If one is negative, or the stroke more than a full turn.

    Notes
    -----
    A sinusoidal stroke: :math:`2\pi f R\, \Phi / 2`.

    Examples
    --------
    >>> round(float(wing_tip_peak_speed(36, 60, 50)), 2)
    5.92
    """
    beats = not_negative("wingbeat_hz", wingbeat_hz, "Hz")
    half_stroke = np.radians(within("stroke_deg", stroke_deg, 0.0, 360.0, "deg")) / 2
    length_m = not_negative("wing_length_mm", wing_length_mm, "mm") / 1000
    return np.asarray(2 * np.pi * beats * length_m * half_stroke, np.float64)


def share_of_stroke_below(speed: ArrayLike, peak_speed: ArrayLike) -> NDArray[np.float64]:
    r"""Return for which share of the time a wing in a sinusoidal stroke is slower than ``speed``.

    Parameters
    ----------
    speed, peak_speed : array_like, shape (...)
        In one unit of speed.

    Returns
    -------
    ndarray, shape (...)
        0 to 1; 1 where the peak is no more than the speed, and for a wing at rest.

    Raises
    ------
    OutsideModel
        If a speed is negative.

    Notes
    -----
    The speed is :math:`\hat v |\cos \omega t|`, below :math:`v` for :math:`\frac{2}{\pi} \arcsin(v / \hat v)`.

    Examples
    --------
    >>> round(float(share_of_stroke_below(0.5, 1.0)), 4)
    0.3333
    """
    slow = not_negative("speed", speed, "(any unit of speed)")
    peak = not_negative("peak_speed", peak_speed, "(any unit of speed)")
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(slow >= peak, 1.0, slow / peak)
    return np.asarray(2 / np.pi * np.arcsin(ratio), np.float64)


def readout_skew(
    image_speed_px_s: ArrayLike, readout_s: ArrayLike, height_px: ArrayLike, frame_height_px: ArrayLike
) -> NDArray[np.float64]:
    """Return how far rows read one after the other shift the lower end of an upright thing against its upper one.

    Parameters
    ----------
    image_speed_px_s : array_like, shape (...)
        Along the rows; its sign is the sign of the result. [px/s]
    readout_s : array_like, shape (...)
        From the first row's read-out to the last one's. [s]
    height_px, frame_height_px : array_like, shape (...)
        Of the thing's picture, which counts up to the frame's own height, and of the frame. [px]

    Returns
    -------
    ndarray, shape (...)
        Shift along the rows. [px]

    Raises
    ------
    OutsideModel
        If the read-out or the height is negative, or the frame has no height.

    Examples
    --------
    >>> float(readout_skew(10_000, 1 / 50, 1000, 4000))
    50.0
    """
    readout = not_negative("readout_s", readout_s, "s")
    frame = positive("frame_height_px", frame_height_px, "px")
    rows = np.minimum(not_negative("height_px", height_px, "px"), frame) / frame
    return np.asarray(np.asarray(image_speed_px_s, np.float64) * readout * rows, np.float64)


def line_mtf(length: ArrayLike, frequency: ArrayLike) -> NDArray[np.float64]:
    """Return the contrast, along it, that a line of even blur leaves at a frequency: |sin(pi L f) / (pi L f)|.

    Parameters
    ----------
    length, frequency : array_like, shape (...)
        In units that are each other's inverse, such as px and cycles per px.

    Raises
    ------
    OutsideModel
        If one is negative.
    """
    cycles = not_negative("length", length, "(px or mm)") * not_negative("frequency", frequency, "cycles")
    return np.asarray(np.abs(np.sinc(cycles)), np.float64)
