"""Advice against hand-made flights: reach by hand, angles borne against drawn passes, causes of softness, refusals."""

import math
from dataclasses import replace

import numpy as np
import pytest

from flight.flown import F_NUMBER, FOCAL_MM, FOCUS_MM, MAGNIFICATION, PITCH_MM, SENSOR_M, kit, passing
from stillwing.flight.attempt import Attempt
from stillwing.flight.defocus import plane_at
from stillwing.flight.launchadvice import tolerated_angle
from stillwing.optics.lookback import Reaction
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import Behaviour, Range, Subject
from stillwing.review.blursplit import Cause
from stillwing.review.burstflight import flight_of
from stillwing.review.flightadvice import Verdict, flight_advice, focus_reach_mm

from .flownbursts import EXPOSURE_S, KIT, stored

LIMIT_PX = 1.6
INSTANT = Reaction(1e-9, 1e-9, 1e-9)
PLANE = plane_at(kit(), FOCUS_MM, FOCAL_MM)


@pytest.fixture(scope="module")
def slanting(tmp_path_factory):
    """A pass at 1 m/s that leaves the focal plane at 25 degrees."""
    trace, tags = stored(tmp_path_factory.mktemp("slanting"), passing(speed_m_s=1.0, angle_deg=25.0))
    return flight_of(trace, tags, KIT)


@pytest.fixture(scope="module")
def along(tmp_path_factory):
    """One along the plane, half as fast."""
    trace, tags = stored(tmp_path_factory.mktemp("along"), passing(speed_m_s=0.5, angle_deg=1.0, n=12, crosses_at=6))
    return flight_of(trace, tags, KIT)


@pytest.fixture(scope="module")
def slow(tmp_path_factory):
    """One at 0.25 m/s that leaves the plane at 25 degrees: by 6 mm from frame to frame."""
    trace, tags = stored(tmp_path_factory.mktemp("slow"), passing(speed_m_s=0.25, angle_deg=25.0))
    return flight_of(trace, tags, KIT)


def with_blur(told, minor_px, major_px, direction_deg=10.0, wide=1.1):
    """The same burst, each frame blurred alike."""
    blur = math.hypot(minor_px, major_px) / math.sqrt(2)
    spread = {"minor_px": minor_px, "major_px": major_px, "direction_deg": direction_deg}
    ends = {"blur_low_px": blur / wide, "blur_high_px": blur * wide}
    return replace(told, seen=tuple(replace(one, **spread, **ends) for one in told.seen))


def test_reach_is_where_a_disc_by_hand_is_as_large_as_the_limit():
    half_depth, limit_px = 5.0, 2.0
    reach = focus_reach_mm(kit(), PLANE, half_depth, limit_px, F_NUMBER)
    # 6 tenths of half the body's depth lie between its middle and the end of its sharpest part.
    off = reach - 0.6 * half_depth
    disc_px = FOCAL_MM / F_NUMBER * MAGNIFICATION * off / FOCUS_MM / PITCH_MM
    working = F_NUMBER * (1 + MAGNIFICATION)
    floor = 1 / 12 + 0.04 + 0.25**2 + (math.sqrt(2) / math.pi * 0.00055 * working / PITCH_MM) ** 2
    assert disc_px**2 / 16 + floor == pytest.approx(limit_px**2, rel=1e-3)


def test_reach_grows_with_the_f_number_and_ends_where_diffraction_is_all():
    reaches = [focus_reach_mm(kit(), PLANE, 5.0, 1.0, n) for n in (4.0, 5.6, 8.0)]
    assert reaches == sorted(reaches)
    assert focus_reach_mm(kit(), PLANE, 5.0, 0.5, 16.0) == 0.0


def test_a_slanting_flight_is_told_to_stand_further_round(slanting):
    advice = flight_advice(slanting, LIMIT_PX).angle
    assert advice.verdict is Verdict.SURE
    assert advice.flown_deg.low <= 25 <= advice.flown_deg.high
    # Half of 29/18 s at 1 m/s is 806 mm of way; from reach to reach on both sides at the borne angle.
    reach = focus_reach_mm(kit(), PLANE, slanting.flight.half_depth_mm, LIMIT_PX, F_NUMBER)
    by_hand = math.degrees(math.asin(2 * reach / 806))
    assert advice.borne_deg.low <= by_hand <= advice.borne_deg.high
    assert advice.further_round_deg == pytest.approx(advice.flown_deg.likely - advice.borne_deg.likely)
    # At the borne angle half of the burst is in focus; as flown, what lies within reach.
    in_focus = np.sum(slanting.flight.away_mm.likely <= reach)
    assert advice.won == pytest.approx(len(slanting.seen) / 2 - in_focus, abs=3.5)


def test_the_borne_angle_leaves_half_of_the_frames_in_focus(slanting):
    told = flight_advice(slanting, LIMIT_PX).angle.borne_deg
    reach = focus_reach_mm(kit(), PLANE, slanting.flight.half_depth_mm, LIMIT_PX, F_NUMBER)
    speed = slanting.flight.absolute.mean_speed_m_s.likely
    at = np.linspace(-29 / 36, 29 / 36, 2001)
    offsets = 1000 * speed * math.sin(math.radians(told.likely)) * at
    assert np.mean(np.abs(offsets) <= reach) == pytest.approx(0.5, abs=0.01)


def test_the_borne_angle_is_that_of_launches_passes_and_hovers_by_chance(slanting):
    # A point that passes evenly, followed perfectly and never missed, over as long as the burst lasted.
    speed, lasted_s = slanting.flight.absolute.mean_speed_m_s.likely, float(slanting.flight.times_s[-1])
    nothing = Range(0.0, 0.0, 0.0)
    point = Subject(
        words="point",
        behaviour=Behaviour.PASS,
        length_mm=1e-3,
        span_mm=1e-3,
        thickness_mm=1e-3,
        extent_mm=75,
        speed_m_s=Range(speed, speed, speed),
        panning_left=nothing,
        focus_error_mm=nothing,
        wingbeat_hz=Range(30.0, 30.0, 30.0),
        stroke_deg=Range(60.0, 60.0, 60.0),
        event_s=Range(9.0, 9.0, 9.0),
    )
    question = pose(KIT, point, Wish(15.0, SENSOR_M, shown_width_px=500.0, shake_deg_s=0.0), SENSOR_M)
    attempt = Attempt(question, point, 60.0, F_NUMBER, 1e-6, burst_s=lasted_s, lead_s=lasted_s / 2, reaction=INSTANT)
    flat = replace(slanting, flight=replace(slanting.flight, half_depth_mm=0.0))
    borne = flight_advice(flat, float(question.blur_limit_px[0])).angle.borne_deg
    # There the angle is drawn from half to twice the likely one.
    assert borne.likely == pytest.approx(tolerated_angle(attempt), rel=0.15)


def test_flight_along_the_plane_is_borne_and_where_the_speed_is_open_nothing_is_sure(along, slanting):
    assert flight_advice(along, 3.0).angle.verdict is Verdict.NO
    wide = replace(slanting.flight.absolute, mean_speed_m_s=Range(0.2, 1.0, 5.0))
    open_ = replace(slanting, flight=replace(slanting.flight, absolute=wide))
    assert flight_advice(open_, LIMIT_PX).angle.verdict is Verdict.OPEN


def test_closing_the_lens_gains_frames_of_a_slow_flight(slow):
    advice = flight_advice(slow, LIMIT_PX).f_number
    assert advice.verdict is Verdict.SURE
    assert advice.f_number > F_NUMBER
    assert advice.gain.low >= 1
    # Counted anew at the f-number that is named.
    reach = focus_reach_mm(kit(), PLANE, slow.flight.half_depth_mm, LIMIT_PX, advice.f_number)
    likely = slow.flight.away_mm.likely
    assert advice.gain.likely + advice.n_now.likely == np.sum(likely <= reach)


def test_where_all_is_in_focus_closing_the_lens_gains_nothing(along):
    assert flight_advice(along, 3.0).f_number is None


def test_causes_are_what_would_have_to_go_for_a_sharp_frame(along):
    floor = math.sqrt(PLANE.floor_variance)
    cases = (
        ((floor, 6.0, 10.0), Cause.MOTION),
        ((3.0, 3.05, math.nan), Cause.FOCUS),
        ((1.5, 1.7, 10.0), Cause.EITHER),
        ((4.0, 9.0, 10.0), Cause.BOTH),
    )
    for (minor, major, direction), cause in cases:
        limit_px = 1.55 if cause is Cause.EITHER else LIMIT_PX
        softness = flight_advice(with_blur(along, minor, major, direction, wide=1.02), limit_px).softness
        assert softness.causes[cause] == softness.n_soft == len(along.seen), cause


def test_sharp_open_and_soft_frames_are_told_by_their_interval(along):
    for blur, counts in ((1.0, (12, 0, 0)), (1.6, (0, 12, 0)), (3.0, (0, 0, 12))):
        softness = flight_advice(with_blur(along, blur, blur, math.nan), LIMIT_PX).softness
        assert (softness.n_sharp, softness.n_open, softness.n_soft) == counts


def test_half_the_exposure_makes_half_the_motion(along):
    minor, moved_px = 0.8, 9.0
    blurred = with_blur(along, minor, math.sqrt(minor**2 + moved_px**2 / 12), wide=1.01)
    advice = flight_advice(blurred, 1.3).exposure
    assert advice.n_frames == 12
    shorter = advice.exposure_s / EXPOSURE_S
    by_hand = math.sqrt(minor**2 + (moved_px * shorter) ** 2 / 24)
    assert advice.then_px.likely == pytest.approx(by_hand)
    assert by_hand <= 1.3 < math.sqrt(minor**2 + (moved_px * shorter * 2 ** (1 / 3)) ** 2 / 24)
    assert advice.verdict is Verdict.SURE
    # An engraved step: a whole number of thirds of a stop.
    assert 3 * math.log2(advice.exposure_s) == pytest.approx(round(3 * math.log2(advice.exposure_s)))


def test_a_wide_interval_of_the_blur_leaves_the_exposure_open(along):
    blurred = with_blur(along, 1.0, 3.5, wide=1.5)
    assert flight_advice(blurred, 1.2).exposure.verdict is Verdict.OPEN


def test_softness_by_focus_asks_for_no_shorter_exposure(along):
    assert flight_advice(with_blur(along, 3.0, 3.0, math.nan), LIMIT_PX).exposure is None


def test_no_flight_gives_no_advice(along):
    assert flight_advice(replace(along, flight=None), LIMIT_PX) is None


def test_boxes_and_background_at_odds_give_advice_on_neither_angle_nor_f_number(along, slow):
    assert flight_advice(slow, LIMIT_PX).f_number is not None
    for told in (along, slow):
        wild = replace(told.flight.absolute, top_acceleration_m_s2=Range(60.0, 95.0, 140.0))
        odd = replace(told, flight=replace(told.flight, absolute=wild))
        advice = flight_advice(odd, LIMIT_PX)
        assert odd.is_at_odds
        assert advice.angle is None and advice.f_number is None
        # What the blur tells by itself stays.
        assert advice.softness == flight_advice(told, LIMIT_PX).softness
