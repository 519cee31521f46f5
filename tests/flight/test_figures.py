"""Percentiles of draws, and lengths with what errors add to them taken off."""

import numpy as np
import pytest

from stillwing.flight.figures import band_of, range_of, unraised


def test_a_range_holds_5th_50th_and_95th_percentile():
    draws = np.arange(101.0)
    assert range_of(draws) == (5.0, 50.0, 95.0)
    band = band_of(np.column_stack([draws, 2 * draws]))
    assert len(band) == 2
    assert band.at(1) == (10.0, 100.0, 190.0)


def test_the_length_of_a_straight_way_is_not_made_longer_by_errors():
    rng = np.random.default_rng(1)
    way = np.column_stack([np.linspace(0, 100, 21), np.zeros(21)])

    def length(points):
        return np.linalg.norm(np.diff(points, axis=-2), axis=-1).sum(-1)

    held, errors = 0, []
    for _ in range(200):
        middle = way + rng.normal(0, 1, way.shape)
        draws = middle + rng.normal(0, 1, (400, *way.shape))
        told = unraised(length(draws)[:, None], np.array([length(middle)])).at(0)
        held += told.low <= 100.0 <= told.high
        errors.append(told.likely - 100)
        assert told.low <= told.likely <= told.high
    assert held >= 0.85 * 200
    # Each step of 5 is lengthened by its errors of sqrt(2) across: about 4 in all, twice in a draw.
    assert np.mean(errors) < 5


def test_no_length_is_below_nothing():
    assert unraised(np.abs(np.random.default_rng(2).normal(0, 1, (400, 1))), np.zeros(1)).at(0).low == 0.0


def test_a_figure_without_a_bias_is_left_as_it_is():
    draws = np.random.default_rng(3).normal(50, 1, (4000, 1))
    told = unraised(draws, np.median(draws, axis=0)).at(0)
    assert told == pytest.approx(range_of(draws[:, 0]))
