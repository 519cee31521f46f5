import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate, stats

from records.listed import READ
from stillwing.animals.catalogue import Mark
from stillwing.optics.subject import Range
from stillwing.records.lengthchances import ANY_LENGTH, length_chances, length_law
from stillwing.records.region import Length, Origin
from stillwing.records.seen import LINE_WRONG

LAW = (np.array([math.log(50.0)]), np.array([0.05]))


def range_of(likely, error, has_top=True):
    return Range(likely * math.exp(-1.645 * error), likely, likely * math.exp(1.645 * error) if has_top else math.inf)


def chance(likely, error, has_top=True):
    return float(length_chances(range_of(likely, error, has_top), *LAW)[0])


def test_the_range_of_a_table_holds_95_in_100_animals_of_the_law():
    middle, spread = length_law(Length(45.0, 55.0, READ))
    inside = stats.norm.cdf(math.log(55.0), middle, spread) - stats.norm.cdf(math.log(45.0), middle, spread)
    assert inside == pytest.approx(0.95, abs=1e-3)


def test_a_range_from_memory_is_wider_and_a_range_of_one_figure_is_not_a_point():
    read, remembered = (length_law(Length(45.0, 55.0, Origin(mark, ""))) for mark in (Mark.READ, Mark.MEMORY))
    assert remembered[0] == read[0]
    assert remembered[1] > read[1]
    assert length_law(Length(50.0, 50.0, READ))[1] == 0.02


@pytest.mark.parametrize("likely", [42.0, 50.0, 61.0])
def test_an_even_interval_is_the_animals_law_and_the_picture_s_error_together(likely):
    # Two normal laws, folded numerically.
    def both(own):
        return stats.norm.pdf(own, math.log(50.0), 0.05) * stats.norm.pdf(math.log(likely), own, 0.06)

    folded, _ = integrate.quad(both, math.log(20.0), math.log(120.0), epsabs=1e-10, limit=200, points=[math.log(50.0)])
    expected = (1 - LINE_WRONG) * folded + LINE_WRONG * ANY_LENGTH
    assert chance(likely, 0.06) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("likely", [20.0, 50.0, 100.0])
def test_of_a_doubted_length_the_doubted_share_says_nothing(likely):
    sure, doubted = (float(length_chances(range_of(likely, 0.06), *LAW, wrong)[0]) for wrong in (1e-12, 0.5))
    assert doubted == pytest.approx(0.5 * sure + 0.5 * ANY_LENGTH)


@pytest.mark.parametrize("has_top", [True, False])
def test_the_chances_of_all_lengths_sum_to_one(has_top):
    logs = np.linspace(math.log(10.0), math.log(250.0), 4001)
    chances = [chance(math.exp(each), 0.05, has_top) for each in logs]
    # With a turned body a little shows shorter than 10 mm: the cosine of 80 degrees is 0.17.
    assert np.trapezoid(chances, logs) == pytest.approx(1.0, abs=0.02)


def test_a_turned_body_may_show_much_shorter_but_not_longer():
    assert chance(30.0, 0.04, has_top=False) > 10 * chance(30.0, 0.04)
    assert chance(70.0, 0.04, has_top=False) == pytest.approx(chance(70.0, 0.04), rel=0.2)


def test_a_wider_side_bears_more_off_on_that_side():
    lopsided = Range(48.0, 50.0, 60.0)
    short, long = (float(length_chances(lopsided, np.array([math.log(mm)]), LAW[1])[0]) for mm in (42.0, 59.5))
    assert long > 1.5 * short


@given(st.floats(12.0, 240.0), st.floats(0.01, 0.5), st.booleans())
def test_no_length_rules_a_species_out(likely, error, has_top):
    assert chance(likely, error, has_top) >= LINE_WRONG * ANY_LENGTH
