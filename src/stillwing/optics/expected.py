"""How many sharp frames one event gives, over the ways that animals vary from occasion to occasion."""

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from stillwing.optics.motion import share_of_stroke_below
from stillwing.optics.prediction import SHARPEST_SHARE, camera_variance, diffraction_variance
from stillwing.optics.question import Question
from stillwing.optics.subject import Behaviour, Range, Subject

__all__ = ["Expected", "expected_frames", "one_sharp_chance", "quantiles"]

Reals = NDArray[np.float64]
OF_SPEED, OF_PANNING, OF_FOCUS, OF_TIME, OF_ANGLE = 10, 8, 10, 10, 6
"""Equally likely values that stand for a range; with three for each, half as many again were told where few are sharp
(tests/optics/test_expected.py draws them at random)."""
MOMENTS = 48
"""Of a launch, evenly spread: the burst begins at any phase of it."""
TAIL = 1.6449
"""The 95th percentile of a normal distribution, in standard deviations."""
LONGEST_EVENT_FRAMES = 3000
ALIKE_S = 0.1
"""Frames closer in time than this are sharp or blurred together: focus is corrected about ten times a second
(estimate)."""
LAUNCHES = (Behaviour.TAKE_OFF, Behaviour.LANDING)


@dataclass(frozen=True, slots=True)
class Expected:
    """Frames of one event: the mean, and the 10th and 90th percentile over occasions, not over one's luck."""

    n_frames: Range
    sharp_share: Range
    sharp_frames: Range
    wings_sharp_share: float
    """Share of the frames that catches the wing tips slow enough to be sharp."""
    one_sharp_chance: float
    """Chance that an event gives at least one sharp frame, frames within `ALIKE_S` of each other counting as one."""


@dataclass(frozen=True, slots=True)
class _Occasions:
    """One row for each combination of what stays through an event but differs between events, (k,), equally likely."""

    speed_m_s: Reals
    focus_error_mm: Reals
    event_s: Reals
    angle_deg: Reals


def expected_frames(
    question: Question, subject: Subject, frames_per_s: float, f_number: float, exposure_s: float
) -> Expected:
    """Return how many frames of one event are sharp on the animal's sharpest part, for one question.

    Parameters
    ----------
    question : Question
        One question, (1,).
    subject : Subject
        Its ranges are what varies.
    frames_per_s : float
        Of the burst.
    f_number, exposure_s : float
        The setting.

    Returns
    -------
    Expected
        Means and percentiles over occasions.

    Notes
    -----
    A frame is sharp where the blur that `stillwing.frames.blur` would measure, that of the sharpest fifth of the body,
    stays within the limit of the output. The offset from the focal plane is normal with the focus error of the
    occasion; in a take-off or landing the way flown towards or away from the lens is added to it. In a hover, a pass
    and on a perch the speed differs from frame to frame; in a take-off or landing from occasion to occasion.
    """
    n_frames, n_sharp, none = _events(question, subject, frames_per_s, f_number, exposure_s)
    share = n_sharp / np.where(n_frames > 0, n_frames, 1.0)
    wings = _wings(question, _reach(question, subject, f_number), exposure_s)
    return Expected(_spread(n_frames), _spread(share), _spread(n_sharp), wings, float(1 - none.mean()))


def one_sharp_chance(
    question: Question, subject: Subject, frames_per_s: float, f_number: float, exposure_s: float
) -> float:
    """Return the chance alone that one event gives at least one sharp frame: `Expected.one_sharp_chance`.

    Its parameters are those of `expected_frames`, which tells much more and takes twice as long.
    """
    return float(1 - _events(question, subject, frames_per_s, f_number, exposure_s)[2].mean())


def quantiles(of: Range, at: tuple[float, ...]) -> Reals:
    """Return quantiles of a figure: log-normal on either side of its median, or normal where it may be 0.

    Examples
    --------
    >>> quantiles(Range(1.0, 2.0, 8.0), (0.05, 0.5, 0.95)).round(3).tolist()
    [1.0, 2.0, 8.0]
    """
    z = np.asarray(ndtri(np.asarray(at)), np.float64) / TAIL
    below = z < 0
    if of.low > 0:
        return np.asarray(of.likely * np.where(below, of.likely / of.low, of.high / of.likely) ** z, np.float64)
    return np.asarray(
        np.maximum(of.likely + z * np.where(below, of.likely - of.low, of.high - of.likely), 0), np.float64
    )


def _values(of: Range, count: int) -> Reals:
    """Return equally likely values of a figure, each at the middle of its part; one alone where it does not vary."""
    if of.low == of.high:
        return np.array([of.likely], np.float64)
    return quantiles(of, tuple((k + 0.5) / count for k in range(count)))


def _occasions(subject: Subject) -> _Occasions:
    speeds, angles = np.zeros(1), np.array([subject.angle_deg])
    if subject.behaviour in LAUNCHES:
        speeds = _values(subject.speed_m_s, OF_SPEED)
        # Nobody knows which way it will leave: the angle is half to twice the likely one.
        turns = _values(Range(subject.angle_deg / 2, subject.angle_deg, 2 * subject.angle_deg), OF_ANGLE)
        angles = np.minimum(turns, 90.0)
    rows = itertools.product(
        speeds, _values(subject.focus_error_mm, OF_FOCUS), _values(subject.event_s, OF_TIME), angles
    )
    return _Occasions(*np.array(list(rows), np.float64).T)


def _events(
    question: Question, subject: Subject, frames_per_s: float, f_number: float, exposure_s: float
) -> tuple[Reals, Reals, Reals]:
    """Return for each occasion the frames of an event, the sharp ones, and the chance that none is, (k,) each."""
    ways, body = _occasions(subject), _reach(question, subject, f_number)
    if subject.behaviour in LAUNCHES:
        return _launched(question, subject, ways, frames_per_s, body, exposure_s)
    n_frames = np.clip(frames_per_s * ways.event_s, 1, LONGEST_EVENT_FRAMES)
    speeds = np.outer(_values(subject.speed_m_s, OF_SPEED), _values(subject.panning_left, OF_PANNING)).ravel()
    reach = body.within(_image_speed(question, speeds) * exposure_s)
    chance = _within(0.0, reach[None, :], ways.focus_error_mm[:, None]).mean(1)
    return n_frames, n_frames * chance, (1 - chance) ** _n_apart(n_frames, frames_per_s)


@dataclass(frozen=True, slots=True)
class _Reach:
    """How far from the focal plane the body's middle may lie, given the motion in the frame."""

    limit_variance: float
    """What the limit leaves for motion and defocus. [px^2]"""
    px_per_mm: float
    """Diameter of the disc for each mm off the plane. [px/mm]"""
    half_depth_mm: float

    def within(self, motion_px: Reals) -> Reals:
        """Return the largest offset for motion over ``motion_px``; below 0 where no frame can be sharp. [mm]"""
        left = self.limit_variance - motion_px**2 / 24
        distance = np.sqrt(16 * np.maximum(left, 0)) / self.px_per_mm
        inside = SHARPEST_SHARE * self.half_depth_mm
        reach = distance + (1 - 2 * SHARPEST_SHARE) * self.half_depth_mm
        return np.where((left > 0) & (distance >= inside), reach, -1.0)


def _reach(question: Question, subject: Subject, f_number: float) -> _Reach:
    q = question
    n = np.array([[f_number]])
    floor = float(camera_variance(q)[0] + diffraction_variance(q, n)[0, 0])
    limit = float(q.blur_limit_px[0]) ** 2 - floor
    return _Reach(limit, float(q.disc_px_per_mm[0]) / f_number, subject.half_depth_mm)


def _image_speed(question: Question, speed_m_s: Reals) -> Reals:
    """Return speed on the sensor with the camera's shake. [px/s]"""
    own = speed_m_s * 1000 * question.magnification[0]
    return np.asarray(np.hypot(own, question.shake_mm_s[0]) / question.pitch_mm[0], np.float64)


def _within(offset: Reals | float, reach: Reals, sd: Reals) -> Reals:
    """Return the chance that a normal error about ``offset`` stays within ``reach``."""
    spread = np.maximum(sd, 1e-9)
    inside = ndtr((reach - offset) / spread) - ndtr((-reach - offset) / spread)
    return np.asarray(np.where(reach > 0, inside, 0.0), np.float64)


def _launched(
    question: Question, subject: Subject, ways: _Occasions, frames_per_s: float, body: _Reach, exposure_s: float
) -> tuple[Reals, Reals, Reals]:
    """Return frames, sharp frames and the chance of none, from the perch to the frame's edge or the reverse."""
    q = question
    field_mm = float((q.frame_width_px * q.pitch_mm / q.magnification)[0])
    turned = np.radians(ways.angle_deg)
    top, pull = ways.speed_m_s * 1000, subject.acceleration_m_s2 * 1000
    # It starts at the frame's middle and is gone when its own middle has passed the edge.
    leaves_at = field_mm / 2 / np.maximum(np.cos(turned), 1e-6)
    # One that comes straight at the lens never passes the edge: the event's own length ends it.
    lasts = np.minimum(_time_for(leaves_at, top, pull), ways.event_s)
    n_frames = np.minimum(lasts * frames_per_s, LONGEST_EVENT_FRAMES)
    t = (np.arange(MOMENTS)[:, None] + 0.5) / MOMENTS * lasts
    gathering = np.minimum(t, top / pull)
    way = pull * gathering**2 / 2 + top * (t - gathering)
    moving = _image_speed(q, pull * gathering / 1000 * np.cos(turned))
    chance = _within(way * np.sin(turned), body.within(moving * exposure_s), ways.focus_error_mm)
    none = np.prod(1 - chance, axis=0) ** (_n_apart(n_frames, frames_per_s) / MOMENTS)
    return n_frames, n_frames * chance.mean(0), none


def _n_apart(n_frames: Reals, frames_per_s: float) -> Reals:
    """Return how many of the frames of an event are far enough apart to be sharp or blurred each by itself."""
    return np.asarray(
        np.maximum(n_frames * min(1.0, 1 / (frames_per_s * ALIKE_S)), np.minimum(n_frames, 1)), np.float64
    )


def _time_for(way_mm: Reals, top: Reals, pull: float) -> Reals:
    """Return the time to fly ``way_mm`` from rest. [s]"""
    at_top = top**2 / (2 * pull)
    return np.asarray(
        np.where(way_mm < at_top, np.sqrt(2 * way_mm / pull), way_mm / top + top / (2 * pull)), np.float64
    )


def _wings(question: Question, body: _Reach, exposure_s: float) -> float:
    """Return the share of the stroke during which the tips blur no more than the limit."""
    peak = float(question.wing_tip_mm_s[0] / question.pitch_mm[0])
    if peak == 0:
        return 1.0
    slow_enough = np.sqrt(24 * max(body.limit_variance, 0.0)) / exposure_s
    return float(share_of_stroke_below(slow_enough, peak))


def _spread(values: Reals) -> Range:
    # Each value stands at the middle of its part of all occasions.
    low, high = np.percentile(values, [10, 90], method="hazen")
    mean = float(values.mean())
    return Range(float(min(low, mean)), mean, float(max(high, mean)))
