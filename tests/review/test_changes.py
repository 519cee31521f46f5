"""Changes on the blur: each by hand, from the optics of a disc, a line and the geometry of a turned flight."""

import math
from dataclasses import replace

import numpy as np
import pytest

from flight.flown import F_NUMBER, FOCAL_MM, FOCUS_MM, PITCH_MM, kit
from stillwing.flight.defocus import plane_at
from stillwing.review.changes import Flown, Split, exposed_by, f_number_by, further_by, turned_by

PLANE = plane_at(kit(), FOCUS_MM, FOCAL_MM)
SPLIT = Split(np.array([1.2, 0.0, 4.0]), np.array([0.0, 3.0, 1.0]), np.full(3, PLANE.floor_variance))


def test_half_the_exposure_halves_the_motion_and_changes_nothing_else():
    shorter = exposed_by(SPLIT, 1.0)
    assert np.sqrt(shorter.motion) == pytest.approx(np.sqrt(SPLIT.motion) / 2)
    assert shorter.whole - shorter.motion == pytest.approx(SPLIT.whole - SPLIT.motion)


def test_a_stop_smaller_makes_a_disc_smaller_by_root_two_and_more_diffraction():
    closed = f_number_by(SPLIT, kit(), PLANE, 1.0)
    assert np.sqrt(closed.defocus) == pytest.approx(np.sqrt(SPLIT.defocus / 2))
    assert closed.motion is SPLIT.motion
    # Airy's disc as a Gaussian grows with the f-number.
    airy = math.sqrt(2) / math.pi * 0.00055 * F_NUMBER * (1 + PLANE.magnification) / PITCH_MM
    assert closed.rest - SPLIT.rest == pytest.approx(np.full(3, airy**2), rel=0.01)


def test_from_further_off_all_shows_smaller():
    far = further_by(SPLIT, kit(), PLANE, 1.25)
    m = FOCAL_MM / (1.25 * FOCUS_MM - FOCAL_MM)
    assert np.sqrt(far.motion) == pytest.approx(np.sqrt(SPLIT.motion) * m / PLANE.magnification)
    # A point so far off the plane: A m x / d.
    disc = m / PLANE.magnification / 1.25
    assert np.sqrt(far.defocus) == pytest.approx(np.sqrt(SPLIT.defocus) * disc)
    assert further_by(SPLIT, kit(), PLANE, 1.0).whole == pytest.approx(SPLIT.whole)


def test_a_turned_flight_goes_off_the_plane_by_the_sine_and_across_by_the_cosine():
    flown = Flown(np.array([0.0, 30.0, 60.0]), 0.0, 30.0, 5.0)
    split = Split(np.zeros(3), np.array([0.0, 1.0, 4.0]), np.ones(3))
    turned = turned_by(split, flown, 10.0)
    sin, cos = math.sin(math.radians(20)), math.cos(math.radians(20))
    assert np.sqrt(turned.defocus) == pytest.approx(np.array([0.0, 1.0, 2.0]) * sin / math.sin(math.radians(30)))
    # A line of so many pixels: L^2 / 12 along it, half of that as round.
    new_px = 5.0 * (cos - math.cos(math.radians(30)))
    assert turned.motion == pytest.approx(np.full(3, new_px**2 / 24))


def test_motion_that_panning_left_grows_with_the_cosine_but_to_no_more_than_all_of_it():
    still = Flown(np.zeros(2), 0.0, 30.0, 0.0)
    moved = Split(np.array([0.0, 1.0]), np.zeros(2), np.ones(2))
    grown = (math.cos(math.radians(20)) / math.cos(math.radians(30))) ** 2
    assert turned_by(moved, replace(still, moved_px=50.0), 10.0).motion[1] > grown
    steep = turned_by(moved, replace(still, angle_deg=89.9, moved_px=6.0), 45.0)
    assert steep.motion[1] <= 1.0 + 2 * 36 / 24


def test_what_focus_missed_by_stays_however_it_is_turned():
    flown = Flown(np.array([10.0, 40.0]), 0.0, 30.0, 0.0)
    split = Split(np.zeros(2), np.array([1.0, 16.0]), np.ones(2))
    for turn in (30.0, 60.0):
        assert turned_by(split, flown, turn).defocus == pytest.approx(np.ones(2))
    assert turned_by(split, replace(flown, angle_deg=0.0), 10.0) is split
