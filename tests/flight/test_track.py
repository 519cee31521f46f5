"""Whole flights with known truth: figures near it, intervals that hold it, orderings, and honest refusals."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from stillwing.errors import InputError, OutsideModel
from stillwing.flight.track import Side, track
from stillwing.optics.subject import Range

from .flown import FOCUS_M, Noise, kit, launched, passing, seen


def holds(of, true):
    return of.low <= true <= of.high


def test_an_even_pass_is_made_out():
    flight = passing(speed_m_s=0.8, angle_deg=30, crosses_at=12.3)
    told = track(seen(flight, np.random.default_rng(1)), kit(), FOCUS_M)
    assert told.relative.mean_speed_m_s.likely == pytest.approx(0.8, rel=0.1)
    assert told.side is Side.TOLD
    assert told.relative.launch_angle_deg.likely == pytest.approx(flight.angle_deg(), abs=5)
    assert told.crossing.frame is not None
    # It passes the plane where the camera's focus lies, which for a slanting flight is a little beside its middle.
    true = np.interp(0, flight.offsets_mm[::-1], np.arange(30)[::-1])
    assert told.crossing.frame.likely == pytest.approx(true, abs=0.5)


def test_a_mirrored_flight_gives_a_mirrored_angle():
    angles = []
    for towards in (1, -1):
        flight = passing(speed_m_s=1.0, angle_deg=45, towards=towards)
        told = track(seen(flight, np.random.default_rng(2)), kit(), FOCUS_M)
        assert told.side is Side.TOLD
        angles.append(told.relative.launch_angle_deg.likely)
    assert angles[0] > 35
    assert angles[1] < -35


def test_where_the_side_cannot_be_told_the_angle_reaches_to_both():
    flight = passing(speed_m_s=0.3, angle_deg=12, crosses_at=15)
    told = track(seen(flight, np.random.default_rng(3), Noise(size=0.2)), kit(), FOCUS_M)
    assert told.side is Side.UNTOLD
    low, _, high = told.relative.launch_angle_deg
    assert low < 0 < high
    assert told.relative.off_plane_deg.likely == pytest.approx(abs(flight.angle_deg()), abs=5)
    # Its first frame lies on one of both sides, and as far off on either.
    assert told.offset_mm.low[0] < 0 < told.offset_mm.high[0]
    assert holds(told.away_mm.at(0), abs(flight.offsets_mm[0]))
    assert told.away_mm.low[0] > 0


def test_a_faster_animal_gives_a_higher_speed():
    speeds = []
    for true in (0.3, 0.6, 1.2):
        told = track(seen(passing(speed_m_s=true, angle_deg=10), np.random.default_rng(4)), kit(), FOCUS_M)
        speeds.append(told.relative.mean_speed_m_s)
    assert all(before.high < after.low for before, after in pairwise(speeds))


def test_a_smaller_opening_leaves_the_offset_more_open():
    widths = []
    for f_number in (5.6, 16.0):
        frames = seen(passing(angle_deg=5, speed_m_s=0.3), np.random.default_rng(5), f_number=f_number)
        told = track(frames, kit(f_number), FOCUS_M)
        widths.append(np.mean(told.offset_mm.high - told.offset_mm.low))
    assert widths[0] < widths[1]


def test_the_panning_is_told_apart_from_the_animal():
    still = track(seen(passing(), np.random.default_rng(6), follows=0.0), kit(), FOCUS_M)
    followed = track(seen(passing(), np.random.default_rng(6), follows=0.95), kit(), FOCUS_M)
    middle = 15
    # 1 m/s at 20 degrees and 3 m: 0.94 / 3 rad/s.
    assert followed.panning.speed_deg_s.at(middle).likely == pytest.approx(0.95 * np.degrees(0.94 / 3), abs=1.5)
    assert still.panning.speed_deg_s.at(middle).likely < 1.0
    for told in (still, followed):
        assert told.relative.mean_speed_m_s.likely == pytest.approx(1.0, rel=0.1)
        assert told.panning.known_share == 1.0


def test_without_a_background_the_speed_is_wide_open():
    frames = seen(passing(), np.random.default_rng(7), background=False)
    told = track(frames, kit(), FOCUS_M)
    assert told.panning.known_share == 0.0
    speed = told.relative.mean_speed_m_s
    assert speed.high - speed.low > 0.5


def test_a_doubtful_distance_widens_absolute_figures_alone():
    frames = seen(passing(angle_deg=5), np.random.default_rng(8))
    sensor_m = FOCUS_M.likely
    rough = track(frames, kit(), Range(0.9 * sensor_m, sensor_m, 1.1 * sensor_m))
    exact = track(frames, kit(), FOCUS_M)
    assert rough.relative == exact.relative
    share = rough.absolute.mean_speed_m_s.high / rough.absolute.mean_speed_m_s.likely
    # Across, lengths go with the distance: a tenth, a little more close by.
    assert 1.08 < share < 1.18
    assert exact.absolute.mean_speed_m_s.likely == pytest.approx(exact.relative.mean_speed_m_s.likely, rel=0.01)


def test_a_known_body_length_narrows_a_doubtful_distance():
    frames = seen(passing(angle_deg=5), np.random.default_rng(9), body_mm=50.0)
    rough = Range(0.7 * FOCUS_M.likely, FOCUS_M.likely, 1.4 * FOCUS_M.likely)
    open_, narrowed = (track(frames, kit(), rough, body).absolute.mean_speed_m_s for body in (None, Range(48, 50, 52)))
    assert narrowed.high - narrowed.low < 0.75 * (open_.high - open_.low)
    assert holds(narrowed, 1.0)


def test_a_launch_shows_its_acceleration():
    flight = launched(pull_m_s2=10.0, angle_deg=10, rate=50.0)
    told = track(seen(flight, np.random.default_rng(10)), kit(), FOCUS_M)
    assert told.acceleration_m_s2.at(22).likely == pytest.approx(10.0, rel=0.25)
    assert holds(told.acceleration_m_s2.at(22), 10.0)
    assert told.speed_m_s.at(2).high < 0.3


def test_rows_read_later_are_seen_later():
    flight = passing(angle_deg=0, speed_m_s=0.5)
    frames = seen(flight, np.random.default_rng(11), follows=0.0)
    told = track(frames, replace(kit(), row_s=1 / 60 / 3888), FOCUS_M)
    wander = np.ptp([frame.y_px for frame in frames]) / 60 / 3888
    assert np.abs(told.times_s - (np.arange(30) / 18)).max() <= wander + 1e-9
    assert told.times_s[0] == 0.0


def test_the_same_burst_always_tells_the_same():
    frames = seen(passing(n=8), np.random.default_rng(12))
    assert track(frames, kit(), FOCUS_M).relative == track(frames, kit(), FOCUS_M).relative


def test_a_burst_of_many_close_frames_is_made_out():
    # Rounding once left the covariance of what the offsets leave open improper.
    told = track(seen(passing(n=70, rate=120.0, crosses_at=35), np.random.default_rng(1)), kit(), FOCUS_M)
    assert told.relative.mean_speed_m_s.likely == pytest.approx(1.0, rel=0.1)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"time_s": 7.0}, "follow each other"),
        ({"x_px": np.nan}, "x_px of frame 3 is not known"),
        ({"centre_sd_px": 0.0}, "must be more than 0 px"),
    ],
)
def test_frames_that_cannot_be_used_are_refused_in_one_sentence(change, message):
    frames = list(seen(passing(n=6), np.random.default_rng(14)))
    frames[3] = replace(frames[3], **change)
    with pytest.raises(InputError, match=message):
        track(frames, kit(), FOCUS_M)


def test_too_few_frames_and_impossible_distances_are_refused():
    frames = seen(passing(n=6), np.random.default_rng(15))
    with pytest.raises(InputError, match="seen in 2 frames"):
        track(frames[:2], kit(), FOCUS_M)
    with pytest.raises(OutsideModel, match="sensor_distance"):
        track(frames, kit(), Range(0.5, 0.5, 0.5))
    with pytest.raises(OutsideModel, match="f_number"):
        kit(f_number=0.0)
