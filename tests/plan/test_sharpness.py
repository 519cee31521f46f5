"""Chances by light and side are those that the settings' own answer gives, and near them between half stops."""

from dataclasses import replace

import numpy as np
import pytest

from stillwing.optics.answer import answer
from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.plan.sharpness import out_of_plane_deg, sharpness_of

from .plans import question

SIDES = (Shown.FACE, Shown.FRONT_QUARTER, Shown.FLANK)


def told(asked, side, ev):
    """Return chance and setting as the settings' answer has them."""
    found = answer(asked.kit, asked.subject(out_of_plane_deg(side, asked.behaviour)), replace(asked.wish, ev100=ev))
    return found.expected.one_sharp_chance * min(1.0, found.best.snr / found.wish.snr_wanted), found.best


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("ev", [10.0, 12.0, 15.0])
def test_at_whole_stops_chance_and_setting_are_those_of_the_answer(side, ev):
    asked = question()
    table = sharpness_of(asked, np.array([9.0, 15.5]), SIDES)
    chance, best = told(asked, side, ev)
    at = SIDES.index(side), int(table.nearest(np.array(ev)))
    assert float(table.at(side, np.array(ev))) == pytest.approx(chance, rel=1e-6)
    assert (table.f_number[at], table.exposure_s[at], table.iso[at]) == pytest.approx(
        (best.f_number, best.exposure_s, best.iso)
    )


@pytest.mark.parametrize("doing", [Behaviour.HOVER, Behaviour.PERCH, Behaviour.TAKE_OFF])
def test_between_half_stops_the_straight_line_is_off_by_no_more_than_a_tenth(doing):
    asked = question(doing=doing)
    table = sharpness_of(asked, np.array([9.0, 15.0]), (Shown.FLANK,))
    lights = np.arange(9.0, 15.1, 0.125)
    exact = np.array([told(asked, Shown.FLANK, float(ev))[0] if exposes(asked, ev) else 0.0 for ev in lights])
    off = np.abs(table.at(Shown.FLANK, lights) - exact)
    # Where the camera's range ends the chance falls off a cliff, somewhere between two rows of the table.
    beside = np.searchsorted(table.evs, lights).clip(1, len(table.evs) - 1)
    cliff = np.abs(table.chance[0, beside] - table.chance[0, beside - 1]) > 0.25
    assert off[~cliff].max() < 0.1
    assert np.all(off[cliff] < 1) and cliff.mean() < 0.1


def exposes(asked, ev):
    return np.isfinite(sharpness_of(asked, np.array([ev]), (Shown.FLANK,)).f_number).any()


def test_more_light_is_never_worth_less_and_a_body_in_the_focal_plane_is_sharpest():
    table = sharpness_of(question(), np.array([4.0, 16.0]), SIDES)
    assert np.all(np.diff(table.chance, axis=1) > -0.05)  # thirds of a stop make small steps back
    assert np.all(np.diff(table.chance, axis=0) >= -1e-9)


def test_where_nothing_exposes_the_chance_is_nothing_and_no_setting_is_told():
    asked = question()
    kit = replace(asked.kit, camera=replace(asked.kit.camera, highest_iso=200.0, longest_s=1 / 1000))
    table = sharpness_of(replace(asked, kit=kit), np.array([0.0, 14.0]), (Shown.FLANK,))
    assert table.chance[0, 0] == 0 and np.isnan([table.f_number[0, 0], table.iso[0, 0]]).all()
    assert table.chance[0, -1] > 0
