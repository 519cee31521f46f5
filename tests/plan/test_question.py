"""A question that gives no plan is refused in one sentence."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import InputError
from stillwing.plan.question import Stance

from .plans import question


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"encounters_an_hour": 0.0}, r"0 encounters an hour; it must be above 0 and up to 3600"),
        ({"encounters_an_hour": float("nan")}, r"nan encounters an hour"),
        ({"step_min": 0.5}, r"a step of 0.5 minutes; it must be 1 to 60"),
    ],
)
def test_numbers_that_cannot_be_used_are_named(change, sentence):
    with pytest.raises(InputError, match=sentence):
        replace(question(), **change)


def test_a_site_without_stands_is_told_what_to_do():
    asked = question()
    with pytest.raises(InputError, match=r"has no stands; let them be proposed, or add one by its position"):
        replace(asked, site=replace(asked.site, stands=()))


@pytest.mark.parametrize("stance", [{"lens_m": 0.0}, {"lens_m": 25.0}, {"animal_above_water_m": -1.0}])
def test_heights_no_one_stands_at_are_refused(stance):
    with pytest.raises(InputError, match=r"m above the (ground|water); it must be"):
        Stance(**stance)


@given(st.floats(0.1, 5), st.floats(0, 20), st.floats(0, 2), st.floats(1.3, 60))
def test_the_lens_looks_up_to_what_is_higher_and_down_to_what_is_lower(lens, animal, ground, distance):
    up = Stance(lens_m=lens, animal_above_water_m=animal).elevation_deg(ground, distance)
    assert -90 < up < 90
    assert up * (animal - lens - ground) >= 0


def test_elevation_is_that_of_the_slant_distance():
    # 2 m lower over 4 m of lens to animal: arcsin(1/2).
    assert Stance(lens_m=2.5, animal_above_water_m=0.5).elevation_deg(0.0, 4.0) == pytest.approx(-30)
