"""What a side, a light and a background are worth: bounded, monotone, and joined where it must be."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.optics.subject import Behaviour
from stillwing.place.heading import Shown
from stillwing.plan.worth import (
    BACK_LIGHT,
    CALM_SWING_DEG,
    VIEWS,
    clean_worth,
    facing_worth,
    glitter_worth,
    light_worth,
    swing_deg,
)

ANGLES = st.floats(0, 180)


@given(ANGLES, ANGLES)
def test_light_from_farther_behind_the_animal_is_never_worth_more(one, other):
    front, back = sorted((one, other))
    assert BACK_LIGHT <= light_worth(back) <= light_worth(front) <= 1


@given(st.floats(0, 60), st.floats(0, 60))
def test_more_blur_behind_and_less_glitter_are_never_worth_less(one, other):
    less, more = sorted((one, other))
    assert clean_worth(less) <= clean_worth(more) <= 1
    assert glitter_worth(more) <= glitter_worth(less) <= 1


@given(st.floats(0, 30), st.floats(0, 30))
def test_a_stronger_wind_holds_animals_steadier(one, other):
    weak, strong = sorted((one, other))
    assert swing_deg(strong) <= swing_deg(weak) <= CALM_SWING_DEG


@pytest.mark.parametrize("behaviour", list(Behaviour))
def test_in_calm_it_does_not_matter_where_the_wind_would_come_from(behaviour):
    turned = np.arange(-180.0, 181.0, 30.0)
    worth = facing_worth(turned, CALM_SWING_DEG, behaviour)
    # A spread of half a turn, wrapped round the circle, is even to exp(-pi^2 / 2) = 0.7 % of its mean either way.
    assert np.ptp(worth) < 0.02
    even = sum(
        value * {"face": 40, "front quarter": 100, "flank": 80, "back quarter": 100}[side.value] / 360
        for side, value in VIEWS[behaviour].items()
    )
    assert worth.mean() == pytest.approx(even, abs=0.01)


@pytest.mark.parametrize(("behaviour", "best"), [(Behaviour.HOVER, 45.0), (Behaviour.TAKE_OFF, 90.0)])
def test_in_a_steady_wind_a_hover_is_best_from_the_front_quarter_and_a_launch_across(behaviour, best):
    turned = np.arange(0.0, 181.0, 5.0)
    worth = facing_worth(turned, 10.0, behaviour)
    assert abs(turned[worth.argmax()] - best) <= 15
    assert worth[-1] < 0.1  # Away from you.
    assert facing_worth(-turned, 10.0, behaviour) == pytest.approx(worth)


def test_the_one_side_that_is_wanted_counts_alone():
    assert facing_worth(90.0, 5.0, Behaviour.HOVER, Shown.FLANK) > 0.99
    assert facing_worth(0.0, 5.0, Behaviour.HOVER, Shown.FLANK) < 1e-6


def test_what_is_not_known_stays_unknown_and_a_wind_not_known_turns_nothing():
    assert np.isnan(clean_worth(np.nan)) and np.isnan(glitter_worth(np.nan)) and np.isnan(light_worth(np.nan))
    assert swing_deg(np.nan) == CALM_SWING_DEG
