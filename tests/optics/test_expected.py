"""Frames to expect are those counted over thousands of events drawn at random."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import lognorm, norm

from stillwing.optics.expected import expected_frames, quantiles
from stillwing.optics.prediction import camera_variance, diffraction_variance
from stillwing.optics.question import pose
from stillwing.optics.subject import STILL, Behaviour, Range

from .posed import DAMSELFLY, GULL, HAWKER, KIT, WISH, asked, log_floats

TAIL = 1.6448536
EVENTS = 2500
PERCHED = replace(HAWKER, behaviour=Behaviour.PERCH, event_s=Range(1, 1, 1), speed_m_s=Range(0.0, 0.01, 0.1))
LANDING = replace(DAMSELFLY, behaviour=Behaviour.LANDING)


def drawn(of, rng, n):
    """Draw from a range: a log-normal or normal half on either side of its median."""
    z = rng.normal(size=n) / TAIL
    if of.low > 0:
        return of.likely * np.where(z < 0, of.likely / of.low, of.high / of.likely) ** z
    return np.maximum(of.likely + z * np.where(z < 0, of.likely - of.low, of.high - of.likely), 0)


def is_sharp(q, subject, f_number, exposure_s, across_mm_s, offset_mm):
    """Tell, frame by frame, whether blur on the sharpest fifth of the body stays within the limit."""
    m, pitch = float(q.magnification[0]), float(q.pitch_mm[0])
    disc_per_mm = float(q.focal_length_mm[0]) / f_number * m / float(q.focus_distance_mm[0]) / pitch
    same = float(camera_variance(q)[0] + diffraction_variance(q, np.array([[f_number]]))[0, 0])
    half = subject.half_depth_mm
    away = np.maximum(0.2 * half, np.abs(offset_mm) - 0.6 * half)
    moved = np.hypot(across_mm_s * m, q.shake_mm_s[0]) * exposure_s / pitch
    return np.sqrt(same + moved**2 / 24 + (disc_per_mm * away / 4) ** 2) <= q.blur_limit_px[0]


def launch(q, subject, rng, times, top_m_s):
    """Return for moments after the start which are in the frame, the speed across and the way to or fro."""
    angle = min(drawn(Range(subject.angle_deg / 2, subject.angle_deg, 2 * subject.angle_deg), rng, 1)[0], 90.0)
    turned, top, pull = math.radians(angle), top_m_s * 1000, subject.acceleration_m_s2 * 1000
    speed = np.minimum(pull * times, top)
    # Gathering speed until top / pull, then even.
    way = np.where(times < top / pull, pull * times**2 / 2, top * times - top**2 / 2 / pull)
    half_field = float((q.frame_width_px * q.pitch_mm / q.magnification)[0]) / 2
    return way * math.cos(turned) <= half_field, speed * math.cos(turned), way * math.sin(turned)


def counted(q, subject, rate, f_number, exposure_s):
    """Return frames and sharp frames of each of many events, the burst beginning at any phase."""
    rng = np.random.default_rng(5)
    frames, sharp = np.zeros(EVENTS), np.zeros(EVENTS)
    for event in range(EVENTS):
        sd, lasts = drawn(subject.focus_error_mm, rng, 1)[0], drawn(subject.event_s, rng, 1)[0]
        times = np.arange(rng.uniform(0, 1 / rate), lasts, 1 / rate)
        if subject.behaviour in (Behaviour.TAKE_OFF, Behaviour.LANDING):
            top = drawn(subject.speed_m_s, rng, 1)[0]
            inside, across, towards = launch(q, subject, rng, times, top)
            across, towards = across[inside], towards[inside]
        else:
            across = drawn(subject.speed_m_s, rng, len(times)) * drawn(subject.panning_left, rng, len(times)) * 1000
            towards = np.zeros(len(times))
        offset = towards + rng.normal(0, sd, len(towards))
        frames[event] = len(offset)
        sharp[event] = is_sharp(q, subject, f_number, exposure_s, across, offset).sum()
    return frames, sharp


@pytest.mark.parametrize(
    ("subject", "distance_m", "rate", "f_number", "exposure_s"),
    [
        (HAWKER, 3.0, 18.0, 11.0, 1 / 2500),
        (HAWKER, 3.0, 18.0, 8.0, 1 / 1000),
        (GULL, 20.0, 18.0, 8.0, 1 / 2000),
        (GULL, 20.0, 18.0, 8.0, 1 / 500),
        (PERCHED, 3.0, 18.0, 11.0, 1 / 200),
        (DAMSELFLY, 2.0, 50.0, 8.0, 1 / 2500),
        (DAMSELFLY, 2.0, 18.0, 8.0, 1 / 2500),
        (DAMSELFLY, 1.3, 5.0, 8.0, 1 / 2500),
        (LANDING, 3.0, 30.0, 11.0, 1 / 4000),
        (replace(LANDING, angle_deg=60.0), 2.0, 50.0, 8.0, 1 / 2500),
    ],
    ids=lambda value: str(getattr(value, "behaviour", value)),
)
def test_frames_are_those_of_events_drawn_at_random(subject, distance_m, rate, f_number, exposure_s):
    q = pose(KIT, subject, WISH, distance_m)
    told = expected_frames(q, subject, rate, f_number, exposure_s)
    frames, sharp = counted(q, subject, rate, f_number, exposure_s)
    for what, of in ((told.n_frames, frames), (told.sharp_frames, sharp)):
        by_chance = 4 * of.std() / math.sqrt(EVENTS)
        # A few values stand for each range: 6 % at most.
        assert what.likely == pytest.approx(of.mean(), abs=by_chance + 0.06 * of.mean())
        assert what.low <= what.likely <= what.high


def test_the_spread_over_occasions_is_that_of_events_long_enough_not_to_matter_by_luck():
    long = replace(HAWKER, event_s=Range(10, 30, 90))
    q = pose(KIT, long, WISH, 3.0)
    told = expected_frames(q, long, 18.0, 11.0, 1 / 2500).n_frames
    z = float(norm.ppf(0.9)) / TAIL
    assert told.low == pytest.approx(18 * 30 / 3**z, rel=0.1)
    assert told.high == pytest.approx(18 * 30 * 3**z, rel=0.1)


# Quantiles


@given(log_floats(0.01, 100), st.floats(1.05, 10), st.floats(0.01, 0.99))
def test_a_range_even_in_its_logarithm_is_log_normal(median, spread, at):
    of = Range(median / spread, median, median * spread)
    told = float(quantiles(of, (at,))[0])
    assert told == pytest.approx(float(lognorm.ppf(at, math.log(spread) / TAIL, scale=median)), rel=1e-4)


@given(st.floats(0.1, 100), st.floats(0.01, 0.99))
def test_a_range_from_nothing_on_is_normal_and_never_below_nothing(median, at):
    told = float(quantiles(Range(0.0, median, 2 * median), (at,))[0])
    assert told == pytest.approx(max(float(norm.ppf(at, median, median / TAIL)), 0), abs=1e-4 * median)


@given(st.just(0.0) | st.floats(0.001, 10), st.floats(0, 10), st.floats(0, 10))
def test_a_range_passes_through_its_own_percentiles_and_grows(low, more, most):
    of = Range(low, low + more, low + more + most)
    assert quantiles(of, (0.05, 0.5, 0.95)) == pytest.approx([*of], rel=1e-3, abs=1e-3)
    told = quantiles(of, tuple(np.linspace(0.01, 0.99, 25)))
    assert (np.diff(told) >= -1e-9).all()
    assert np.isfinite(told).all()


# More is more


def share(subject=GULL, distance_m=20.0, f_number=8.0, exposure_s=1 / 2000, **wish):
    q = pose(KIT, subject, replace(WISH, **wish), distance_m)
    return expected_frames(q, subject, 18.0, f_number, exposure_s).sharp_share.likely


@settings(max_examples=30)
@given(st.sampled_from([GULL, HAWKER, DAMSELFLY, LANDING]), log_floats(1 / 8000, 1 / 50), st.floats(1, 4))
def test_a_shorter_exposure_and_a_smaller_picture_never_have_fewer_sharp(subject, exposure, less):
    before = share(subject, 5.0, exposure_s=exposure)
    assert share(subject, 5.0, exposure_s=exposure / less) >= before - 1e-12
    assert share(subject, 5.0, exposure_s=exposure, shown_width_px=2835.0 / less) >= before - 1e-12


def test_a_wing_that_does_not_beat_is_sharp_in_all_frames():
    q = pose(KIT, replace(HAWKER, wingbeat_hz=STILL), WISH, 3.0)
    assert expected_frames(q, HAWKER, 18.0, 8.0, 1 / 2000).wings_sharp_share == 1.0


def test_wing_tips_are_sharp_near_the_turn_of_the_stroke():
    q = pose(KIT, HAWKER, WISH, 3.0)
    exposure = 1 / 2000
    told = expected_frames(q, HAWKER, 18.0, 8.0, exposure).wings_sharp_share
    phase = np.linspace(0, 2 * math.pi, 100_001)
    moved = np.abs(np.cos(phase)) * float(q.wing_tip_mm_s[0] / q.pitch_mm[0]) * exposure
    still = float(camera_variance(q)[0] + diffraction_variance(q, np.array([[8.0]]))[0, 0])
    assert told == pytest.approx(np.mean(np.sqrt(still + moved**2 / 24) <= q.blur_limit_px[0]), abs=1e-3)


def test_what_is_hopeless_gives_no_sharp_frame_and_what_is_easy_gives_all():
    assert share(exposure_s=1.0) == 0
    easy = replace(PERCHED, speed_m_s=STILL, focus_error_mm=Range(0.1, 0.1, 0.1))
    assert share(easy, 10.0, 11.0, 1 / 2000) == pytest.approx(1.0)


def test_frames_come_as_fast_as_the_camera_takes_them():
    q = pose(KIT, DAMSELFLY, WISH, 2.0)
    slow, fast = (expected_frames(q, DAMSELFLY, rate, 8.0, 1 / 2500) for rate in (1.0, 50.0))
    for name in ("n_frames", "sharp_frames"):
        assert getattr(fast, name).likely == pytest.approx(50 * getattr(slow, name).likely)
    assert fast.sharp_share == pytest.approx(slow.sharp_share)


def test_a_launch_lasts_until_the_animal_leaves_the_frame():
    # 10 m/s^2 from rest over half the field, then 1.5 m/s: t = sqrt(2 s / a) where it is that short.
    q = pose(KIT, DAMSELFLY, WISH, 1.3)
    even = replace(DAMSELFLY, speed_m_s=Range(90, 90, 90), angle_deg=0.0)
    half_field_m = 17.4 / 0.25 / 2 / 1000
    told = expected_frames(q, even, 50.0, 8.0, 1 / 2500).n_frames
    assert told == pytest.approx([50 * math.sqrt(2 * half_field_m / 10)] * 3)


def test_an_event_of_no_length_and_one_of_hours_are_told_without_a_warning():
    q = pose(KIT, DAMSELFLY, WISH, 2.0)
    nothing = expected_frames(q, replace(DAMSELFLY, event_s=STILL), 50.0, 8.0, 1 / 2500)
    assert (nothing.n_frames.likely, nothing.sharp_frames.likely, nothing.sharp_share.likely) == (0, 0, 0)
    hours = replace(HAWKER, event_s=Range(1e4, 1e4, 1e4))
    assert expected_frames(pose(KIT, hours, WISH, 3.0), hours, 18.0, 8.0, 1 / 2500).n_frames.high == 3000


@settings(max_examples=30, deadline=None)
@given(asked(), st.floats(2.8, 32), log_floats(1 / 32000, 1))
def test_every_figure_is_a_number_in_its_range(one, f_number, exposure_s):
    kit, subject, wish = one
    q = pose(kit, subject, wish, wish.distance_m)
    told = expected_frames(q, subject, kit.camera.frames_per_s, f_number, exposure_s)
    for of in (told.n_frames, told.sharp_share, told.sharp_frames):
        assert 0 <= of.low <= of.likely <= of.high < math.inf
    assert told.sharp_share.high <= 1 + 1e-12
    assert told.sharp_frames.likely <= told.n_frames.likely + 1e-9
    assert 0 <= told.wings_sharp_share <= 1


# At least one


def test_an_event_of_one_frame_gives_one_sharp_as_often_as_frames_are_sharp():
    short = replace(PERCHED, event_s=Range(0.01, 0.01, 0.01))
    told = expected_frames(pose(KIT, short, WISH, 3.0), short, 18.0, 5.6, 1 / 1000)
    assert 0 < told.sharp_share.likely < 1
    assert told.one_sharp_chance == pytest.approx(told.sharp_share.likely)


@pytest.mark.parametrize("rate", [5.0, 40.0])
def test_at_least_one_is_sharp_as_often_as_in_hovers_drawn_at_random(rate):
    q = pose(KIT, HAWKER, WISH, 3.0)
    rng = np.random.default_rng(8)
    # Focus errors drawn anew every tenth of a second at most; frames between share the one before.
    apart_s = max(1 / rate, 0.1)
    hits = 0
    for _ in range(EVENTS):
        sd, lasts = drawn(HAWKER.focus_error_mm, rng, 1)[0], drawn(HAWKER.event_s, rng, 1)[0]
        n = max(round(lasts / apart_s), 1)
        speed = drawn(HAWKER.speed_m_s, rng, n) * drawn(HAWKER.panning_left, rng, n) * 1000
        hits += bool(is_sharp(q, HAWKER, 8.0, 1 / 2000, speed, rng.normal(0, sd, n)).any())
    told = expected_frames(q, HAWKER, rate, 8.0, 1 / 2000).one_sharp_chance
    assert told == pytest.approx(hits / EVENTS, abs=0.03)


@settings(max_examples=25, deadline=None)
@given(asked(), st.floats(2.8, 22), log_floats(1 / 32000, 1 / 50), st.floats(2, 60))
def test_one_sharp_is_a_chance_and_no_rarer_than_a_sharp_frame(one, f_number, exposure_s, rate):
    kit, subject, wish = one
    told = expected_frames(pose(kit, subject, wish, wish.distance_m), subject, rate, f_number, exposure_s)
    assert 0 <= told.one_sharp_chance <= 1
    if told.n_frames.low >= 1:
        assert told.one_sharp_chance >= told.sharp_share.low * (1 - 1e-9)
