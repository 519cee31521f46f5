import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from stillwing.errors import OutsideModel
from stillwing.optics.motion import (
    blur_length_px,
    image_speed,
    line_mtf,
    panning_remainder,
    readout_skew,
    share_of_stroke_below,
    wing_tip_peak_speed,
)


def test_the_blur_of_a_passing_animal():
    # v t m: 5 m/s for 1/2000 s at m = 0.1 moves 0.25 mm on the sensor (geometry, computed).
    pitch_mm = 0.0033
    length = blur_length_px(image_speed(5, 0.1, pitch_mm), 1 / 2000)
    assert length * pitch_mm == pytest.approx(0.25)


def test_wing_tips_of_a_hovering_hawker():
    # 2 pi f R amplitude/2 with 36 Hz, 50 mm and 60 deg: 5.92 m/s (computed); frequency and stroke of Aeshna juncea as
    # in Norberg (1975), from memory.
    assert wing_tip_peak_speed(36, 60, 50) == pytest.approx(5.92, abs=0.005)


@settings(deadline=None, max_examples=30)
@given(st.floats(1, 80), st.floats(1, 180), st.floats(5, 500), st.floats(0.01, 1.5))
def test_stroke_speed_against_a_stroke_that_is_stepped_through(wingbeat_hz, stroke_deg, wing_mm, share):
    # Outside truth: the angle over one beat, differentiated by differences.
    t = np.linspace(0, 1 / wingbeat_hz, 200_001)
    angle = np.radians(stroke_deg) / 2 * np.sin(2 * np.pi * wingbeat_hz * t)
    speed = np.abs(np.diff(angle)) / np.diff(t) * wing_mm / 1000
    peak = float(wing_tip_peak_speed(wingbeat_hz, stroke_deg, wing_mm))
    assert peak == pytest.approx(speed.max(), rel=1e-4)
    assert share_of_stroke_below(share * peak, peak) == pytest.approx((speed < share * peak).mean(), abs=2e-3)


def test_shares_of_the_stroke_at_its_ends():
    assert share_of_stroke_below(0, 3) == 0
    assert share_of_stroke_below(3, 3) == 1
    assert share_of_stroke_below(9, 3) == 1
    assert share_of_stroke_below(0, 0) == 1
    assert share_of_stroke_below(0.5, 1) == pytest.approx(1 / 3)
    assert np.isnan(share_of_stroke_below(np.nan, 1))
    assert np.isnan(share_of_stroke_below(1, np.nan))


@given(st.floats(0, 10), st.floats(0, 10), st.floats(0.01, 10))
def test_a_faster_limit_never_catches_less_of_the_stroke(one, other, peak):
    low, high = sorted((one, other))
    assert 0 <= share_of_stroke_below(low, peak) <= share_of_stroke_below(high, peak) <= 1


def test_panning_leaves_its_share():
    assert panning_remainder(8000, 0) == 0
    assert panning_remainder(8000, 1) == 8000
    assert panning_remainder(8000, [0.1, 0.25]) == pytest.approx([800, 2000])


def test_skew_against_rows_that_are_read_one_by_one():
    # Outside truth: each row's own time of reading.
    rows, readout_s, speed = 4000, 1 / 60, 12_000.0
    read_at = np.arange(rows) * readout_s / rows
    top, bottom = 1000, 1750
    moved = speed * (read_at[bottom] - read_at[top])
    assert readout_skew(speed, readout_s, bottom - top, rows) == pytest.approx(moved)
    assert readout_skew(-speed, readout_s, bottom - top, rows) == pytest.approx(-moved)
    assert readout_skew(speed, 0, 750, rows) == 0
    assert readout_skew(speed, readout_s, 9000, rows) == readout_skew(speed, readout_s, rows, rows)


def test_a_line_of_blur_halves_contrast_where_published():
    # sinc: MTF 50 at L f = 0.60335 (computed by root finding), first zero at L f = 1.
    assert brentq(lambda f: float(line_mtf(1.0, f)) - 0.5, 0.1, 0.99) == pytest.approx(0.60335, abs=5e-6)
    assert line_mtf(2.0, 0.5) == pytest.approx(0, abs=1e-12)
    assert line_mtf(2.0, 0.0) == 1


def test_arrays_broadcast_keep_nan_and_are_not_modified():
    speeds = np.array([[1.0], [np.nan]])
    before = speeds.copy()
    px_s = image_speed(speeds, [0.1, 0.2, 0.3], 0.004)
    assert px_s.shape == (2, 3)
    assert np.all(np.isnan(px_s[1]))
    assert px_s[0] == pytest.approx([25_000, 50_000, 75_000])
    assert np.array_equal(speeds, before, equal_nan=True)


@pytest.mark.parametrize(
    "call",
    [
        lambda: image_speed(-1, 0.1, 0.004),
        lambda: image_speed(1, -0.1, 0.004),
        lambda: image_speed(1, 0.1, 0),
        lambda: blur_length_px(-1, 1),
        lambda: blur_length_px(1, -1),
        lambda: panning_remainder(1, 2.5),
        lambda: panning_remainder(1, -0.1),
        lambda: wing_tip_peak_speed(-1, 60, 50),
        lambda: wing_tip_peak_speed(36, 400, 50),
        lambda: share_of_stroke_below(-1, 1),
        lambda: share_of_stroke_below(1, -1),
        lambda: readout_skew(1, -1, 10, 100),
        lambda: readout_skew(1, 1, 10, 0),
        lambda: line_mtf(-1, 1),
    ],
)
def test_impossible_motion_is_refused(call):
    with pytest.raises(OutsideModel, match="this model covers"):
        call()
