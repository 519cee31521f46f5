"""What the solver is told of an animal of the catalogue."""

import itertools
import math
import re
from dataclasses import replace

import pytest

from stillwing.animals.catalogue import Group, animal_named, read_catalogue
from stillwing.animals.subjects import (
    FOCUS_LAG_S,
    NEEDS,
    PANNING_LEFT,
    SQUARE_ON_DEG,
    SWAY_MM,
    subject_of,
)
from stillwing.errors import InputError
from stillwing.optics.subject import STILL, Behaviour, Range

CATALOGUE = read_catalogue()
ALL = pytest.mark.parametrize("animal", CATALOGUE.animals, ids=lambda animal: animal.key)


def named(text):
    return animal_named(CATALOGUE, text)


def ranged(animal, quantity):
    figure = animal.figure(quantity)
    return Range(figure.low, figure.likely, figure.high)


@ALL
def test_every_animal_does_what_the_catalogue_knows_and_nothing_else(animal):
    for behaviour, needed in NEEDS.items():
        if all(name in animal.figures for name in needed):
            subject = subject_of(animal, behaviour)
            assert (subject.words, subject.behaviour) == (animal.name, behaviour)
            assert subject.speed_m_s == ranged(animal, needed[0])
        else:
            sentence = rf"the catalogue knows no {behaviour} of the {re.escape(animal.name)}; ask for one of: \w"
            with pytest.raises(InputError, match=sentence) as refused:
                subject_of(animal, behaviour)
            for offered in str(refused.value).rpartition(": ")[2].split(", "):
                subject_of(animal, Behaviour(offered))


@ALL
def test_measures_and_ranges_come_from_the_catalogue(animal):
    subject = subject_of(animal, Behaviour.PASS)
    assert subject.length_mm == animal.figure("body_length_mm").likely
    assert subject.span_mm == animal.figure("wing_span_mm").likely
    assert subject.thickness_mm == animal.figure("body_depth_mm").likely
    assert subject.wingbeat_hz == ranged(animal, "wingbeat_hz")
    assert subject.stroke_deg == ranged(animal, "stroke_deg")
    assert subject.angle_deg == SQUARE_ON_DEG


def test_a_hover_takes_drift_and_length_with_their_ranges():
    hawker = named("75 mm hawker")
    subject = subject_of(hawker, Behaviour.HOVER)
    assert subject.focus_error_mm == ranged(hawker, "hover_drift_mm")
    assert subject.event_s == ranged(hawker, "hover_s")
    assert subject.length_mm == 75


@pytest.mark.parametrize(
    ("behaviour", "quantity"), [(Behaviour.TAKE_OFF, "take_off_m_s2"), (Behaviour.LANDING, "landing_m_s2")]
)
def test_a_launch_takes_its_acceleration_and_others_have_none(behaviour, quantity):
    damselfly = named("35 mm damselfly")
    assert subject_of(damselfly, behaviour).acceleration_m_s2 == damselfly.figure(quantity).likely
    assert subject_of(damselfly, Behaviour.PASS).acceleration_m_s2 == 0


def test_a_perched_animal_keeps_its_wings_still():
    for name in ("75 mm hawker", "small songbird"):
        subject = subject_of(named(name), Behaviour.PERCH)
        assert (subject.wingbeat_hz, subject.stroke_deg) == (STILL, STILL)


@ALL
def test_birds_in_flight_need_room_for_their_wings_and_others_for_their_body(animal):
    length, span = animal.figure("body_length_mm").likely, animal.figure("wing_span_mm").likely
    in_flight = max(length, span) if animal.group is Group.BIRD else length
    assert subject_of(animal, Behaviour.PASS).extent_mm == in_flight
    if "perch_sway_m_s" in animal.figures:
        assert subject_of(animal, Behaviour.PERCH).extent_mm == length


def test_a_gull_in_flight_is_wider_than_long_and_on_its_perch_not():
    gull = named("gull")
    assert subject_of(gull, Behaviour.PASS).extent_mm > 2 * subject_of(gull, Behaviour.PERCH).extent_mm


def test_panning_takes_motion_out_of_a_pass_alone():
    gull = named("gull")
    assert subject_of(gull, Behaviour.PASS).panning_left == PANNING_LEFT
    for behaviour in (Behaviour.PERCH, Behaviour.TAKE_OFF, Behaviour.LANDING):
        assert subject_of(gull, behaviour).panning_left == Range(1, 1, 1)


def test_panning_that_is_given_varies_by_two_and_leaves_no_more_than_all():
    gull = named("gull")
    assert subject_of(gull, Behaviour.PASS, panning_left=0.2).panning_left == Range(0.1, 0.2, 0.4)
    assert subject_of(gull, Behaviour.PASS, panning_left=0.8).panning_left == Range(0.4, 0.8, 1.0)
    assert subject_of(gull, Behaviour.PASS, panning_left=0.0).panning_left == STILL


@pytest.mark.parametrize("share", [-0.01, 1.01, math.nan])
def test_panning_that_leaves_less_than_nothing_or_more_than_all_is_refused_in_percent(share):
    with pytest.raises(InputError, match=r"panning leaves \S+ % of the motion; it lies between 0 and 100 %"):
        subject_of(named("gull"), Behaviour.PASS, panning_left=share)


def test_panning_asked_for_what_is_not_followed_is_refused_rather_than_ignored():
    with pytest.raises(InputError, match="panning counts in a pass alone; leave it out for a hover"):
        subject_of(named("hawker"), Behaviour.HOVER, panning_left=0.1)


def test_focus_lags_behind_a_pass_by_what_comes_nearer():
    # Published nowhere: the lag is an estimate; that speed x sin(angle) x lag is what it costs is geometry.
    swallow = named("swallow")
    speed = swallow.figure("cruising_m_s").likely
    steep = subject_of(swallow, Behaviour.PASS, angle_deg=30.0).focus_error_mm
    for error, lag in zip(steep, FOCUS_LAG_S, strict=True):
        assert error == pytest.approx(math.hypot(1000 * speed * 0.5 * lag, SWAY_MM.likely))


def test_focus_keeps_up_with_a_pass_along_the_focal_plane_but_for_the_sway():
    along = subject_of(named("swallow"), Behaviour.PASS, angle_deg=0.0).focus_error_mm
    assert along == pytest.approx((SWAY_MM.likely,) * 3)


def test_focus_misses_more_the_more_the_way_comes_nearer():
    errors = [
        subject_of(named("gull"), Behaviour.PASS, angle_deg=angle).focus_error_mm.likely for angle in (0, 15, 45, 90)
    ]
    assert all(more > less for less, more in itertools.pairwise(errors))


def test_the_photographer_sways_before_what_keeps_still():
    for behaviour in (Behaviour.PERCH, Behaviour.TAKE_OFF, Behaviour.LANDING):
        assert subject_of(named("darter"), behaviour).focus_error_mm == SWAY_MM


def test_the_depth_of_a_body_grows_as_it_turns_out_of_the_focal_plane():
    hawker = named("75 mm hawker")
    along, across = (subject_of(hawker, Behaviour.HOVER, angle_deg=angle) for angle in (0.0, 90.0))
    assert along.half_depth_mm == pytest.approx(hawker.figure("body_depth_mm").likely / 2)
    assert across.half_depth_mm == pytest.approx(75 / 2)


@pytest.mark.parametrize("angle", [-1.0, 90.5, math.nan])
def test_an_angle_that_is_none_is_refused(angle):
    with pytest.raises(InputError, match=r"the angle to the focal plane is \S+; it lies between 0"):
        subject_of(named("hawker"), Behaviour.HOVER, angle_deg=angle)


def test_an_animal_without_a_measure_is_answered_with_the_row_that_is_missing():
    hawker = named("hawker")
    known = {name: figure for name, figure in hawker.figures.items() if name != "body_depth_mm"}
    with pytest.raises(InputError, match="the catalogue has no body_depth_mm of the hawker; add a row for it"):
        subject_of(replace(hawker, figures=known), Behaviour.HOVER)
