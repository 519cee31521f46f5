"""Millimetres per pixel: by hand, by a thin lens, and wider the less is known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stillwing.errors import OutsideModel
from stillwing.optics.focus import blur_disc
from stillwing.optics.framing import magnification, sensor_distance
from stillwing.optics.kit import Lens
from stillwing.optics.scale import combined, off_focus_share, spread_round, subject_scale, true_focal_length
from stillwing.optics.subject import Range

PITCH = Range(0.004, 0.004, 0.004)
focals = st.floats(50, 800)
far = st.floats(5, 300)


def exact(value):
    return Range(value, value, value)


@given(focals, far)
def test_a_thin_lens_gives_back_its_scale(f, times):
    u = f * times
    scale = subject_scale(PITCH, exact(f), exact(float(sensor_distance(f, u))))
    by_hand = 0.004 / float(magnification(f, u))
    assert scale == pytest.approx((by_hand,) * 3, rel=1e-6)


@given(focals, far, st.floats(0.001, 0.2), st.floats(0.001, 0.1), st.floats(0, 0.1))
def test_each_doubt_widens_the_interval_and_leaves_the_middle(f, times, distance_share, focal_share, off):
    distance = float(sensor_distance(f, f * times))
    sure = subject_scale(PITCH, exact(f), exact(distance))
    doubt = subject_scale(
        PITCH, spread_round(f, focal_share, focal_share), spread_round(distance, distance_share, distance_share), off
    )
    assert doubt.likely == pytest.approx(sure.likely)
    assert doubt.low < sure.low and doubt.high > sure.high


def test_far_away_the_scale_errs_as_the_distance_does():
    scale = subject_scale(PITCH, exact(300.0), spread_round(100_000.0, 0.05, 0.05))
    assert math.log(scale.high / scale.likely) == pytest.approx(0.05, rel=0.01)


def test_what_no_thin_lens_does_is_refused():
    with pytest.raises(OutsideModel, match="1600"):
        subject_scale(PITCH, exact(400.0), exact(1300.0))


def test_a_known_lens_tells_how_short_it_grew():
    lens = Lens(400, 400, 4, 4, closest_focus_m=1.3, largest_magnification=0.25)
    # framing.focal_length_at's example: 208 mm at 1.3 m, 304 mm at 2.6 m.
    assert true_focal_length(400, 1300, lens).likely == pytest.approx(208)
    assert true_focal_length(400, 2600, lens).likely == pytest.approx(304)
    assert true_focal_length(400, 1290, lens).likely == pytest.approx(208), "a tag rounded below the closest focus"


@given(st.floats(50, 800), st.floats(4, 500))
def test_an_unknown_lens_may_have_kept_or_lost_its_length(f, times):
    doubt = true_focal_length(f, f * times)
    assert doubt.low < doubt.likely <= f < doubt.high
    lens = Lens(f, f, 4, 4, closest_focus_m=5 * f / 1000, largest_magnification=0.25)
    if times >= 5:
        # 5 focal lengths at 1:4 is a length of 0.8: within three tenths less.
        assert doubt.low <= true_focal_length(f, f * times, lens).likely <= doubt.high


@given(st.floats(100, 600), st.floats(5, 60), st.floats(2.8, 16), st.floats(0.001, 0.05), st.sampled_from([-1, 1]))
def test_the_blur_bounds_the_way_from_the_focal_plane(f, times, n, share, side):
    s = f * times
    d = s / (1 - side * share)  # |d - s| / d is the share
    disc = float(blur_disc(d, s, f, n))
    blur_px = disc / 0.004 / 4
    assert off_focus_share(blur_px, 0.004, f, n, float(magnification(f, s))) == pytest.approx(share, rel=1e-6)


@given(st.floats(0.01, 0.5), st.floats(0.01, 0.5))
def test_independent_doubts_add_in_quadrature(one, other):
    both = combined(spread_round(3.0, one, one), spread_round(2.0, other, other))
    assert math.log(both.high / both.likely) == pytest.approx(math.hypot(one, other))
    assert both.likely == pytest.approx(6.0)
