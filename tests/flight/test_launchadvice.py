"""Advice on attempts: the angle borne, the buffer, the plane set beforehand, the moment to press."""

from dataclasses import replace

import pytest

from optics.posed import DAMSELFLY, GULL, KIT, WISH
from stillwing.errors import InputError
from stillwing.flight.attempt import Attempt
from stillwing.flight.launch import attempted
from stillwing.flight.launchadvice import best_lead, best_pre_focus, needed_look_back, tolerated_angle
from stillwing.optics.lookback import buffer_for, reaction_at
from stillwing.optics.question import pose
from stillwing.optics.subject import Range


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
