"""Attempts by chance: closed forms where there are some, orderings, and rules of thumb."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from optics.posed import DAMSELFLY, HAWKER, KIT, WISH
from stillwing.errors import InputError, OutsideModel
from stillwing.flight.attempt import Attempt
from stillwing.flight.flown import fly
from stillwing.flight.launch import attempted, attempts_for, held, time_to_react
from stillwing.optics.expected import expected_frames
from stillwing.optics.lookback import Reaction, chance_of_lead, reaction_at
from stillwing.optics.prediction import camera_variance, diffraction_variance
from stillwing.optics.question import Wish, pose
from stillwing.optics.subject import Behaviour, Range, Subject

INSTANT = Reaction(1e-9, 1e-9, 1e-9)


def once(value):
    return Range(value, value, value)


def even_pass(**more):
    """A point that passes through the focal plane evenly, followed perfectly, focus never missed."""
    given = {
        "words": "point",
        "behaviour": Behaviour.PASS,
        "length_mm": 1e-3,
        "span_mm": 1e-3,
        "thickness_mm": 1e-3,
        "extent_mm": 75,
        "speed_m_s": once(0.5),
        "panning_left": once(0.0),
        "focus_error_mm": once(0.0),
        "wingbeat_hz": once(30.0),
        "stroke_deg": once(60.0),
        "event_s": once(4.0),
        "angle_deg": 45.0,
    }
    return Subject(**{**given, **more})


def asked(subject, distance_m=3.0, shown_width_px=2835.0):
    return pose(KIT, subject, Wish(15.0, distance_m, shown_width_px=shown_width_px, shake_deg_s=0.0), distance_m)


def depth_of_field_mm(question, f_number):
    """Both ways together: where the disc with what else blurs reaches the limit."""
    own = float(camera_variance(question)[0] + diffraction_variance(question, np.array([[f_number]]))[0, 0])
    disc_px = 4 * math.sqrt(float(question.blur_limit_px[0]) ** 2 - own)
    return 2 * disc_px * f_number / float(question.disc_px_per_mm[0])


@pytest.mark.parametrize(("f_number", "rate"), [(6.7, 120.0), (11.0, 60.0), (16.0, 240.0)])
def test_an_even_flight_through_the_plane_is_in_focus_for_the_depth_of_field_over_its_speed(f_number, rate):
    # Half the angle to twice it: the mean of 1/sin over the directions that are drawn.
    subject = even_pass()
    question = asked(subject)
    attempt = Attempt(question, subject, rate, f_number, 1e-6, burst_s=2.0, reaction=INSTANT, lead_s=1.0)
    z = np.random.default_rng(0).standard_normal(200_000) / 1.6449
    turned = np.radians(np.minimum(45.0 * 2**z, 90.0))
    wanted = rate * depth_of_field_mm(question, f_number) / 500.0 * np.mean(1 / np.sin(turned))
    assert attempted(attempt).frames_in_focus.mean == pytest.approx(wanted, rel=0.03)


def test_a_launch_along_the_plane_is_in_the_frame_until_it_has_flown_half_the_field():
    subject = replace(
        DAMSELFLY,
        angle_deg=0.0,
        speed_m_s=once(30.0),
        acceleration_m_s2=10.0,
        event_s=once(9.0),
        focus_error_mm=once(0.0),
    )
    question = asked(subject)
    attempt = Attempt(question, subject, 200.0, 8.0, 1e-5, burst_s=1.0, look_back_s=0.5, reaction=INSTANT)
    half_m = 17.4 / float(question.magnification[0]) / 2000
    # t = sqrt(2 s / a), the mean of a**-0.5 over accelerations that spread by a factor of 1.6 at the 95th percentile.
    spread = math.exp((0.5 * math.log(1.6) / 1.6449) ** 2 / 2)
    wanted = 200 * math.sqrt(2 * half_m / 10.0) * spread
    assert attempted(attempt).frames_in_frame.mean == pytest.approx(wanted, rel=0.02)


def test_a_hover_gives_the_frames_that_the_solver_expects():
    question = pose(KIT, HAWKER, WISH, 3.0)
    expected = expected_frames(question, HAWKER, 18.0, 11.0, 1 / 2500)
    attempt = Attempt(question, HAWKER, 18.0, 11.0, 1 / 2500, burst_s=10.0, look_back_s=1.0, reaction=INSTANT)
    outcome = attempted(attempt)
    # The hover is cut at the burst's end here, and at nothing there.
    assert outcome.frames_in_frame.mean == pytest.approx(expected.n_frames.likely, rel=0.08)
    share = outcome.frames_sharp.mean / outcome.frames_in_frame.mean
    assert share == pytest.approx(expected.sharp_frames.likely / expected.n_frames.likely, rel=0.05)


def launch(**more):
    given = {"frames_per_s": 50.0, "f_number": 8.0, "exposure_s": 1 / 3200, "burst_s": 0.5, "look_back_s": 0.5}
    return Attempt(pose(KIT, DAMSELFLY, WISH, 2.0), DAMSELFLY, **{**given, **more})


def test_without_a_buffer_the_reaction_costs_the_launch():
    with_buffer, without = attempted(launch()), attempted(launch(look_back_s=0.0))
    assert with_buffer.keeper_chance > 0.5
    assert without.keeper_chance < 0.5 * with_buffer.keeper_chance
    assert without.from_buffer == 0
    assert with_buffer.from_buffer > 0.8 * with_buffer.frames_sharp.mean


def test_the_take_off_is_in_the_buffer_as_often_as_reaction_times_say():
    # One frame a millisecond, all in focus: the first instant is there or it is not.
    sharp = replace(DAMSELFLY, focus_error_mm=once(0.0), angle_deg=0.0, speed_m_s=once(1e-3), event_s=once(1 / 500))
    attempt = Attempt(asked(sharp), sharp, 500.0, 8.0, 1e-6, burst_s=0.0, look_back_s=0.25)
    wanted = float(chance_of_lead(0.25, 0.0, reaction_at()))
    assert attempted(attempt).keeper_chance == pytest.approx(wanted, abs=0.03)


def test_a_smaller_opening_keeps_more_of_a_launch_in_focus():
    # Up to f/11: beyond, diffraction alone takes what this output hides.
    found = [attempted(launch(f_number=n)).frames_in_focus.mean for n in (5.6, 6.7, 8.0, 11.0)]
    assert found == sorted(found)


def test_more_frames_a_second_give_more_frames_and_no_smaller_chance():
    slow, fast = attempted(launch(frames_per_s=18.0)), attempted(launch(frames_per_s=60.0))
    assert fast.frames_in_frame.mean == pytest.approx(slow.frames_in_frame.mean * 60 / 18, rel=0.05)
    assert fast.keeper_chance >= slow.keeper_chance - 3 * slow.keeper_error


def test_the_error_of_the_chance_is_that_of_four_thousand_draws():
    outcome = attempted(launch())
    chance = outcome.keeper_chance
    assert outcome.keeper_error == pytest.approx(math.sqrt(chance * (1 - chance) / 4000))
    assert time_to_react(launch()) == pytest.approx(0.213 + 0.03)


def test_a_damselflys_launch_gives_a_few_frames_in_focus_at_50_frames_a_second():
    # Common practice, no source: one or two.
    question = pose(KIT, DAMSELFLY, replace(WISH, shown_width_px=None), 2.0)
    found = attempted(Attempt(question, DAMSELFLY, 50.0, 8.0, 1 / 3200, burst_s=0.5, look_back_s=0.5))
    assert 1 <= found.frames_in_focus.mean <= 3
    assert found.frames_sharp.mean < found.frames_in_focus.mean < found.frames_in_frame.mean


def test_a_hover_of_less_than_a_second_gives_three_or_four_frames():
    # Common practice, no source: hovers last under a second and give three or four frames, most of it gone in reacting.
    short = replace(HAWKER, event_s=Range(0.3, 0.6, 1.0))
    found = attempted(Attempt(pose(KIT, short, WISH, 3.0), short, 10.0, 8.0, 1 / 2500, burst_s=1.0))
    assert 2.5 <= found.frames_in_frame.mean <= 4.5


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ({"frames_per_s": 0.0}, "frames_per_s is 0"),
        ({"f_number": math.nan}, "f_number is nan"),
        ({"towards_chance": 1.2}, "towards_chance is 1.2"),
        ({"burst_s": 59.0}, "more than 600 frames"),
    ],
)
def test_what_cannot_be_tried_is_refused(more, message):
    with pytest.raises((InputError, OutsideModel), match=message):
        launch(**more)


def test_a_perched_animal_is_no_attempt():
    perched = replace(HAWKER, behaviour=Behaviour.PERCH)
    with pytest.raises(InputError, match="perch cannot be tried out"):
        Attempt(pose(KIT, perched, WISH, 3.0), perched, 18.0, 8.0, 1 / 1000)


def landing(**more):
    given = {"frames_per_s": 50.0, "f_number": 8.0, "exposure_s": 1 / 3200, "burst_s": 0.5, "lead_s": 0.4}
    down = replace(DAMSELFLY, behaviour=Behaviour.LANDING)
    return Attempt(pose(KIT, down, WISH, 2.0), down, **{**given, **more})


def test_a_landing_seen_in_time_is_a_launch_run_backwards():
    # The whole of either is on the card: the same frames, in the other order.
    up = attempted(launch(burst_s=1.2, look_back_s=0.8))
    down = attempted(landing(burst_s=1.4, lead_s=1.0))
    assert down.frames_in_frame.mean == pytest.approx(up.frames_in_frame.mean, rel=0.03)
    assert down.frames_sharp.mean == pytest.approx(up.frames_sharp.mean, rel=0.08)


def test_who_presses_for_the_touch_down_itself_has_half_a_chance_and_a_buffer_mends_it():
    late, buffered = attempted(landing(lead_s=0.0)), attempted(landing(lead_s=0.0, look_back_s=0.3))
    assert late.keeper_chance < 0.6
    assert buffered.keeper_chance > late.keeper_chance + 0.2


def test_frames_that_cut_the_animal_are_not_sharp_ones():
    # From half the field less half the body on, the edge cuts it: the share of the way that is left, square-rooted.
    subject = replace(
        DAMSELFLY, angle_deg=0.0, speed_m_s=once(30.0), focus_error_mm=once(0.0), event_s=once(9.0), extent_mm=40.0
    )
    question = asked(subject, 2.0)
    found = attempted(Attempt(question, subject, 200.0, 8.0, 1e-6, burst_s=1.0, look_back_s=0.5, reaction=INSTANT))
    half_mm = 17.4 / float(question.magnification[0]) / 2
    share = math.sqrt((half_mm - 20) / half_mm)
    assert found.frames_sharp.mean / found.frames_in_frame.mean == pytest.approx(share, rel=0.02)


@pytest.mark.parametrize("wanted", [0.5, 0.9])
@given(chance=st.floats(1e-4, 0.999))
def test_so_many_attempts_give_the_wanted_chance_and_one_less_does_not(wanted, chance):
    n = attempts_for(wanted, chance)
    assert 1 - (1 - chance) ** n >= wanted - 1e-9
    assert n == 1 or 1 - (1 - chance) ** (n - 1) < wanted + 1e-9


def test_no_keeper_ever_comes_of_attempts_that_give_none():
    assert attempts_for(0.5, 0.0) is None


def test_nine_in_ten_attempts_lie_in_the_interval():
    attempt = launch()
    outcome = attempted(attempt)
    sharp = held(attempt, fly(attempt, 2000, np.random.default_rng(7))).sharp.sum(1)
    inside = np.mean((outcome.frames_sharp.low <= sharp) & (sharp <= outcome.frames_sharp.high))
    # Whole frames: the interval may hold more than it is asked to, never less.
    assert inside >= 0.88
    assert outcome.frames_sharp.mean == pytest.approx(sharp.mean(), rel=0.06)
