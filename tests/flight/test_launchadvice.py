"""Advice on attempts: the angle borne, the buffer, the plane set beforehand, the moment to press."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from optics.posed import DAMSELFLY, GULL, KIT, WISH
from stillwing.errors import InputError
from stillwing.flight.attempt import Attempt
from stillwing.flight.launch import attempted
from stillwing.flight.launchadvice import best_lead, best_pre_focus, needed_look_back, tolerated_angle
from stillwing.optics.expected import quantiles
from stillwing.optics.lookback import Reaction, buffer_for, reaction_at
from stillwing.optics.prediction import camera_variance, diffraction_variance
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import Behaviour, Range, Subject


def launch(distance_m=2.0, **more):
    given = {"frames_per_s": 50.0, "f_number": 8.0, "exposure_s": 1 / 8000, "burst_s": 0.5, "look_back_s": 0.5}
    return Attempt(pose(KIT, DAMSELFLY, WISH, distance_m), DAMSELFLY, **{**given, **more})


FOCUSED = replace(DAMSELFLY, focus_error_mm=Range(0.5, 1.0, 2.0))
"""On the perch the focus hardly misses: the angle alone decides."""


def coming(**more):
    """A gull that comes in through the plane at an angle that matters."""
    gull = replace(GULL, angle_deg=40.0, focus_error_mm=Range(5.0, 10.0, 20.0))
    return Attempt(pose(KIT, gull, WISH, 20.0), gull, 18.0, 8.0, 1 / 2500, burst_s=0.3, **more)


def test_a_smaller_opening_bears_a_larger_angle():
    wide, narrow = (tolerated_angle(replace(launch(f_number=n), subject=FOCUSED), 0.7) for n in (5.6, 8.0))
    assert 0 < wide < narrow < 90


def test_at_the_tolerated_angle_the_asked_share_is_left():
    attempt = replace(launch(), subject=FOCUSED)
    angle = tolerated_angle(attempt, 0.7)
    turned = [
        attempted(replace(attempt, subject=replace(FOCUSED, angle_deg=a))).frames_in_focus.mean for a in (0.0, angle)
    ]
    assert turned[1] / turned[0] == pytest.approx(0.7, abs=0.05)


INSTANT = Reaction(1e-9, 1e-9, 1e-9)
NOTHING = Range(0.0, 0.0, 0.0)


def even_pass(speed_m_s, lasted_s):
    """A point that passes evenly, followed perfectly and never missed, over as long as the burst lasts."""
    point = Subject(
        "point", Behaviour.PASS, length_mm=1e-3, span_mm=1e-3, thickness_mm=1e-3, extent_mm=1e-3,
        speed_m_s=Range(speed_m_s, speed_m_s, speed_m_s), panning_left=NOTHING, focus_error_mm=NOTHING,
        wingbeat_hz=Range(30.0, 30.0, 30.0), stroke_deg=Range(60.0, 60.0, 60.0), event_s=Range(9.0, 9.0, 9.0),
    )  # fmt: skip
    question = pose(KIT, point, Wish(15.0, 3.0, shown_width_px=1200.0, shake_deg_s=0.0), 3.0)
    return Attempt(
        question, point, 60.0, 6.7, 1e-6, burst_s=lasted_s, lead_s=lasted_s / 2, reaction=INSTANT, release_lag_s=0.0
    )


@pytest.mark.parametrize("angle_deg", [0.5, 1.0, 2.5, 5.0, 12.0])
def test_the_angle_borne_by_an_even_pass_is_that_of_the_closed_form(angle_deg):
    attempt = even_pass(1.0, 1.0)
    q = attempt.question
    left = q.blur_limit_px[0] ** 2 - camera_variance(q)[0] - diffraction_variance(q, np.array([[6.7]]))[0, 0]
    reach_m = 4 * math.sqrt(left) * 6.7 / q.disc_px_per_mm[0] / 1000
    # docs/flight.md: in focus over 2 reach / (v sin) seconds, and that is to be half of the burst.
    speed_m_s = 2 * reach_m / (0.5 * math.sin(math.radians(angle_deg)))
    told = tolerated_angle(even_pass(speed_m_s, 1.0))
    factors = quantiles(Range(0.5, 1.0, 2.0), tuple((k + 0.5) / 500 for k in range(500)))

    def half(likely_deg):
        """The closed form over angles from half to twice the likely one, which is what is drawn."""
        inside = 2 * reach_m / (speed_m_s * np.sin(np.radians(factors * likely_deg)))
        return float(np.minimum(inside, 1.0).mean()) - 0.5

    assert told == pytest.approx(brentq(half, 0.01, 45.0), rel=0.03)
    # The spread of the angles changes little: the plain formula itself holds within a tenth.
    assert told == pytest.approx(angle_deg, rel=0.1)


def test_the_needed_buffer_is_about_what_reaction_times_ask_for():
    needed = needed_look_back(launch())
    # Most launches are lost without the first tenths: between the mean reaction and nearly all of them.
    assert buffer_for(0.05, reaction_at()) <= needed.value <= buffer_for(0.99, reaction_at())
    assert needed.keeper_chance >= 0.9 * attempted(launch(look_back_s=1.0)).keeper_chance


def test_a_plane_set_before_the_perch_pays_where_the_animal_always_comes_nearer():
    attempt = replace(launch(towards_chance=1.0), subject=replace(FOCUSED, angle_deg=60.0))
    towards, away = best_pre_focus(attempt), best_pre_focus(replace(attempt, towards_chance=0.0))
    assert towards.value > 0 > away.value
    assert towards.frames_sharp > attempted(attempt).frames_sharp.mean


def test_with_no_angle_and_a_buffer_the_perch_itself_is_best():
    along = replace(DAMSELFLY, angle_deg=0.0)
    attempt = replace(launch(), subject=along)
    assert best_pre_focus(attempt, most_mm=60.0).value == pytest.approx(0.0, abs=6.0)


def test_a_pass_is_best_begun_before_it_reaches_the_plane():
    lead = best_lead(coming())
    plain = attempted(coming())
    assert 0 < lead.value <= 0.6
    assert lead.frames_sharp > plain.frames_sharp.mean


def test_advice_that_does_not_apply_is_refused():
    with pytest.raises(InputError, match="for take-offs"):
        needed_look_back(coming())
    with pytest.raises(InputError, match="for passes"):
        best_lead(launch())
    with pytest.raises(InputError, match="between 0 and 1"):
        tolerated_angle(launch(), 1.0)


def test_an_attempt_without_a_frame_in_time_bears_no_angle():
    gone = replace(DAMSELFLY, speed_m_s=Range(20.0, 25.0, 30.0), acceleration_m_s2=200.0)
    assert tolerated_angle(replace(launch(look_back_s=0.0), subject=gone)) == 0.0
