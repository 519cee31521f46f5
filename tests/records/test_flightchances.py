import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.listed import BRITAIN, period
from stillwing.records.flightchances import EDGE_D, OUT_OF_SEASON, about_on

PERIODS = [period("Late June", "September"), period("Late October", "Mid March"), period("July", "July")]


def about(number, day):
    return float(about_on(PERIODS, np.array([float(day)]))[number, 0])


def test_it_is_full_within_and_least_far_outside():
    assert about(0, 220) == about(1, 1) == pytest.approx(1.0)
    assert about(0, 20) == about(1, 200) == about(2, 300) == pytest.approx(OUT_OF_SEASON)


def test_it_is_half_in_the_middle_of_the_words_of_an_end():
    begins, ends = PERIODS[0].begins, PERIODS[0].ends
    half = (1 + OUT_OF_SEASON) / 2
    assert about(0, (begins.first + begins.last) / 2) == pytest.approx(half)
    assert about(0, (ends.first + ends.last) / 2) == pytest.approx(half)
    assert about(0, begins.last + EDGE_D + 1) == pytest.approx(1.0)


def test_a_season_over_new_year_has_no_step_there():
    assert about(1, 365) == about(1, 366) == about(1, 1) == pytest.approx(1.0)


@given(st.integers(1, 366))
def test_no_day_rules_a_species_out_and_none_is_more_than_all(day):
    chances = about_on([each.flight for each in BRITAIN.species], np.array([float(day)]))
    assert chances.min() >= OUT_OF_SEASON
    assert chances.max() <= 1.0
