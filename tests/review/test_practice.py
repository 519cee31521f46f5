"""Practice over outings, against figures worked out by hand and drawn outings of a known trend."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stillwing.errors import InputError
from stillwing.review.practice import BurstPractice, Measure, outing_figures, pan_rms, practice

FIRST = datetime(2026, 6, 1, 10, tzinfo=UTC)


def burst(outing, at=0, *, n_inside=5, first=0.2, **more):
    when = FIRST + timedelta(days=outing, seconds=at)
    return BurstPractice(f"{outing}-{at}", f"outing {outing}", when, 10, n_inside, 1.0, first, **more)


def season(values, **more):
    """Return one burst an outing, the animal in the frame after so many seconds."""
    return [burst(outing, first=value, **more) for outing, value in enumerate(values)]


def by_measure(bursts):
    return {each.measure: each for each in practice(bursts)}


def test_an_outing_is_its_median_burst_and_one_without_the_animal_counts_as_its_whole_length():
    bursts = [burst(0, 0, first=0.1), burst(0, 1, first=0.3), burst(0, 2, n_inside=0, first=None), burst(1, first=0.4)]
    told = outing_figures(bursts, Measure.SOON)
    assert [(each.outing, each.value, each.n_bursts) for each in told] == [("outing 0", 0.3, 3), ("outing 1", 0.4, 1)]
    assert told[0].when == FIRST


def test_the_share_inside_is_that_of_all_frames_of_the_outing():
    bursts = [burst(0, 0, n_inside=10), burst(0, 1, n_inside=0, first=None), burst(0, 2, n_inside=2)]
    assert [each.value for each in outing_figures(bursts, Measure.INSIDE)] == [pytest.approx(12 / 30)]


def test_a_figure_has_an_interval_where_bursts_are_enough():
    few, enough = [burst(0, at, first=0.1 * at) for at in range(5)], [burst(0, at, first=0.1 * at) for at in range(6)]
    assert outing_figures(few, Measure.SOON)[0].between is None
    between = outing_figures(enough, Measure.SOON)[0].between
    assert (between.low, between.high) == pytest.approx((0.0, 0.5))
    inside = outing_figures(few, Measure.INSIDE)[0]
    assert inside.between.low < inside.value < inside.between.high


def test_what_is_not_known_of_a_burst_is_left_out():
    bursts = [burst(0, 0, offset_share=0.2), burst(0, 1), burst(1)]
    told = outing_figures(bursts, Measure.CENTRED)
    assert [(each.outing, each.value, each.n_bursts) for each in told] == [("outing 0", 0.2, 1)]
    assert Measure.STEADY not in by_measure(bursts)


def test_a_season_that_gets_better_is_told_so():
    told = by_measure(season([0.9, 0.8, 0.75, 0.6, 0.5, 0.45, 0.3, 0.2], offset_share=0.1))
    soon = told[Measure.SOON]
    assert soon.is_trend_told
    assert soon.is_better
    assert soon.per_outing.likely == pytest.approx(-0.1, abs=0.01)
    assert soon.lately.before == pytest.approx(np.mean([0.9, 0.8, 0.75, 0.6, 0.5]))
    assert soon.lately.last == pytest.approx(np.mean([0.45, 0.3, 0.2]))
    assert not told[Measure.CENTRED].is_trend_told
    assert soon.n_measures == 3


def test_the_order_in_which_bursts_come_makes_no_difference():
    bursts = season([0.9, 0.3, 0.75, 0.6, 0.1, 0.45])
    assert practice(bursts[::-1]) == practice(bursts)


def test_few_outings_tell_no_trend():
    (soon, _) = practice(season([0.9, 0.5, 0.3, 0.1]))
    assert soon.per_outing.low == -math.inf
    assert not soon.is_trend_told
    assert soon.lately is None
    (one, _) = practice(season([0.9]))
    assert one.per_outing is None


def test_many_bursts_of_few_outings_are_still_few_outings():
    # Days of good and bad form, twenty bursts each: no burst by burst count may call the last days better.
    rng = np.random.default_rng(3)
    told = []
    for _ in range(200):
        form = rng.normal(0.5, 0.1, 6)
        bursts = [
            burst(day, at, first=float(np.clip(rng.normal(form[day], 0.02), 0.01, 1)))
            for day in range(6)
            for at in range(20)
        ]
        told.append(by_measure(bursts)[Measure.SOON].is_trend_told)
    assert np.mean(told) <= 0.05


@pytest.mark.parametrize("speed", [0.0, 40.0])
def test_an_even_pan_is_steady_at_any_speed(speed):
    assert pan_rms([[speed, 1.0]] * 8) == 0.0


def test_shake_on_a_pan_is_measured_in_pixels():
    # Shifts that differ by 3 right and 4 down each time: 5 px.
    assert pan_rms([[0, 0], [3, 4], [0, 0], [3, 4]]) == pytest.approx(5.0)
    assert math.isnan(pan_rms([[3, 4]]))


def test_what_cannot_be_is_refused():
    with pytest.raises(InputError, match="the animal in 11 of 10 frames"):
        burst(0, n_inside=11)
    with pytest.raises(InputError, match=r"in 0 frames, and first after 0\.2 s"):
        burst(0, n_inside=0)
    with pytest.raises(InputError, match="in 5 frames, and first after nothing"):
        burst(0, first=None)
    with pytest.raises(InputError, match="a burst is there twice"):
        practice([burst(0), burst(0)])
    with pytest.raises(InputError, match=r"shape \(3,\)"):
        pan_rms([1, 2, 3])
